"""Who was on air when: a record of settings cut into stretches in which nothing changed, each with its measures."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import Measures, measure


@dataclass(frozen=True, slots=True)
class Aired:
    """One setting of one loan: on air from `since` until `until` (None: still). Times are aware, widths in MHz."""

    loan_id: int
    mhz: int
    width_mhz: float
    since: datetime
    until: datetime | None


@dataclass(frozen=True, slots=True)
class AirStretch:
    """A stretch of time in which the same carriers were on air, ascending by MHz, and what they measured."""

    start: datetime
    end: datetime
    aired: tuple[Aired, ...]
    measures: Measures

    @property
    def lasted(self) -> timedelta:
        """How long it was."""
        return self.end - self.start


def stretches(record: Sequence[Aired], start: datetime, end: datetime) -> tuple[AirStretch, ...]:
    """The time from `start` to `end` cut wherever something came on air, changed or went off.

    Shapes: in order, without gaps, also where nobody was on air; none for an empty span. A setting counts from its
    start up to, not including, its end. Cost: O(changes x settings), and one `measure` for each different set.

    >>> from datetime import UTC
    >>> def at(minute): return datetime(2026, 6, 14, 12, minute, tzinfo=UTC)
    >>> record = [Aired(1, 5658, 20, at(0), at(10)), Aired(2, 5695, 20, at(5), None)]
    >>> [(s.start.minute, [a.mhz for a in s.aired], s.measures.spacing_mhz) for s in stretches(record, at(0), at(20))]
    [(0, [5658], None), (5, [5658, 5695], 37), (10, [5695], None)]
    """
    known: dict[tuple[Carrier, ...], Measures] = {}
    return tuple(_stretch(record, a, b, known) for a, b in pairwise(_cuts(record, start, end)))


def below(measures: Measures, floors: Floors) -> bool:
    """Whether what was on air lay below a floor.

    >>> below(Measures(30, None, None), Floors(37, 10)), below(Measures(37, None, None), Floors(37, 10))
    (True, False)
    """
    if measures.spacing_mhz is not None and measures.spacing_mhz < floors.spacing_mhz:
        return True
    if measures.clearance_mhz is None or floors.clearance_mhz is None:
        return False
    return measures.clearance_mhz < floors.clearance_mhz


def _cuts(record: Sequence[Aired], start: datetime, end: datetime) -> Iterator[datetime]:
    moments = {aired.since for aired in record} | {aired.until for aired in record if aired.until is not None}
    if start < end:
        yield start
        yield from sorted(moment for moment in moments if start < moment < end)
        yield end


def _stretch(
    record: Sequence[Aired], start: datetime, end: datetime, known: dict[tuple[Carrier, ...], Measures]
) -> AirStretch:
    aired = sorted(
        (each for each in record if each.since <= start and (each.until is None or each.until > start)),
        key=lambda each: (each.mhz, each.loan_id),
    )
    carriers = tuple(Carrier(each.mhz, each.width_mhz) for each in aired)
    if carriers not in known:
        known[carriers] = measure(carriers)
    return AirStretch(start, end, tuple(aired), known[carriers])
