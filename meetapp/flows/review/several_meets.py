"""What turned up at several meets of a club: the same pilot, kind of transmitter or channel behind reports."""

from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from meetapp.flows.files.meet_file import export_meet
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.review.again import AgainView, is_same_meet, turned_up
from meetapp.flows.review.explained_once import explained_once
from meetapp.flows.review.meet_record import record_of
from meetapp.store import tables as t
from meetapp.store.engine import Store

MOST_MEETS = 8
"""Each has to be explained, which takes a while the first time."""


@dataclass(frozen=True, slots=True)
class MeetCompared:
    """A meet that was looked at, with how many reports it has."""

    meet_id: int
    name: str
    on_date: date
    reports: int


@dataclass(frozen=True, slots=True)
class SeveralMeets:
    """The latest meets with reports, up to the one that was asked about, and what turned up at two of them or more."""

    meet_id: int
    meet_name: str
    meets: tuple[MeetCompared, ...]
    found: tuple[AgainView, ...]
    most: int = MOST_MEETS


def several_meets(store: Store, meet_id: int, now: datetime) -> SeveralMeets:
    """This meet beside those before it that have reports.

    Raises:
        NotFound: no such meet.
    """
    with store.read() as session:
        meet = find_meet(session, meet_id)
        chosen = _with_reports(session, meet)
        meet_name = meet.name
    once: dict[MeetCompared, MeetFile] = {}
    for each in chosen:
        file = export_meet(store, each.meet_id, now)
        if not any(is_same_meet(file, other) for other in once.values()):  # read in once more from its file
            once[each] = file
    explained = [explained_once(record_of(file)) for file in once.values()]
    found = turned_up(explained) if len(explained) > 1 else ()
    return SeveralMeets(meet_id, meet_name, tuple(once), found)


def _with_reports(session: Session, meet: t.Meet) -> tuple[MeetCompared, ...]:
    """Latest first."""
    reports: dict[int, int] = {}
    for own in session.exec(select(t.ClashReport.meet_id).where(col(t.ClashReport.voided_at).is_(None))):
        reports[own] = reports.get(own, 0) + 1
    meets = session.exec(
        select(t.Meet)
        .where(col(t.Meet.id).in_(list(reports)), col(t.Meet.on_date) <= meet.on_date)
        .order_by(col(t.Meet.on_date).desc(), col(t.Meet.id).desc())
        .limit(MOST_MEETS)
    )
    return tuple(MeetCompared(each.id, each.name, each.on_date, reports[each.id]) for each in meets)
