"""Writes the rows of loans, their settings and turns; whoever calls has checked that it may be."""

from sqlalchemy import bindparam
from sqlmodel import Session, col, select

from meetapp.flows.deeds import Work
from meetapp.flows.loans.air_plan import AirPlan
from meetapp.flows.snapshot import Person, Snapshot
from meetapp.store import field_queries as queries
from meetapp.store import tables as t


def put_on_air(
    work: Work,
    snapshot: Snapshot,
    plan: AirPlan,
    *,
    token_id: int | None,
    person: Person | None = None,
    holder_name: str = "",
    override_reason: str = "",
) -> int:
    """Open a loan with what is set; gives its id. The transmitter will wake on that from now on."""
    pilot_id = person.pilot_id if person else None
    loan_id = work.make(
        t.Loan,
        meet_id=snapshot.meet_id,
        token_id=token_id,
        pilot_id=pilot_id,
        holder_name=holder_name,
        out_at=work.now,
        entered_at=work.now,
        override_reason=override_reason,
    )
    _set(work, snapshot, loan_id, pilot_id, plan)
    return loan_id


def set_on_air(work: Work, snapshot: Snapshot, loan: t.Loan, plan: AirPlan) -> None:
    """Write down what a loan's transmitter is set to from now on; what was set before ends here."""
    current = queries.current_setting(work.session, loan.id)
    if current is not None:
        # A loan has one open setting: the old one is closed in the database before the new one stands there.
        work.change(t.LoanSetting, current.id, {"until_at": None}, {"until_at": work.now})
    _set(work, snapshot, loan.id, loan.pilot_id, plan)


def _set(work: Work, snapshot: Snapshot, loan_id: int, pilot_id: int | None, plan: AirPlan) -> None:
    work.make(
        t.LoanSetting,
        loan_id=loan_id,
        transmitter_id=plan.kit.transmitter_id if plan.kit else None,
        label=plan.setting.label,
        mhz=plan.setting.mhz,
        width_mhz=plan.width_mhz,
        power_mw=plan.power_mw,
        wake_before_mhz=plan.kit.wake_mhz if plan.kit else None,
        since_at=work.now,
    )
    if plan.kit is None:
        return
    woke_on, wakes_on = {"wake_mhz": plan.kit.wake_mhz}, {"wake_mhz": plan.setting.mhz}
    work.change(t.PilotTransmitter, plan.kit.transmitter_id, woke_on, wakes_on)
    person = snapshot.people.get(pilot_id or 0)
    if person is None or person.kit is None or person.kit.transmitter_id != plan.kit.transmitter_id:
        of_pilot = {"meet_id": snapshot.meet_id, "pilot_id": pilot_id}
        attendance = work.session.exec(_ATTENDANCE, params=of_pilot).one()
        attendance.transmitter_id = plan.kit.transmitter_id


_ATTENDANCE = select(t.Attendance).where(
    col(t.Attendance.meet_id) == bindparam("meet_id"), col(t.Attendance.pilot_id) == bindparam("pilot_id")
)


def take_off_air(work: Work, loan_id: int, *, is_missing: bool = False) -> None:
    """Close a loan with its setting and whatever was offered of it. A pilot of a heat that is over has landed by it."""
    # What seldom is there is asked for first: before anything is changed the answer is known from the tap before.
    loan = queries.standing_loan(work.session, loan_id)
    seats = queries.seats_up_late(work.session, loan.meet_id).get(loan.pilot_id or 0, ())
    offers = queries.running_offers(work.session, loan.meet_id).get(loan_id, ())
    before = {"in_at": loan.in_at, "ended_missing": loan.ended_missing}
    work.change(t.Loan, loan_id, before, {"in_at": work.now, "ended_missing": is_missing})
    if loan.setting_id is not None:
        work.change(t.LoanSetting, loan.setting_id, {"until_at": None}, {"until_at": work.now})
    for seat_id in seats:
        work.change(t.HeatSeat, seat_id, {"is_up_late": True}, {"is_up_late": False})
    for offer_id in offers:
        work.change(t.PassOffer, offer_id, {"ended_at": None}, {"ended_at": work.now})


def running_offer(session: Session, loan_id: int, to_pilot_id: int) -> t.PassOffer | None:
    """The offer of a loan's token to this pilot, while it stands."""
    return session.exec(
        select(t.PassOffer).where(
            t.PassOffer.loan_id == loan_id,
            t.PassOffer.to_pilot_id == to_pilot_id,
            col(t.PassOffer.ended_at).is_(None),
            col(t.PassOffer.voided_at).is_(None),
        )
    ).one_or_none()


def running_turns(session: Session, *, token_id: int | None = None, partner_id: int | None = None) -> t.Sharing | None:
    """The turns on this token, or those in which this pilot is the partner."""
    if token_id is not None:
        return session.exec(_TURNS_ON, params={"token_id": token_id}).one_or_none()
    return session.exec(_TURNS_OF, params={"partner_id": partner_id}).one_or_none()


_RUNNING_TURNS = select(t.Sharing).where(col(t.Sharing.ended_at).is_(None), col(t.Sharing.voided_at).is_(None))
_TURNS_ON = _RUNNING_TURNS.where(col(t.Sharing.token_id) == bindparam("token_id"))
_TURNS_OF = _RUNNING_TURNS.where(col(t.Sharing.partner_id) == bindparam("partner_id"))


def end_turns(work: Work, *, token_id: int | None = None, partner_id: int | None = None) -> int | None:
    """End the turns on this token, or those of this partner; gives the partner's id where there were any."""
    turns = running_turns(work.session, token_id=token_id, partner_id=partner_id)
    if turns is None:
        return None
    turns.ended_at = work.now
    work.session.flush()
    return turns.partner_id
