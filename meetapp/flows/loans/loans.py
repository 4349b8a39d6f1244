"""Loans: hand out, lend to a ground transmitter, take back, hand over. Floors are judged with the meet's row locked.

Changes during a loan stand in `loan_settings`; their names are given here too.
"""

from dataclasses import dataclass

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.loans import air_plan, line_rows, loan_rows
from meetapp.flows.loans.air_plan import Wish
from meetapp.flows.loans.giving import give, given_answer
from meetapp.flows.loans.loan_notes import note_override, on_air_answer
from meetapp.flows.loans.loan_settings import ChangeSetting as ChangeSetting
from meetapp.flows.loans.loan_settings import change_setting as change_setting
from meetapp.flows.loans.loan_settings import mark_seen as mark_seen
from meetapp.flows.loans.loan_settings import open_loan
from meetapp.flows.loans.permissions import check_desk, check_may_act, check_may_take_over
from meetapp.flows.loans.wording import check_step, clock, home_of, person_at, token_at
from meetapp.flows.snapshot import OnAir, Snapshot, TokenNow, locked_snapshot
from meetapp.rules import loans as rules
from meetapp.rules.loans import Held
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem, check_mhz
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.field_queries import line_about_loan


@dataclass(frozen=True, slots=True)
class HandOut:
    """A token for a pilot. None means: today's transmitter, the nearest frequency, the lowest power step."""

    meet_id: int
    pilot_id: int
    token_id: int
    transmitter_id: int | None = None
    mhz: int | None = None
    power_mw: float | None = None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class GroundLoan:
    """A camera or ground transmitter without a pilot; `token_id` None: it has no token."""

    meet_id: int
    holder_name: str
    mhz: int
    width_mhz: float
    power_mw: float | None = None
    token_id: int | None = None
    override_reason: str = ""


@dataclass(frozen=True, slots=True)
class HandOver:
    """A token that goes straight from the pilot who holds it to the next."""

    meet_id: int
    loan_id: int
    to_pilot_id: int
    override_reason: str = ""


def hand_out(store: Store, deed: Deed, order: HandOut) -> Answer:
    """Give a token to a pilot; below a floor only with a reason, which is written down.

    Raises:
        Refused: a rule or a floor says no; the sentence says who has the token and since when, or what would break.
        Forbidden: this person may not act for the pilot.
        NotFound: no such meet, pilot or token here.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, order.meet_id)
        check_may_act(work.actor, snapshot, order.pilot_id)
        person, token = person_at(snapshot, order.pilot_id), token_at(snapshot, order.token_id)
        wish = Wish(order.transmitter_id, order.mhz, order.power_mw)
        given = give(work, snapshot, person, token, wish, order.override_reason)
        line_rows.serve(work, snapshot, person.pilot_id)
        if snapshot.sharing:
            loan_rows.end_turns(work, partner_id=person.pilot_id)
        line_id = work.note("handed_out", dict(given.facts), meet_id=snapshot.meet_id, is_undoable=True)
        return given_answer(work, given, line_id)

    return do_once(store, deed, work)


def lend_ground(store: Store, deed: Deed, order: GroundLoan) -> Answer:
    """Put a camera or ground transmitter on air, with a token or without; the desk does this.

    Raises: Refused, Forbidden or NotFound, as `hand_out` does.
    """
    carrier = _ground_carrier(order)

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, order.meet_id)
        check_desk(work.actor)
        name = order.holder_name.strip()
        token = token_at(snapshot, order.token_id) if order.token_id is not None else None
        held = Held(0, order.token_id, None, work.now)
        check_step(snapshot, rules.hand_out(snapshot.rules_field(), held), order.token_id, None)
        plan = air_plan.ground_plan(snapshot, name, carrier, order.power_mw, token)
        reason = air_plan.check_objections(work.actor, name, plan.objections, order.override_reason)
        loan_id = loan_rows.put_on_air(
            work, snapshot, plan, token_id=order.token_id, holder_name=name, override_reason=reason
        )
        facts = {"loan": loan_id, "token": order.token_id, "name": name, **plan.facts}
        line_id = work.note("ground_lent", facts, meet_id=snapshot.meet_id, is_undoable=True)
        note_override(work, snapshot, facts, plan, reason)
        label = token.label if token else ""
        return on_air_answer(
            work, snapshot, plan, line_id=line_id, loan_id=loan_id, token_label=label, who=name
        )

    return do_once(store, deed, work)


def _ground_carrier(order: GroundLoan) -> Carrier:
    if not order.holder_name.strip():
        raise Refused("Say what it is: a name such as 'finish camera'.", field="holder_name")
    try:
        check_mhz("mhz", order.mhz)
        return Carrier(order.mhz, order.width_mhz)
    except BadProblem as problem:
        raise Refused(problem.reason, field=problem.field) from problem


def take_back(store: Store, deed: Deed, meet_id: int, loan_id: int) -> Answer:
    """Take a token back to the board (or a ground transmitter off air). Back already: nothing more happens.

    Raises: Forbidden for a pilot whose loan it isn't; NotFound.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        loan = snapshot.loan(loan_id)
        if loan is None:
            return _back_already(work, snapshot, loan_id)
        check_may_act(work.actor, snapshot, loan.pilot_id)
        check_step(snapshot, rules.take_back(snapshot.rules_field(), loan_id, work.now), loan.token_id, loan.pilot_id)
        loan_rows.take_off_air(work, loan_id)
        partner_id = loan_rows.end_turns(work, token_id=loan.token_id) if loan.token_id in snapshot.sharing else None
        if loan.pilot_id is None:
            facts = {"loan": loan_id, "token": loan.token_id, "name": loan.who}
            line_id = work.note("ground_off", facts, meet_id=meet_id, is_undoable=True)
        else:
            facts = {"loan": loan_id, "token": loan.token_id, "pilot": loan.pilot_id}
            line_id = work.note("taken_back", facts, meet_id=meet_id, is_undoable=True)
        notice = f"{loan.token_label} is back from {loan.who}." if loan.token_label else f"{loan.who} is off air."
        if partner_id is not None:
            notice += f" The turns with {person_at(snapshot, partner_id).board_name} are over."
        return Answer(home_of(work.actor), notice, undo_id=line_id, made_id=loan_id)

    return do_once(store, deed, work)


