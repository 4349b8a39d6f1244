"""Reads that several flows share: the rows of a live meet, joined where they belong together.

Statements that every tap needs are built once: building one takes longer than asking it.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import BindParameter, and_, bindparam
from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from meetapp.store import tables as t
from meetapp.store.kept import keep

_MEET_ID: BindParameter[int] = bindparam("meet_id")
_OPEN_MEET = select(t.Meet).where(t.Meet.state == "open")


def open_meet(session: Session) -> t.Meet | None:
    """The meet that is open now, if there is one."""
    return session.exec(_OPEN_MEET).one_or_none()


class OpenMeet(NamedTuple):
    """The meet that is open, as far as most need it."""

    id: int
    name: str


def open_meet_kept(session: Session) -> OpenMeet | None:
    """The same in short, from the page before where no meet was changed since."""
    return keep(session, "open meet", lambda: _open_meet_in_short(session), of=(t.Meet,))


def _open_meet_in_short(session: Session) -> OpenMeet | None:
    meet = open_meet(session)
    return OpenMeet(meet.id, meet.name) if meet is not None else None


_operations, _lines = (t.metadata.tables[name] for name in ("operation", "journal_line"))
_OPERATION = columns(_operations.c.digest, _operations.c.answer).where(_operations.c.key == bindparam("key"))


class FirstAnswer(NamedTuple):
    """What was answered to an operation key, and the digest of what was sent with it."""

    digest: str
    answer: dict[str, Any]


def operation(session: Session, key: str) -> FirstAnswer | None:
    """What was answered to an operation key, if anything was."""
    row = session.execute(_OPERATION, {"key": key}).one_or_none()
    return FirstAnswer(*row) if row is not None else None


_LOCKED_MEET = (
    select(t.Meet)
    .where(col(t.Meet.id) == _MEET_ID)
    .with_for_update()
    # What was read before the lock may be out of date: the row is read anew behind it.
    .execution_options(populate_existing=True)
)


def locked_meet(session: Session, meet_id: int) -> t.Meet | None:
    """The row of a meet, locked and as it stands behind the lock."""
    return session.exec(_LOCKED_MEET, params={"meet_id": meet_id}).one_or_none()


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


_CURRENT_SETTING = select(t.LoanSetting).where(
    col(t.LoanSetting.loan_id) == bindparam("loan_id"),
    col(t.LoanSetting.until_at).is_(None),
    col(t.LoanSetting.voided_at).is_(None),
)


def current_setting(session: Session, loan_id: int) -> t.LoanSetting | None:
    """What an open loan's transmitter is set to now."""
    return session.exec(_CURRENT_SETTING, params={"loan_id": loan_id}).one_or_none()


class StandingLoan(NamedTuple):
    """A loan as far as closing it needs. `setting_id`: what is set now; None once that is over."""

    meet_id: int
    pilot_id: int | None
    in_at: datetime | None
    ended_missing: bool
    setting_id: int | None


_STANDING_LOAN = (
    columns(
        col(t.Loan.meet_id),
        col(t.Loan.pilot_id),
        col(t.Loan.in_at),
        col(t.Loan.ended_missing),
        col(t.LoanSetting.id),
    )
    .outerjoin(
        t.LoanSetting,
        and_(
            col(t.LoanSetting.loan_id) == t.Loan.id,
            col(t.LoanSetting.until_at).is_(None),
            col(t.LoanSetting.voided_at).is_(None),
        ),
    )
    .where(col(t.Loan.id) == bindparam("loan_id"))
)


def standing_loan(session: Session, loan_id: int) -> StandingLoan:
    """A loan that is there, by its id."""
    return StandingLoan(*session.execute(_STANDING_LOAN, {"loan_id": loan_id}).one())


def last_loan_of_token(session: Session, meet_id: int, token_id: int) -> t.Loan | None:
    """The loan of a token that went out last at this meet."""
    loans = select(t.Loan).where(
        t.Loan.meet_id == meet_id, t.Loan.token_id == token_id, col(t.Loan.voided_at).is_(None)
    )
    return session.exec(loans.order_by(col(t.Loan.out_at).desc(), col(t.Loan.id).desc()).limit(1)).first()


_STANDING_IN_LINE = (
    columns(
        col(t.LineEntry.id),
        col(t.LineEntry.pilot_id),
        col(t.LineEntry.joined_at),
        col(t.LineEntry.head_since),
        col(t.LineEntry.is_skipped),
    )
    .where(
        col(t.LineEntry.meet_id) == _MEET_ID,
        col(t.LineEntry.left_at).is_(None),
        col(t.LineEntry.voided_at).is_(None),
    )
    .order_by(col(t.LineEntry.joined_at), col(t.LineEntry.id))
)


class Standing(NamedTuple):
    """The entry in the line of somebody who waits now."""

    id: int
    pilot_id: int
    joined_at: datetime
    head_since: datetime | None
    is_skipped: bool


