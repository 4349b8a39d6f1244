"""How many reports the usual figures would make of everything that was flown: what the rates are learned against."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import cached_property
from itertools import combinations, permutations

from meetapp.review.causes import CauseKind
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import (
    FAR_MHZ,
    PRODUCT_FAR_MHZ,
    away,
    carrier_chance,
    edge_chance,
    is_warned_of,
    lasting,
    product_chance,
)
from meetapp.review.silent import silent_expected
from meetapp.review.wrong_channels import wrong_chance

_LEAST_TOGETHER_S = 60.0
_HIDDEN_SHOWS = 0.5
"""What is hidden lies near nobody, or nobody tells, in about half of the cases."""


class Exposure:
    """How much a meet's flights were exposed to. It remembers what it has worked out; the record never changes."""

    def __init__(self, record: MeetRecord) -> None:
        self._record = record

    @cached_property
    def expected(self) -> dict[CauseKind, list[float]]:
        """Expected reports of what the journal shows, setting by setting, and things hidden that make any."""
        record = self._record
        return {
            "too_close": [self._too_close[False]],
            "product": self._products[False],
            "neighbour": self._neighbours[False],
            "wrong_channel": [_HIDDEN_SHOWS * sum(wrong_chance(airing, record.usual_s) for airing in record.airings)],
            "no_token": [_HIDDEN_SHOWS * silent_expected(record)],
        }

    @cached_property
    def of_overrides(self) -> dict[CauseKind, float]:
        """Expected reports where somebody concerned was handed out in spite of a warning."""
        return {
            "too_close": self._too_close[True],
            "product": sum(self._products[True]),
            "neighbour": sum(self._neighbours[True]),
        }

    @cached_property
    def _neighbours(self) -> dict[bool, list[float]]:
        """By the channel, of overrides apart."""
        found: dict[bool, dict[tuple[int, float], float]] = {False: defaultdict(float), True: defaultdict(float)}
        for airing in self._record.airings:
            chance = REPORT_SHARE * _neighbour(airing, self._record)
            found[airing.is_override][airing.mhz, airing.width_mhz] += chance
        return {override: list(amounts.values()) for override, amounts in found.items()}

    @cached_property
    def _products(self) -> dict[bool, list[float]]:
        """By the channel and those who make it, of overrides apart. Each product counts for itself, however many fall
        on one channel."""
        together = Counter(
            (airing.mhz, airing.is_override, frozenset(self._there(place)))
            for place, airing in enumerate(self._record.airings)
        )
        found: dict[bool, dict[tuple[int, frozenset[int]], float]] = {
            False: defaultdict(float),
            True: defaultdict(float),
        }
        for (mhz, is_override, there), flights in together.items():
            by_override = {other_mhz for other_mhz, other_is_override in there if other_is_override}
            for makers, off, chance in _products_of(mhz, sorted({other_mhz for other_mhz, _override in there})):
                override = is_warned_of("product", off) and (is_override or not by_override.isdisjoint(makers))
                found[override][mhz, makers] += REPORT_SHARE * flights * chance
        return {override: list(amounts.values()) for override, amounts in found.items()}

    def _there(self, place: int) -> Iterator[tuple[int, bool]]:
        for other, seconds in self._record.together[place]:
            if seconds >= _LEAST_TOGETHER_S:
                yield self._record.airings[other].mhz, self._record.airings[other].is_override

    @cached_property
    def _too_close(self) -> dict[bool, float]:
        """Over all flights, of overrides apart."""
        found, airings = {False: 0.0, True: 0.0}, self._record.airings
        for airing, beside in zip(airings, self._record.together, strict=True):
            chances: dict[bool, list[float]] = {False: [], True: []}
            for place, seconds in beside:
                other = airings[place]
                apart = away(other.mhz, other.width_mhz, airing.mhz, airing.width_mhz)
                if apart <= FAR_MHZ:
                    chances[airing.is_override or other.is_override].append(_near(airing, other, apart, seconds))
            for override, those in chances.items():
                found[override] += REPORT_SHARE * _any(those)
        return found


def _near(victim: Airing, other: Airing, apart: float, together_s: float) -> float:
    return carrier_chance(apart, other.power_mw, victim.power_mw) * lasting(together_s)


def _neighbour(airing: Airing, record: MeetRecord) -> float:
    return _any(
        edge_chance(abs(airing.mhz - each.centre_mhz) - (each.width_mhz + airing.width_mhz) / 2)
        for each in record.neighbours
    )


def _products_of(mhz: int, others: Sequence[int]) -> Iterator[tuple[frozenset[int], int, float]]:
    """Who of these make a product near this channel, how far off it is, and its chance."""
    for a, b in permutations(others, 2):
        if abs(off := 2 * a - b - mhz) <= PRODUCT_FAR_MHZ:
            yield frozenset((a, b)), abs(off), product_chance(abs(off))
    for a, b, c in combinations(others, 3):
        whole = a + b + c - mhz
        for less in (a, b, c):
            if abs(off := whole - 2 * less) <= PRODUCT_FAR_MHZ:
                yield frozenset((a, b, c)), abs(off), product_chance(abs(off), 0, 3)


def _any(chances: Iterable[float]) -> float:
    left = 1.0
    for chance in chances:
        left *= 1 - min(chance, 0.99)
    return 1 - left
