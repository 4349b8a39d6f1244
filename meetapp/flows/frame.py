"""What stands around every page: the club, the open meet, its alarms and its pause."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class RunningAlarm:
    """An alarm that isn't over yet: kind 'stray' or 'down'."""

    alarm_id: int
    kind: str
    started_at: datetime


@dataclass(frozen=True, slots=True)
class Frame:
    """The page's surroundings. `zone`: the open meet's, else UTC. `club_name` is None before the first visit."""

    club_name: str | None
    safety_words: tuple[str, ...]
    meet_id: int | None
    meet_name: str | None
    is_self_service: bool
    zone: ZoneInfo
    alarms: tuple[RunningAlarm, ...]
    paused_since: datetime | None
    has_heats: bool


def page_frame(store: Store) -> Frame:
    """Read the surroundings of a page."""
    with store.read() as session:
        return frame_in(session)


def frame_in(session: Session) -> Frame:
    """The same, inside a session that is open already."""
    tables = (t.Club, t.Meet, t.Site, t.Alarm, t.Pause, t.Heat)
    return keep(session, "frame", lambda: _read_frame(session), of=tables)


def _read_frame(session: Session) -> Frame:
    club = session.get(t.Club, 1)
    meet = session.exec(select(t.Meet).where(t.Meet.state == "open")).one_or_none()
    site = session.get_one(t.Site, meet.site_id) if meet else None
    return Frame(
        club_name=club.name if club else None,
        safety_words=safety_lines_of(club) if club else (),
        meet_id=meet.id if meet else None,
        meet_name=meet.name if meet else None,
        is_self_service=bool(meet and meet.is_self_service),
        zone=ZoneInfo(site.time_zone) if site else ZoneInfo("UTC"),
        alarms=running_alarms(session, meet.id) if meet else (),
        paused_since=_paused_since(session, meet),
        has_heats=meet is not None and queries.has_heats(session, meet.id),
    )


def safety_lines_of(club: t.Club) -> tuple[str, ...]:
    """The club's safety words, line by line."""
    return tuple(line for line in club.safety_words.splitlines() if line.strip())


def running_alarms(session: Session, meet_id: int) -> tuple[RunningAlarm, ...]:
    """The alarms of a meet that aren't over yet."""
    return keep(session, ("alarms", meet_id), lambda: _read_alarms(session, meet_id), of=(t.Alarm,))


def _read_alarms(session: Session, meet_id: int) -> tuple[RunningAlarm, ...]:
    running = select(t.Alarm).where(
        t.Alarm.meet_id == meet_id, col(t.Alarm.ended_at).is_(None), col(t.Alarm.voided_at).is_(None)
    )
    rows = session.exec(running.order_by(col(t.Alarm.kind)))
    return tuple(RunningAlarm(row.id, row.kind, row.started_at) for row in rows)


def _paused_since(session: Session, meet: t.Meet | None) -> datetime | None:
    if meet is None:
        return None
    running = select(t.Pause).where(
        t.Pause.meet_id == meet.id, col(t.Pause.ended_at).is_(None), col(t.Pause.voided_at).is_(None)
    )
    pause = session.exec(running).one_or_none()
    return pause.started_at if pause else None
