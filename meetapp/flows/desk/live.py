"""Whether a live page has anything new to show, found without working the page out."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.access import live_sessions
from meetapp.flows.frame import Frame, RunningAlarm, frame_in, running_alarms
from meetapp.flows.giving_way import deeds
from meetapp.flows.pilot.own_view import MyView, for_pilots, own_view
from meetapp.store import field_queries as queries
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class LiveWords:
    """What the pages show now, as words to compare: `meet` changes with each journal line of the open meet, with the
    meet, and each minute (pages show minutes); `alarms` with the alarms that run.
    """

    meet: str
    alarms: str

    @property
    def happened(self) -> str:
        """The words without the minute: they change only when somebody did something."""
        return f"{self.meet.rpartition('.')[0]} {self.alarms}"


@dataclass(frozen=True, slots=True)
class Look:
    """One look into the database for everybody who looks on: the words, which sessions are still good, what stands
    around every page, and the own page of each pilot asked about (None: retired).
    """

    words: LiveWords
    sessions: frozenset[int]
    frame: Frame
    own: Mapping[int, MyView | None]


def live_version(store: Store, now: datetime) -> str:
    """The word for what the open meet's pages show now."""
    with store.read() as session:
        return _words(session, now).meet


def look(store: Store, now: datetime, session_ids: Collection[int], pilot_ids: Collection[int] = ()) -> Look:
    """How things stand now, which of these sessions haven't ended, and what these pilots' own pages show."""
    with store.read() as session:
        # The words first: what happens in between is then told once more, never missed.
        words = _words(session, now)
        own: dict[int, MyView | None] = {}
        if pilot_ids:
            shared = for_pilots(session, now)
            own = {pilot_id: own_view(shared, pilot_id) for pilot_id in deeds.between(pilot_ids)}
        return Look(words, live_sessions(session, session_ids, now), frame_in(session), own)


def alarms_word(alarms: Iterable[RunningAlarm]) -> str:
    """Which alarms a page shows, as a word."""
    return ".".join(str(alarm.alarm_id) for alarm in alarms) or "none"


def _words(session: Session, now: datetime) -> LiveWords:
    newest, alarms = keep(session, "words", lambda: _without_minute(session))
    return LiveWords(f"{newest}.{int(now.timestamp()) // 60}", alarms)


def _without_minute(session: Session) -> tuple[str, str]:
    meet = queries.open_meet_kept(session)
    newest = f"{meet.id}.{queries.last_journal_id(session, meet.id)}" if meet else "none"
    return newest, alarms_word(running_alarms(session, meet.id) if meet else ())
