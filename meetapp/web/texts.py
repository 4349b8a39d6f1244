"""How figures and times read on a page."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from meetapp.spectrum.air import FallenProduct
from meetapp.spectrum.carriers import Neighbour


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


def edges(span: tuple[float, float]) -> str:
    """From where to where, such as '5648 to 5668'."""
    return f"{span[0]:g} to {span[1]:g}"


def fallen(products: Iterable[FallenProduct]) -> str:
    """Where products fall, each with its distance to the nearest carrier in brackets where there is one."""
    texts = [
        f"{each.mhz}" if each.distance_mhz is None else f"{each.mhz} ({each.distance_mhz:g})" for each in products
    ]
    return ", ".join(texts) or "none here"


def neighbours(each: Iterable[Neighbour]) -> str:
    """Neighbours with their edges."""
    return "; ".join(f"{neighbour.label}: {edges(neighbour.edges_mhz)}" for neighbour in each)
