"""Reads that several flows share: the rows of a live meet, joined where they belong together."""

from collections.abc import Sequence
from datetime import datetime

from sqlmodel import Session, col, or_, select

from meetapp.store import tables as t


def open_meet(session: Session) -> t.Meet | None:
    """The meet that is open now, if there is one."""
    return session.exec(select(t.Meet).where(t.Meet.state == "open")).one_or_none()


def channel_plans(session: Session) -> list[tuple[t.ChannelPlanRow, list[t.PlanChannel]]]:
    """Every plan of the club in its order, with its channels by number."""
    channels: dict[int, list[t.PlanChannel]] = {}
    for row in session.exec(select(t.PlanChannel).order_by(col(t.PlanChannel.number))):
        channels.setdefault(row.plan_id, []).append(row)
    plans = session.exec(select(t.ChannelPlanRow).order_by(col(t.ChannelPlanRow.position), col(t.ChannelPlanRow.id)))
    return [(plan, channels.get(plan.id, [])) for plan in plans]


def meet_tokens(session: Session, meet_id: int) -> Sequence[t.Token]:
    """The tokens of a meet's chosen set, by nominal frequency."""
    chosen = select(t.Token).join(t.MeetToken, col(t.MeetToken.token_id) == t.Token.id)
    return session.exec(
        chosen.where(t.MeetToken.meet_id == meet_id).order_by(col(t.Token.nominal_mhz), col(t.Token.id))
    ).all()


def open_loans(session: Session, meet_id: int) -> Sequence[tuple[t.Loan, t.LoanSetting]]:
    """The loans that are out now with what is set, in the order they went out."""
    return session.exec(
        select(t.Loan, t.LoanSetting)
        .join(t.LoanSetting, col(t.LoanSetting.loan_id) == t.Loan.id)
        .where(
            t.Loan.meet_id == meet_id,
            col(t.Loan.in_at).is_(None),
            col(t.Loan.voided_at).is_(None),
            col(t.LoanSetting.until_at).is_(None),
            col(t.LoanSetting.voided_at).is_(None),
        )
        .order_by(col(t.Loan.out_at), col(t.Loan.id))
    ).all()


def current_setting(session: Session, loan_id: int) -> t.LoanSetting | None:
    """What an open loan's transmitter is set to now."""
    current = select(t.LoanSetting).where(
        t.LoanSetting.loan_id == loan_id,
        col(t.LoanSetting.until_at).is_(None),
        col(t.LoanSetting.voided_at).is_(None),
    )
    return session.exec(current).one_or_none()


def last_loan_of_token(session: Session, meet_id: int, token_id: int) -> t.Loan | None:
    """The loan of a token that went out last at this meet."""
    loans = select(t.Loan).where(
        t.Loan.meet_id == meet_id, t.Loan.token_id == token_id, col(t.Loan.voided_at).is_(None)
    )
    return session.exec(loans.order_by(col(t.Loan.out_at).desc(), col(t.Loan.id).desc()).limit(1)).first()


def settings_on_air(session: Session, meet_id: int, at: datetime) -> Sequence[tuple[t.Loan, t.LoanSetting]]:
    """Who was on air at a moment: loans out then, with what was set then (voided ones never counted)."""
    return session.exec(
        select(t.Loan, t.LoanSetting)
        .join(t.LoanSetting, col(t.LoanSetting.loan_id) == t.Loan.id)
        .where(
            t.Loan.meet_id == meet_id,
            col(t.Loan.voided_at).is_(None),
            col(t.LoanSetting.voided_at).is_(None),
            t.LoanSetting.since_at <= at,
            or_(col(t.LoanSetting.until_at).is_(None), col(t.LoanSetting.until_at) > at),
        )
        .order_by(col(t.LoanSetting.mhz))
    ).all()


def standing_in_line(session: Session, meet_id: int) -> Sequence[t.LineEntry]:
    """The entries of those who wait now, in order of arrival."""
    standing = select(t.LineEntry).where(
        t.LineEntry.meet_id == meet_id, col(t.LineEntry.left_at).is_(None), col(t.LineEntry.voided_at).is_(None)
    )
    return session.exec(standing.order_by(col(t.LineEntry.joined_at), col(t.LineEntry.id))).all()


