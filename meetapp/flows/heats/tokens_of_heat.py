"""The tokens of a heat out and back: what each call, landing and gap writes about loans, with a journal line each."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from meetapp.flows.deeds import Work
from meetapp.flows.heats.seat_checks import Going
from meetapp.flows.loans import line_rows, loan_rows
from meetapp.flows.loans.loan_notes import note_override
from meetapp.flows.loans.wording import check_step
from meetapp.flows.snapshot import OnAir, Snapshot
from meetapp.rules import loans as rules
from meetapp.store import tables as t


def bring_back(work: Work, snapshot: Snapshot, loans: Iterable[OnAir]) -> None:
    """Take the tokens of these loans back. Raises: Refused where one went out in a time still to come."""
    for loan in loans:
        check_step(
            snapshot, rules.take_back(snapshot.rules_field(), loan.loan_id, work.now), loan.token_id, loan.pilot_id
        )
        loan_rows.take_off_air(work, loan.loan_id)
        loan_rows.end_turns(work, token_id=loan.token_id)


def wake_as_before(work: Work, loans: Iterable[OnAir]) -> None:
    """Nobody switched on: whoever's picture was not seen wakes on what they woke on before their token went out."""
    for loan in loans:
        if loan.seen_at is None and loan.transmitter_id is not None:
            own = work.session.get_one(t.PilotTransmitter, loan.transmitter_id)
            own.wake_mhz = loan.wake_before_mhz
    work.session.flush()


def send_out(work: Work, snapshot: Snapshot, going: Sequence[Going], reason: str) -> list[dict[str, Any]]:
    """Put these seats on air; gives the facts of each for the journal. `reason`: for those that break a floor."""
    return [_sent(work, snapshot, each, reason) for each in going]


def _sent(work: Work, snapshot: Snapshot, going: Going, reason: str) -> dict[str, Any]:
    if going.leaving is not None:
        loan_rows.take_off_air(work, going.leaving.loan_id)
        loan_rows.end_turns(work, token_id=going.token.token_id)
    pilot_id = going.person.pilot_id
    loan_id = loan_rows.put_on_air(
        work,
        snapshot,
        going.plan,
        token_id=going.token.token_id,
        person=going.person,
        override_reason=reason if going.plan.broken else "",
    )
    line_rows.serve(work, replace(snapshot, line=line_rows.stands_in(work, snapshot.meet_id)), pilot_id)
    loan_rows.end_turns(work, partner_id=pilot_id)
    before = {"loan_before": going.leaving.loan_id} if going.leaving else {}
    return {"loan": loan_id, "token": going.token.token_id, "pilot": pilot_id, **before, **going.plan.facts}


def tell_back(work: Work, snapshot: Snapshot, loans: Iterable[OnAir]) -> None:
    """The journal's lines of tokens that came back, after the line of the step itself."""
    for loan in loans:
        facts = {"loan": loan.loan_id, "token": loan.token_id, "pilot": loan.pilot_id}
        work.note("heat_token_back", facts, meet_id=snapshot.meet_id)


def tell_out(
    work: Work, snapshot: Snapshot, going: Sequence[Going], sent: Sequence[dict[str, Any]], reason: str
) -> None:
    """The journal's lines of tokens that went out, each with its override where it breaks a floor."""
    for each, facts in zip(going, sent, strict=True):
        work.note("heat_token_out", facts, meet_id=snapshot.meet_id)
        note_override(work, snapshot, facts, each.plan, reason if each.plan.broken else "")
