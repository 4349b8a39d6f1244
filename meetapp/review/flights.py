"""A meet's own flights as experience: how often somebody flew beside the same others, and how often that was told."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from meetapp.review.evidence import MeetRecord
from meetapp.review.reach import lasting


@dataclass(frozen=True, slots=True)
class _Channel:
    """The flights on one channel: first those without a report, then those of `reported`, loan by loan. `lasted`: how
    much of a flight each was; `beside`: how much of it each was on air together with each frequency at most."""

    reported: Sequence[int]
    lasted: Sequence[float]
    beside: Mapping[int, Sequence[float]]

    def shares(self, others_mhz: frozenset[int]) -> Sequence[float]:
        """How much of each flight was beside all these others at once."""
        if not others_mhz:
            return self.lasted
        if not others_mhz <= self.beside.keys():
            return [0.0] * len(self.lasted)
        columns = [self.beside[mhz] for mhz in others_mhz]
        return columns[0] if len(columns) == 1 else list(map(min, *columns))


class Flights:
    """The flights of one meet by channel. It remembers what it has counted; the record never changes."""

    def __init__(self, record: MeetRecord) -> None:
        self._record = record
        self._channels: dict[int, _Channel] = {}
        self._known: dict[tuple[int, frozenset[int]], tuple[float, float, dict[int, float]]] = {}

    @cached_property
    def _by_mhz(self) -> dict[int, list[int]]:
        """The places of the airings on each channel, those without a report first."""
        reported = self._record.reported_loans
        found: dict[int, list[int]] = defaultdict(list)
        for is_reported in (False, True):
            for place, airing in enumerate(self._record.airings):
                if (airing.loan in reported) == is_reported:
                    found[airing.mhz].append(place)
        return found

    def beside(self, mhz: int, others_mhz: frozenset[int], but_loan: int) -> tuple[float, float]:
        """How many flights on this channel were beside all these others at once: without a report, and with one.

        A short time together counts in part. `but_loan` is left out. Cost: once for each question, O(flights).
        """
        key = (mhz, others_mhz)
        if key not in self._known:
            self._known[key] = self._count(mhz, others_mhz)
        quiet, told, reported = self._known[key]
        return quiet, told - reported.get(but_loan, 0.0)

    def _count(self, mhz: int, others_mhz: frozenset[int]) -> tuple[float, float, dict[int, float]]:
        if mhz not in self._channels:
            self._channels[mhz] = self._channel(self._by_mhz[mhz])
        channel = self._channels[mhz]
        shares = channel.shares(others_mhz)
        quiet = len(shares) - len(channel.reported)
        reported: dict[int, float] = {}
        for loan, share in zip(channel.reported, shares[quiet:], strict=True):
            reported[loan] = max(reported.get(loan, 0.0), share)
        return sum(shares[:quiet]), sum(reported.values()), reported

    def _channel(self, places: Sequence[int]) -> _Channel:
        airings = self._record.airings
        beside: dict[int, list[float]] = {}
        for number, place in enumerate(places):
            for other, seconds in self._record.together[place]:
                if (column := beside.get(airings[other].mhz)) is None:
                    column = beside[airings[other].mhz] = [0.0] * len(places)
                if seconds > column[number]:
                    column[number] = seconds
        return _Channel(
            [airings[place].loan for place in places if airings[place].loan in self._record.reported_loans],
            [lasting(airings[place].until_s - airings[place].since_s) for place in places],
            {mhz: [lasting(seconds) if seconds else 0.0 for seconds in column] for mhz, column in beside.items()},
        )