def attendances(session: Session, meet_id: int) -> Sequence[tuple[t.Attendance, t.Pilot]]:
    """Everybody expected at or checked in to a meet, by board name."""
    return session.exec(
        select(t.Attendance, t.Pilot)
        .join(t.Pilot, col(t.Pilot.id) == t.Attendance.pilot_id)
        .where(t.Attendance.meet_id == meet_id)
        .order_by(col(t.Pilot.board_name), col(t.Pilot.id))
    ).all()


def pauses(session: Session, meet_id: int) -> Sequence[t.Pause]:
    """The pauses of a meet, in order."""
    counted = select(t.Pause).where(t.Pause.meet_id == meet_id, col(t.Pause.voided_at).is_(None))
    return session.exec(counted.order_by(col(t.Pause.started_at))).all()


def last_entry(session: Session, meet_id: int) -> tuple[int, datetime] | None:
    """The newest journal line of a meet and when it was entered: the id changes exactly when something happened."""
    lines = select(t.JournalLine.id, t.JournalLine.entered_at).where(t.JournalLine.meet_id == meet_id)
    return session.exec(lines.order_by(col(t.JournalLine.id).desc()).limit(1)).first()


def last_journal_id(session: Session, meet_id: int) -> int:
    """The id of the newest journal line of a meet (0: none)."""
    entry = last_entry(session, meet_id)
    return entry[0] if entry else 0


def newest_line_id(session: Session) -> int:
    """The id of the newest journal line of all (0: none): whatever any process did to the club has one."""
    return session.exec(select(t.JournalLine.id).order_by(col(t.JournalLine.id).desc()).limit(1)).first() or 0


def after_the_last_entry(session: Session, meet_id: int, now: datetime) -> datetime:
    """`now`, or the instant after the meet's newest line was entered if that is later.

    Another machine's clock may run ahead. That no two deeds share an instant makes times tell what came before what.
    """
    entry = last_entry(session, meet_id)
    return max(now, entry[1] + datetime.resolution) if entry else now


def seats_up_late(session: Session, meet_id: int, pilot_id: int) -> Sequence[t.HeatSeat]:
    """The seats of a pilot in heats that are over while they have not landed yet."""
    late = select(t.HeatSeat).join(t.Heat, col(t.Heat.id) == t.HeatSeat.heat_id)
    return session.exec(
        late.where(
            t.Heat.meet_id == meet_id,
            t.HeatSeat.pilot_id == pilot_id,
            col(t.HeatSeat.is_up_late).is_(True),
            col(t.HeatSeat.voided_at).is_(None),
        )
    ).all()


def has_heats(session: Session, meet_id: int) -> bool:
    """Whether a meet has heats, flown or to come."""
    heats = select(t.Heat.id).where(
        t.Heat.meet_id == meet_id, t.Heat.state != "dropped", col(t.Heat.voided_at).is_(None)
    )
    return session.exec(heats.limit(1)).first() is not None


def loans_taken_over(session: Session, meet_id: int, at: datetime) -> frozenset[int]:
    """The ids of the loans by which heats took over a token that their pilot held already, at a moment or later."""
    lines = select(t.JournalLine).where(
        t.JournalLine.meet_id == meet_id, t.JournalLine.kind == "heat_token_out", t.JournalLine.happened_at >= at
    )
    return frozenset(line.facts["loan"] for line in session.exec(lines) if line.facts.get("loan_before"))


def loans_since(session: Session, meet_id: int, at: datetime) -> Sequence[t.Loan]:
    """The loans that went out at a moment or later, open or over."""
    loans = select(t.Loan).where(t.Loan.meet_id == meet_id, t.Loan.out_at >= at, col(t.Loan.voided_at).is_(None))
    return session.exec(loans.order_by(col(t.Loan.out_at), col(t.Loan.id))).all()
