"""Whether a live page has anything new to show, found without working the page out."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.access import live_sessions
from meetapp.flows.frame import RunningAlarm, running_alarms
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
    """One look into the database for everybody who looks on: the words, and which sessions are still good."""

    words: LiveWords
    sessions: frozenset[int]


def live_version(store: Store, now: datetime) -> str:
    """The word for what the open meet's pages show now."""
    with store.read() as session:
        return _words(session, now).meet


def look(store: Store, now: datetime, session_ids: Collection[int]) -> Look:
    """The words of now, and which of these sessions haven't ended."""
    with store.read() as session:
        return Look(_words(session, now), live_sessions(session, session_ids, now))


def alarms_word(alarms: Iterable[RunningAlarm]) -> str:
    """Which alarms a page shows, as a word."""
    return ".".join(str(alarm.alarm_id) for alarm in alarms) or "none"


def _words(session: Session, now: datetime) -> LiveWords:
    newest, alarms = keep(session, "words", lambda: _without_minute(session))
    return LiveWords(f"{newest}.{int(now.timestamp()) // 60}", alarms)


def _without_minute(session: Session) -> tuple[str, str]:
    meet = queries.open_meet(session)
    newest = f"{meet.id}.{queries.last_journal_id(session, meet.id)}" if meet else "none"
    return newest, alarms_word(running_alarms(session, meet.id) if meet else ())
