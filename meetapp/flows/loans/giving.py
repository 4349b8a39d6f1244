"""The step that a hand-out, a hand-over and a swap of turns share: a token goes to a pilot."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from meetapp.flows.deeds import Answer, Work
from meetapp.flows.loans import air_plan, loan_rows
from meetapp.flows.loans.air_plan import AirPlan, Wish
from meetapp.flows.loans.loan_notes import note_override, on_air_answer
from meetapp.flows.loans.wording import check_step, check_there
from meetapp.flows.snapshot import OnAir, Person, Snapshot, TokenNow
from meetapp.rules import loans as rules
from meetapp.rules.loans import Held


@dataclass(frozen=True, slots=True)
class Given:
    """A token that went to a pilot. `beside`: the meet as it stands around them, what came down taken out."""

    loan_id: int
    person: Person
    token: TokenNow
    plan: AirPlan
    reason: str
    beside: Snapshot
    facts: Mapping[str, Any]


def give(
    work: Work,
    snapshot: Snapshot,
    person: Person,
    token: TokenNow,
    wish: Wish,
    override_reason: str,
    *,
    leaving: OnAir | None = None,
    passes_nobody: bool = False,
) -> Given:
    """Write the loan of a token to a pilot. `leaving`: the loan of the same token that ends with it.

    `passes_nobody`: nobody in the line is passed by it. Raises: Refused or Forbidden; nothing is written then.
    """
    check_there(person)
    held = Held(0, token.token_id, person.pilot_id, work.now)
    field = snapshot.rules_field()
    after = rules.hand_over(field, leaving.loan_id, held) if leaving else rules.hand_out(field, held)
    check_step(snapshot, after, token.token_id, person.pilot_id)
    leaving_id = leaving.loan_id if leaving else None
    plan = air_plan.plan_for(
        work.session, snapshot, person, token, wish, leaving_loan_id=leaving_id, passes_nobody=passes_nobody
    )
    reason = air_plan.check_objections(
        work.actor, f"{token.label} for {person.board_name}", plan.objections, override_reason
    )
    if leaving:
        loan_rows.take_off_air(work, leaving.loan_id)
    loan_id = loan_rows.put_on_air(
        work, snapshot, plan, token_id=token.token_id, person=person, override_reason=reason
    )
    return Given(
        loan_id,
        person,
        token,
        plan,
        reason,
        snapshot_without(snapshot, leaving),
        {
            "loan": loan_id,
            "token": token.token_id,
            "pilot": person.pilot_id,
            **(_came_from(leaving) if leaving else {}),
            **plan.facts,
        },
    )


def snapshot_without(snapshot: Snapshot, leaving: OnAir | None) -> Snapshot:
    """The same meet without one loan on air."""
    return replace(snapshot, on_air=tuple(loan for loan in snapshot.on_air if loan is not leaving))


def _came_from(leaving: OnAir) -> dict[str, Any]:
    holder = {"other_pilot": leaving.pilot_id} if leaving.pilot_id is not None else {"name": leaving.who}
    return {"loan_before": leaving.loan_id, **holder}


def given_answer(work: Work, given: Given, line_id: int) -> Answer:
    """What the pilot must set now; an override is written down before."""
    note_override(work, given.beside, given.facts, given.plan, given.reason)
    return on_air_answer(
        work,
        given.beside,
        given.plan,
        line_id=line_id,
        loan_id=given.loan_id,
        token_label=given.token.label,
        who=given.person.board_name,
    )
