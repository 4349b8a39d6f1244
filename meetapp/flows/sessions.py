"""Sessions: how long they last by role, and how they are ended."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlmodel import col, select

from meetapp.flows.deeds import Work
from meetapp.store import tables as t

_STEPS = 24
"""A session in use is written anew this many times within its idle time, not at every page."""


@dataclass(frozen=True, slots=True)
class Lifetime:
    """How long a session lasts: `idle` after the last page that was asked for, `longest` in all."""

    idle: timedelta
    longest: timedelta

    def end(self, made_at: datetime, now: datetime) -> datetime:
        """When a session made then and used now ends."""
        return min(now + self.idle, made_at + self.longest)

    def is_due(self, expires_at: datetime, made_at: datetime, now: datetime) -> bool:
        """Whether a use now moves the end far enough to be written down."""
        return self.end(made_at, now) - expires_at >= self.idle / _STEPS


# Common practice on the idea, no published source for the figures: a marshal's phone rests over a long lunch, and a
# pilot comes again within two weeks or opens the link once more.
LIFETIMES = {
    "organiser": Lifetime(idle=timedelta(hours=3), longest=timedelta(hours=16)),
    "marshal": Lifetime(idle=timedelta(hours=6), longest=timedelta(hours=16)),
    "pilot": Lifetime(idle=timedelta(days=15), longest=timedelta(days=30)),
}


def end_sessions(work: Work, *which: Any) -> int:
    """End the live sessions for which all these conditions on DeskSession hold; returns how many. Flushes."""
    rows = work.session.exec(select(t.DeskSession).where(col(t.DeskSession.ended_at).is_(None), *which)).all()
    for row in rows:
        row.ended_at = work.now
        work.session.add(row)
    work.session.flush()
    return len(rows)
