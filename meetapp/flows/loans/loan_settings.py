"""During a loan: another transmitter, channel or power; the tick 'seen on own goggles'."""

from dataclasses import dataclass, replace

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.loans import air_plan, loan_rows
from meetapp.flows.loans.air_plan import AirPlan, Wish
from meetapp.flows.loans.giving import snapshot_without
from meetapp.flows.loans.loan_notes import note_override, on_air_answer
from meetapp.flows.loans.permissions import check_is_self, check_may_act
from meetapp.flows.loans.wording import loan_address, person_at, token_at
from meetapp.flows.snapshot import OnAir, Snapshot, locked_snapshot
from meetapp.spectrum.carriers import Carrier
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class ChangeSetting:
    """Another transmitter, channel or power during a loan; None keeps what is set where it can be kept."""

    meet_id: int
    loan_id: int
    transmitter_id: int | None = None
    mhz: int | None = None
    power_mw: float | None = None
    override_reason: str = ""


def change_setting(store: Store, deed: Deed, order: ChangeSetting) -> Answer:
    """Set another transmitter, channel (within the pull of the token) or power; what was set before stays on record.

    The floors are checked again, without what this loan had on air, where the frequency or the width changes.
    Raises: Refused, Forbidden or NotFound, as `loans.hand_out` does.
    """

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, order.meet_id)
        loan = open_loan(work, snapshot, order.loan_id)
        check_may_act(work.actor, snapshot, loan.pilot_id)
        plan = _new_plan(work, snapshot, loan, order)
        if _is_the_same(plan, loan):
            return Answer(loan_address(work.actor, loan.loan_id), f"Nothing changed: {loan.who} has that set already.")
        reason = air_plan.check_objections(
            work.actor, f"{plan.setting.label} for {loan.who}", plan.objections, order.override_reason
        )
        row = work.session.get_one(t.Loan, loan.loan_id)
        if plan.setting.mhz != loan.mhz or _transmitter_id(plan) != loan.transmitter_id:
            row.seen_at = None
        row.override_reason = "; ".join(each for each in (row.override_reason, reason) if each)
        loan_rows.set_on_air(work, snapshot, row, plan)
        holder = {"pilot": loan.pilot_id} if loan.pilot_id is not None else {"name": loan.who}
        before = {"label_before": loan.label, "mhz_before": loan.mhz, "power_mw_before": loan.power_mw}
        facts = {"loan": loan.loan_id, "token": loan.token_id, **holder, **plan.facts, **before}
        line_id = work.note("setting_changed", facts, meet_id=snapshot.meet_id, is_undoable=True)
        note_override(work, snapshot, facts, plan, reason)
        return on_air_answer(
            work,
            snapshot_without(snapshot, loan),
            plan,
            line_id=line_id,
            loan_id=loan.loan_id,
            token_label=loan.token_label,
            who=loan.who,
        )

    return do_once(store, deed, work)


def open_loan(work: Work, snapshot: Snapshot, loan_id: int) -> OnAir:
    """A loan that is out now. Raises NotFound, or Refused where it is closed already."""
    loan = snapshot.loan(loan_id)
    if loan is not None:
        return loan
    row = work.session.get(t.Loan, loan_id)
    if row is None or row.meet_id != snapshot.meet_id:
        raise NotFound("This loan isn't there.", "Look at the desk page: it lists who is on air.")
    raise Refused("This loan is over: its token was taken back, handed over, or it was undone.", "Load the page again.")


def _new_plan(work: Work, snapshot: Snapshot, loan: OnAir, order: ChangeSetting) -> AirPlan:
    plan = _ground_plan(snapshot, loan, order) if loan.pilot_id is None else _pilot_plan(work, snapshot, loan, order)
    if plan.carrier == loan.carrier:
        return replace(plan, broken=())
    return plan


def _pilot_plan(work: Work, snapshot: Snapshot, loan: OnAir, order: ChangeSetting) -> AirPlan:
    assert loan.pilot_id is not None and loan.token_id is not None  # noqa: PT018  (the table holds both or neither)
    person, token = person_at(snapshot, loan.pilot_id), token_at(snapshot, loan.token_id)
    kit = air_plan.chosen_kit(work.session, snapshot, person, order.transmitter_id or loan.transmitter_id)
    is_same_kit = kit.transmitter_id == loan.transmitter_id
    keeps_power = order.power_mw is None and loan.power_mw in kit.power_steps_mw
    wish = Wish(
        kit.transmitter_id,
        order.mhz if order.mhz is not None or not is_same_kit else loan.mhz,
        loan.power_mw if keeps_power else order.power_mw,
    )
    return air_plan.plan_for(
        work.session, snapshot, person, token, wish, leaving_loan_id=loan.loan_id, passes_nobody=True
    )


def _ground_plan(snapshot: Snapshot, loan: OnAir, order: ChangeSetting) -> AirPlan:
    mhz = loan.mhz if order.mhz is None else order.mhz
    power_mw = loan.power_mw if order.power_mw is None else order.power_mw
    return air_plan.ground_plan(
        snapshot,
        loan.who,
        Carrier(mhz, loan.width_mhz),
        power_mw,
        token_at(snapshot, loan.token_id) if loan.token_id is not None else None,
        leaving_loan_id=loan.loan_id,
    )


def _transmitter_id(plan: AirPlan) -> int | None:
    return plan.kit.transmitter_id if plan.kit else None


def _is_the_same(plan: AirPlan, loan: OnAir) -> bool:
    now_set = (plan.setting.mhz, plan.power_mw, _transmitter_id(plan))
    return now_set == (loan.mhz, loan.power_mw, loan.transmitter_id)


def mark_seen(store: Store, deed: Deed, meet_id: int, loan_id: int) -> Answer:
    """Tick that the pilot has seen their own picture on their own goggles; ticked already, it takes the tick away."""

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        loan = open_loan(work, snapshot, loan_id)
        check_is_self(work.actor, loan.pilot_id)
        if loan.pilot_id is None:
            raise Refused(f"{loan.who} is a ground transmitter: no pilot's goggles belong to it.")
        row = work.session.get_one(t.Loan, loan_id)
        row.seen_at = None if row.seen_at else work.now
        facts = {"loan": loan_id, "token": loan.token_id, "pilot": loan.pilot_id}
        if row.seen_at:
            line_id = work.note("seen_on_goggles", facts, meet_id=meet_id, is_undoable=True)
            notice = f"{loan.who} has seen the picture on their own goggles."
        else:
            line_id = work.note("seen_taken_back", facts, meet_id=meet_id, is_undoable=True)
            notice = f"The tick for {loan.who} is taken away."
        return Answer(loan_address(work.actor, loan_id), notice, undo_id=line_id, made_id=loan_id)

    return do_once(store, deed, work)
