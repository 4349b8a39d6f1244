"""How many reports the usual figures would make of everything that was flown: what the rates are learned against."""

from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import combinations, permutations

from meetapp.review.causes import CauseKind
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import FAR_MHZ, away, carrier_chance, edge_chance, lasting, product_chance
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
    def expected(self) -> dict[CauseKind, float]:
        """Expected reports of what the journal shows, and things hidden that make any."""
        record = self._record
        return {
            "too_close": sum(self._too_close(place) for place in range(len(record.airings))),
            "product": self._products,
            "neighbour": sum(REPORT_SHARE * _neighbour(airing, record) for airing in record.airings),
            "wrong_channel": _HIDDEN_SHOWS * sum(wrong_chance(airing) for airing in record.airings),
            "no_token": _HIDDEN_SHOWS * silent_expected(record),
        }

    @cached_property
    def _products(self) -> float:
        """Each product counts for itself, however many fall on one channel: a rate far below 1 scales them all."""
        known: dict[tuple[int, frozenset[int]], float] = {}
        total = 0.0
        for place, airing in enumerate(self._record.airings):
            there = frozenset(
                other.mhz
                for other in map(self._record.airings.__getitem__, self._record.alongside[place])
                if _together(airing, other) >= _LEAST_TOGETHER_S
            )
            if (airing.mhz, there) not in known:
                known[airing.mhz, there] = _product(airing.mhz, sorted(there))
            total += REPORT_SHARE * known[airing.mhz, there]
        return total

    def _too_close(self, place: int) -> float:
        airing = self._record.airings[place]
        others = map(self._record.airings.__getitem__, self._record.alongside[place])
        return REPORT_SHARE * _any(_near(airing, other, _together(airing, other)) for other in others)


def _together(one: Airing, other: Airing) -> float:
    return min(one.until_s, other.until_s) - max(one.since_s, other.since_s)


def _near(victim: Airing, other: Airing, together: float) -> float:
    apart = away(other.mhz, other.width_mhz, victim.mhz, victim.width_mhz)
    if apart > FAR_MHZ:
        return 0.0
    return carrier_chance(apart, other.power_mw, victim.power_mw) * lasting(together)


def _neighbour(airing: Airing, record: MeetRecord) -> float:
    return _any(
        edge_chance(abs(airing.mhz - each.centre_mhz) - (each.width_mhz + airing.width_mhz) / 2)
        for each in record.neighbours
    )


def _product(mhz: int, others: Sequence[int]) -> float:
    """The chances of all products of these on this channel, summed."""
    two = (product_chance(abs(2 * a - b - mhz)) for a, b in permutations(others, 2))
    three = (
        product_chance(abs(sign_a * a + sign_b * b + sign_c * c - mhz), 0, 3)
        for a, b, c in combinations(others, 3)
        for sign_a, sign_b, sign_c in ((1, 1, -1), (1, -1, 1), (-1, 1, 1))
    )
    return sum(two) + sum(three)


def _any(chances: Iterable[float]) -> float:
    left = 1.0
    for chance in chances:
        left *= 1 - min(chance, 0.99)
    return 1 - left
