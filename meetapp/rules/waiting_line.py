"""The waiting line as a value: who stands where, who is skipped once, how long the head has waited.

Order: by arrival; a pilot who joined at the same instant as another stands behind the lower entry id.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta


@dataclass(frozen=True, slots=True)
class Stand:
    """One pilot's place in the line. `is_skipped`: not ready, passed once, the place kept."""

    entry_id: int
    pilot_id: int
    joined_at: datetime
    head_since: datetime | None = None
    is_skipped: bool = False


@dataclass(frozen=True, slots=True)
class Stretch:
    """A pause from `start` until `end` (None: still running)."""

    start: datetime
    end: datetime | None


def in_order(stands: Iterable[Stand]) -> tuple[Stand, ...]:
    """The line in order of arrival.

    >>> in_order([])
    ()
    """
    return tuple(sorted(stands, key=lambda stand: (stand.joined_at, stand.entry_id)))


def ready(line: Sequence[Stand]) -> tuple[Stand, ...]:
    """Those who are asked next, in order: the skipped ones come in again only when nobody else is left.

    >>> ready(())
    ()
    """
    waiting = tuple(stand for stand in line if not stand.is_skipped)
    return waiting or tuple(line)


def with_head(line: Sequence[Stand], now: datetime) -> tuple[Stand, ...]:
    """The same line with `head_since` set for the ready head and cleared for everybody else.

    A head that stays head keeps its time.

    >>> with_head((), datetime.min)
    ()
    """
    head = next(iter(ready(line)), None)
    return tuple(
        replace(stand, head_since=(stand.head_since or now) if stand is head else None) for stand in line
    )


def place_of(line: Sequence[Stand], pilot_id: int) -> int | None:
    """Which place a pilot has in the line, counted from 1; None where they don't stand in it.

    >>> place_of((), 1) is None
    True
    """
    return next((place for place, stand in enumerate(line, start=1) if stand.pilot_id == pilot_id), None)


def without(line: Sequence[Stand], pilot_id: int) -> tuple[Stand, ...]:
    """The line after a pilot left it without a token.

    >>> without((), 1)
    ()
    """
    return tuple(stand for stand in line if stand.pilot_id != pilot_id)


def with_skip(line: Sequence[Stand], pilot_id: int, is_skipped: bool) -> tuple[Stand, ...]:
    """The line after a pilot said that they are not ready (or ready again); the place is kept.

    >>> with_skip((), 1, True)
    ()
    """
    return tuple(replace(stand, is_skipped=is_skipped) if stand.pilot_id == pilot_id else stand for stand in line)


def after_service(line: Sequence[Stand], pilot_id: int) -> tuple[Stand, ...]:
    """The line after a pilot got a token: they are gone from it, and whoever was skipped has been passed once.

    A pilot who didn't stand in it changes nothing: nobody's turn went by.

    >>> at = datetime(2026, 1, 1)
    >>> line = Stand(1, 7, at, is_skipped=True), Stand(2, 8, at)
    >>> after_service(line, 8)[0].is_skipped, after_service(line, 9)[0].is_skipped
    (False, True)
    """
    if place_of(line, pilot_id) is None:
        return tuple(line)
    return tuple(replace(stand, is_skipped=False) for stand in without(line, pilot_id))


def waited(since: datetime, now: datetime, pauses: Iterable[Stretch]) -> timedelta:
    """How long somebody has waited since `since`, the pauses taken out (overlapping pauses count once).

    >>> t = datetime(2026, 1, 1, 12)
    >>> waited(t, t + timedelta(minutes=30), [Stretch(t + timedelta(minutes=10), t + timedelta(minutes=20))])
    datetime.timedelta(seconds=1200)
    """
    total = max(now - since, timedelta(0))
    reached = since
    for pause in sorted(pauses, key=lambda stretch: stretch.start):
        start = max(pause.start, reached)
        end = min(pause.end or now, now)
        if end > start:
            total -= end - start
            reached = end
    return total


def overdue_head(
    line: Sequence[Stand], now: datetime, pauses: Sequence[Stretch], limit: timedelta
) -> Stand | None:
    """The head of the line, if they have stood there for longer than the limit, the pauses taken out.

    >>> at = datetime(2026, 1, 1, 12)
    >>> line = [Stand(1, 7, at, head_since=at)]
    >>> overdue_head(line, at + timedelta(minutes=20), [], timedelta(minutes=20)) is None
    True
    >>> overdue_head(line, at + timedelta(minutes=21), [], timedelta(minutes=20)).pilot_id
    7
    """
    head = next(iter(ready(line)), None)
    if head is None or head.head_since is None:
        return None
    return head if waited(head.head_since, now, pauses) > limit else None