def standing_in_line(session: Session, meet_id: int) -> list[Standing]:
    """The entries of those who wait now, in order of arrival."""
    return [Standing(*row) for row in session.execute(_STANDING_IN_LINE, {"meet_id": meet_id})]


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


_LAST_ENTRY = (
    columns(_lines.c.id, _lines.c.entered_at)
    .where(_lines.c.meet_id == _MEET_ID)
    .order_by(_lines.c.id.desc())
    .limit(1)
)


def last_entry(session: Session, meet_id: int) -> tuple[int, datetime] | None:
    """The newest journal line of a meet and when it was entered: the id changes exactly when something happened."""
    return keep(session, ("last entry", meet_id), lambda: _last_entry(session, meet_id), of=(t.JournalLine,))


def _last_entry(session: Session, meet_id: int) -> tuple[int, datetime] | None:
    row = session.execute(_LAST_ENTRY, {"meet_id": meet_id}).first()
    return (row.id, row.entered_at) if row is not None else None


def last_journal_id(session: Session, meet_id: int) -> int:
    """The id of the newest journal line of a meet (0: none)."""
    entry = last_entry(session, meet_id)
    return entry[0] if entry else 0


_SEATS_UP_LATE = (
    columns(col(t.HeatSeat.pilot_id), col(t.HeatSeat.id))
    .join(t.Heat, col(t.Heat.id) == t.HeatSeat.heat_id)
    .where(
        col(t.Heat.meet_id) == _MEET_ID,
        col(t.HeatSeat.is_up_late).is_(True),
        col(t.HeatSeat.voided_at).is_(None),
    )
)


def seats_up_late(session: Session, meet_id: int) -> Mapping[int, Sequence[int]]:
    """By pilot: the ids of their seats in heats that are over while they have not landed yet."""
    of_meet = {"meet_id": meet_id}
    return keep(
        session,
        ("up late", meet_id),
        lambda: _grouped(session.execute(_SEATS_UP_LATE, of_meet)),
        of=(t.Heat, t.HeatSeat),
    )


_RUNNING_OFFERS = columns(col(t.PassOffer.loan_id), col(t.PassOffer.id)).where(
    col(t.PassOffer.meet_id) == _MEET_ID, col(t.PassOffer.ended_at).is_(None), col(t.PassOffer.voided_at).is_(None)
)


def running_offers(session: Session, meet_id: int) -> Mapping[int, Sequence[int]]:
    """By loan: the ids of the offers of its token that stand."""
    of_meet = {"meet_id": meet_id}
    return keep(
        session,
        ("offers", meet_id),
        lambda: _grouped(session.execute(_RUNNING_OFFERS, of_meet)),
        of=(t.PassOffer,),
    )


def _grouped(rows: Iterable[Any]) -> Mapping[int, Sequence[int]]:
    groups: dict[int, list[int]] = {}
    for key, row_id in rows:
        groups.setdefault(key, []).append(row_id)
    return {key: tuple(ids) for key, ids in groups.items()}


_FIRST_HEAT = (
    select(t.Heat.id)
    .where(col(t.Heat.meet_id) == _MEET_ID, t.Heat.state != "dropped", col(t.Heat.voided_at).is_(None))
    .limit(1)
)


def has_heats(session: Session, meet_id: int) -> bool:
    """Whether a meet has heats, flown or to come."""
    return keep(
        session,
        ("has heats", meet_id),
        lambda: session.exec(_FIRST_HEAT, params={"meet_id": meet_id}).first() is not None,
        of=(t.Heat,),
    )


def loans_taken_over(session: Session, meet_id: int, at: datetime) -> frozenset[int]:
    """The ids of the loans by which heats took over a token that their pilot held already, at a moment or later."""
    lines = select(t.JournalLine).where(
        t.JournalLine.meet_id == meet_id, t.JournalLine.kind == "heat_token_out", t.JournalLine.happened_at >= at
    )
    return frozenset(line.facts["loan"] for line in session.exec(lines) if line.facts.get("loan_before"))


def line_about_loan(session: Session, meet_id: int, loan_id: int, at: datetime) -> t.JournalLine | None:
    """The journal line by which something happened to a loan at this very moment; None where no line names it."""
    lines = select(t.JournalLine).where(t.JournalLine.meet_id == meet_id, t.JournalLine.happened_at == at)
    return next((line for line in session.exec(lines) if line.facts.get("loan") == loan_id), None)


def loans_since(session: Session, meet_id: int, at: datetime) -> Sequence[t.Loan]:
    """The loans that went out at a moment or later, open or over."""
    loans = select(t.Loan).where(t.Loan.meet_id == meet_id, t.Loan.out_at >= at, col(t.Loan.voided_at).is_(None))
    return session.exec(loans.order_by(col(t.Loan.out_at), col(t.Loan.id))).all()
