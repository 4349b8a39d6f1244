"""How figures and times read on a page."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo


def clock_time(when: datetime | None, zone: ZoneInfo) -> str:
    """A time of day in the site's zone, such as '14:32'."""
    return when.astimezone(zone).strftime("%H:%M") if when else "–"


def day_and_time(when: datetime | None, zone: ZoneInfo) -> str:
    """A day and time in the site's zone, such as '2026-06-14 14:32'."""
    return when.astimezone(zone).strftime("%Y-%m-%d %H:%M") if when else "–"


def number(value: float | None) -> str:
    """A figure without needless decimals; 'none' where there is nothing to measure."""
    return "none" if value is None else f"{value:g}"


def mhz(value: float | None) -> str:
    """A figure in MHz; 'none' where there is nothing to measure."""
    return "none" if value is None else f"{value:g} MHz"


def minutes(span: timedelta) -> str:
    """Whole minutes, such as '34 min'."""
    return f"{int(span.total_seconds() // 60)} min"