def _back_already(work: Work, snapshot: Snapshot, loan_id: int) -> Answer:
    row = work.session.get(t.Loan, loan_id)
    if row is None or row.meet_id != snapshot.meet_id:
        raise NotFound("This loan isn't there.", "Look at the desk page: it lists who is on air.")
    check_may_act(work.actor, snapshot, row.pilot_id)
    token = snapshot.token(row.token_id) if row.token_id is not None else None
    what = token.label if token else row.holder_name or "It"
    if row.in_at is None:
        return Answer(home_of(work.actor), f"The hand-out of {what} was undone already.")
    line = line_about_loan(work.session, snapshot.meet_id, loan_id, row.in_at)
    by = f" (entered by {line.actor_name})" if line else ""
    return Answer(home_of(work.actor), f"{what} has been back since {clock(snapshot, row.in_at)} already{by}.")


def hand_over(store: Store, deed: Deed, order: HandOver) -> Answer:
    """Take a token from whoever holds it and give it straight to the next, as one step.

    A pilot may take over only what was offered to them. The floors are judged without what comes down.
    Raises: Refused, Forbidden or NotFound, as `hand_out` does.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, order.meet_id)
        loan = open_loan(work, snapshot, order.loan_id)
        offer = loan_rows.running_offer(work.session, loan.loan_id, order.to_pilot_id)
        check_may_take_over(work.actor, snapshot, order.to_pilot_id, is_offered=offer is not None)
        person, token = person_at(snapshot, order.to_pilot_id), _token_of(snapshot, loan)
        if offer is not None:
            offer.was_taken = True
        loan_rows.end_turns(work, token_id=token.token_id)
        given = give(work, snapshot, person, token, Wish(), order.override_reason, leaving=loan)
        line_rows.serve(work, snapshot, person.pilot_id)
        loan_rows.end_turns(work, partner_id=person.pilot_id)
        line_id = work.note("handed_over", dict(given.facts), meet_id=snapshot.meet_id, is_undoable=True)
        return given_answer(work, given, line_id)

    return do_once(store, deed, work)


def _token_of(snapshot: Snapshot, loan: OnAir) -> TokenNow:
    if loan.token_id is None:
        raise Refused(f"{loan.who} is on air without a token.", "Take it off air, then hand out a token.")
    return token_at(snapshot, loan.token_id)
