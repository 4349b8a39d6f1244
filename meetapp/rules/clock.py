"""Times of day as people write them, on a given day in a given zone."""

import re
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

_WRITTEN = re.compile(r"(\d{1,2})\s*[:.h]?\s*(\d{2})")


class BadTime(ValueError):
    """A written time that can't be meant; its text is a plain sentence."""


def time_on_day(text: str, day: date, zone: ZoneInfo) -> datetime:
    """The moment (UTC) that a written time of day means: '14:32', '14.32', '9:05' or '1432'.

    An hour that comes twice (the clocks go back) means the first one.

    Raises:
        BadTime: no time of day, or one that the clocks skip on that day.

    >>> time_on_day("14:32", date(2026, 6, 14), ZoneInfo("Europe/Berlin")).isoformat()
    '2026-06-14T12:32:00+00:00'
    >>> time_on_day("2:30", date(2026, 3, 29), ZoneInfo("Europe/Berlin"))
    Traceback (most recent call last):
    ...
    meetapp.rules.clock.BadTime: There was no '2:30' on that day: the clocks went forward.
    """
    written = _WRITTEN.fullmatch(text.strip().lower())
    if written is None or int(written[1]) > 23 or int(written[2]) > 59:
        raise BadTime(f"'{text.strip()}' is no time of day. Write it like 14:32.")
    local = datetime.combine(day, time(int(written[1]), int(written[2])), zone)
    in_utc = local.astimezone(UTC)
    if in_utc.astimezone(zone).replace(tzinfo=None) != local.replace(tzinfo=None):
        raise BadTime(f"There was no '{text.strip()}' on that day: the clocks went forward.")
    return in_utc
