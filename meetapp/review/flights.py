"""A meet's own flights as experience: how often somebody flew beside the same others, and how often that was told."""

from collections import defaultdict
from functools import cached_property

from meetapp.review.evidence import MeetRecord, together_s
from meetapp.review.reach import lasting


class Flights:
    """The flights of one meet by channel. It remembers what it has counted; the record never changes."""

    def __init__(self, record: MeetRecord) -> None:
        self._record = record
        self._known: dict[tuple[int, frozenset[int]], tuple[float, dict[int, float]]] = {}

    @cached_property
    def _by_mhz(self) -> dict[int, list[int]]:
        found: dict[int, list[int]] = defaultdict(list)
        for place, airing in enumerate(self._record.airings):
            found[airing.mhz].append(place)
        return found

    @cached_property
    def _together(self) -> list[dict[int, float]]:
        """For each airing, how much of a flight it was on air together with each frequency at most."""
        found: list[dict[int, float]] = []
        for place, airing in enumerate(self._record.airings):
            longest: dict[int, float] = {}
            for other_place in self._record.alongside[place]:
                other = self._record.airings[other_place]
                longest[other.mhz] = max(longest.get(other.mhz, 0.0), together_s(airing, other))
            found.append({mhz: lasting(seconds) for mhz, seconds in longest.items()})
        return found

    def beside(self, mhz: int, others_mhz: frozenset[int], but_loan: int) -> tuple[float, float]:
        """How many flights on this channel were beside all these others at once: without a report, and with one.

        A short time together counts in part. `but_loan` is left out. Cost: once for each question, O(flights).
        """
        key = (mhz, others_mhz)
        if key not in self._known:
            self._known[key] = self._count(mhz, others_mhz)
        quiet, reported = self._known[key]
        return quiet, sum(reported.values()) - reported.get(but_loan, 0.0)

    def _count(self, mhz: int, others_mhz: frozenset[int]) -> tuple[float, dict[int, float]]:
        quiet, reported = 0.0, dict[int, float]()
        for place in self._by_mhz[mhz]:
            airing = self._record.airings[place]
            together = self._together[place]
            if not others_mhz <= together.keys():
                share = 0.0
            elif others_mhz:
                share = min([together[other] for other in others_mhz])
            else:
                share = lasting(airing.until_s - airing.since_s)
            if airing.loan in self._record.reported_loans:
                reported[airing.loan] = max(reported.get(airing.loan, 0.0), share)
            else:
                quiet += share
        return quiet, reported
