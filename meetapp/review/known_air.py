"""What the journal itself shows beside a victim: loans too close, products of others, neighbours, and the usual rest.

What each would do by the figures of `reach` is worked out once; how often such things come here is learned (`rates`).
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache
from math import log10
from typing import NamedTuple

from meetapp.review.case import Case
from meetapp.review.causes import OWN_RECEIVER, UNKNOWN, Cause
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.flights import Flights
from meetapp.review.rates import REPORT_SHARE, Rates, Setting
from meetapp.review.reach import (
    FAR_MHZ,
    PRODUCT_FAR_MHZ,
    USUAL_MW,
    away,
    carrier_chance,
    edge_chance,
    is_warned_of,
    lasting,
    product_chance,
)
from meetapp.review.symptoms import beside
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_OWN_SHARE = 0.74
"""Of the pictures that break for no cause outside, how many do so for the pilot's own reasons. From experience, no
source, as are the next ones."""

_FAINTEST = 0.001

Weights = dict[Cause, float]


class Shown(NamedTuple):
    """Something the journal shows beside a victim. `weight`: by the usual figures; `setting`: where else it would show;
    `expected`: how many other reports the usual figures expect of all flights in this setting. `is_override`: somebody
    in it was handed out in spite of a warning."""

    cause: Cause
    weight: float
    setting: Setting
    expected: float
    is_override: bool


def shown_causes(record: MeetRecord, flights: Flights, case: Case) -> tuple[Shown, ...]:
    """Everything the journal shows that may have disturbed this report; no rate is in it yet."""
    everything = (
        *_too_close(record, flights, case),
        *_products(record, flights, case),
        *_neighbours(record, flights, case),
    )
    found: dict[Cause, Shown] = {}
    for each in everything:
        if each.weight > 0 and (each.cause not in found or each.weight > found[each.cause].weight):
            found[each.cause] = each
    return tuple(found.values())


class _Alike(NamedTuple):
    """Products beside one victim that are learned from alike. `cause`: one that stands for all of them; `each`:
    their weights and how many reports are expected."""

    cause: Cause
    is_override: bool
    each: Sequence[tuple[float, float]]


class KnownAir:
    """What the journal shows beside every victim. `is_override`: whether somebody whom a cause of a report concerns was
    handed out in spite of a warning."""

    def __init__(
        self, record: MeetRecord, flights: Flights, known: Iterable[Case], is_override: Callable[[int, Cause], bool]
    ) -> None:
        self._shown = [(case, shown_causes(record, flights, case)) for case in known]
        self._few = [
            (case, [each for each in shown if each.cause.kind != "product"], _alike(case, shown, is_override))
            for case, shown in self._shown
        ]

    def weights(self, rates: Rates) -> dict[int, Weights]:
        """What needs nothing hidden, by report: of one that may be about several loans, all of it."""
        return _by_report((case, known_causes(case, shown, rates)) for case, shown in self._shown)

    def gathered(self, rates: Rates) -> dict[int, Weights]:
        """The same for whoever only learns rates: all products that are alike in that as one."""
        return _by_report((case, known_causes(case, few, rates, alike)) for case, few, alike in self._few)


def _by_report(weighed: Iterable[tuple[Case, Weights]]) -> dict[int, Weights]:
    found: dict[int, Weights] = {}
    for case, weights in weighed:
        so_far = found.setdefault(case.number, weights)
        if so_far is not weights:
            for cause, weight in weights.items():
                so_far[cause] = so_far.get(cause, 0.0) + weight
    return found


def _alike(case: Case, shown: Sequence[Shown], is_override: Callable[[int, Cause], bool]) -> Sequence[_Alike]:
    gathered: dict[tuple[bool, bool], list[Shown]] = defaultdict(list)
    for each in shown:
        if each.cause.kind == "product":
            gathered[each.is_override, is_override(case.number, each.cause)].append(each)
    return [
        _Alike(those[0].cause, over, [(each.weight, each.expected) for each in those])
        for (over, _told_of), those in gathered.items()
    ]


def known_causes(case: Case, shown: Iterable[Shown], rates: Rates, alike: Iterable[_Alike] = ()) -> Weights:
    """The weight of each cause that needs nothing hidden: chance in a flight, times how well time and look fit."""
    often = rates.by_itself(case.number)
    found: Weights = {
        OWN_RECEIVER: often * rates.again[case.number] * _OWN_SHARE * case.told("own"),
        UNKNOWN: often * (1 - _OWN_SHARE) * case.told("unknown"),
    }
    least = _FAINTEST * sum(found.values())
    for each in shown:
        weight = each.weight * rates.of_shown(case.number, each.setting, each.expected, is_override=each.is_override)
        if weight > least:
            found[each.cause] = weight
    for products in alike:
        rate_of = rates.of_products(case.number, is_override=products.is_override)
        weights = [weight * rate_of(expected) for weight, expected in products.each]
        found[products.cause] = sum([weight for weight in weights if weight > least])
    return found


def _too_close(record: MeetRecord, flights: Flights, case: Case) -> Iterator[Shown]:
    victim = case.victim
    for place in case.beside:
        other = record.airings[place]
        apart = away(other.mhz, other.width_mhz, victim.mhz, victim.width_mhz)
        if apart > FAR_MHZ:
            continue
        chance = carrier_chance(apart, other.power_mw, victim.power_mw)
        start, end = case.overlap(other)
        is_digital = other.kind is not None and other.kind.is_digital
        fits = case.told(beside(apart, is_digital=is_digital)) * case.moment.lift(start, end)
        cause = Cause("too_close", other.mhz, (other.loan,), apart)
        yield _shown(flights, case, cause, chance, lasting(end - start) * fits, (other,))


def _products(record: MeetRecord, flights: Flights, case: Case) -> Iterator[Shown]:
    fits, victim_db = case.told("noise"), _db(case.victim)
    lifts: dict[tuple[float, float], float] = {}  # many products last from the same hand-out to the same take-back
    for made in _made([_Maker.of(record.airings[place], case) for place in case.beside], case.victim):
        apart = made.away(case.victim)
        if apart > PRODUCT_FAR_MHZ:
            continue
        start, end = max([each.start_s for each in made.makers]), min([each.end_s for each in made.makers])
        if (start, end) not in lifts:
            lifts[start, end] = lasting(end - start) * case.moment.lift(start, end)
        chance = product_chance(apart, made.db - 3 * victim_db, len(made.makers))
        makers = [each.airing for each in made.makers]
        cause = Cause("product", made.mhz, tuple(sorted([maker.loan for maker in makers])), max(apart, 0))
        yield _shown(flights, case, cause, chance, fits * lifts[start, end], makers)


def _shown(flights: Flights, case: Case, cause: Cause, chance: float, fits: float, others: Sequence[Airing]) -> Shown:
    others_mhz = frozenset([other.mhz for other in others])
    quiet, told_too = flights.beside(case.victim.mhz, others_mhz, case.victim.loan)
    setting = (cause.kind, case.victim.mhz, others_mhz)
    is_override = case.victim.is_override or True in [each.is_override for each in others]
    is_override = is_override and is_warned_of(cause.kind, cause.away_mhz or 0)
    return Shown(cause, chance * fits, setting, REPORT_SHARE * chance * (quiet + told_too), is_override)


class _Maker(NamedTuple):
    """Somebody beside a victim: when both were on air at a time that the report may mean, and how strong."""

    airing: Airing
    start_s: float
    end_s: float
    db: float

    @classmethod
    def of(cls, airing: Airing, case: Case) -> "_Maker":
        return cls(airing, *case.overlap(airing), _db(airing))

    def meets(self, other: "_Maker") -> bool:
        """Whether both were on air at once."""
        apart = self.start_s >= other.end_s or other.start_s >= self.end_s
        return not apart and self.airing.loan != other.airing.loan


class _Made(NamedTuple):
    """A product of those who were on air at once; `width_mhz`, `db`: its makers' together, as often as each enters."""

    mhz: int
    width_mhz: float
    db: float
    makers: tuple[_Maker, ...]

    def away(self, victim: Airing) -> float:
        """As far as `spectrum.products` counts it: a product is as wide as its makers together."""
        wider = (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2 + (self.width_mhz - 3 * REFERENCE_WIDTH_MHZ) / 2
        return abs(self.mhz - victim.mhz) - wider


def _made(makers: Sequence[_Maker], victim: Airing) -> Iterator[_Made]:
    """2a - b and a + b - c of all who were on air at once, where they may fall near enough."""
    widest = max((each.airing.width_mhz for each in makers), default=0.0)
    reach = PRODUCT_FAR_MHZ + (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2 + 1.5 * (widest - REFERENCE_WIDTH_MHZ)
    low, high = victim.mhz - reach, victim.mhz + reach
    left = list(makers)
    while left:
        a = left.pop()
        beside = [each for each in left if each.meets(a)]
        while beside:
            b = beside.pop()
            for one, less in ((a, b), (b, a)):
                if low <= 2 * one.airing.mhz - less.airing.mhz <= high:
                    yield _product(one, one, less)
            for c in beside:
                if not c.meets(b):
                    continue
                whole = a.airing.mhz + b.airing.mhz + c.airing.mhz
                for one, two, less in ((a, b, c), (a, c, b), (b, c, a)):
                    if low <= whole - 2 * less.airing.mhz <= high:
                        yield _product(one, two, less)


def _product(a: _Maker, b: _Maker, less: _Maker) -> _Made:
    """Of a + b - less; of 2a - less where both are the same."""
    mhz = a.airing.mhz + b.airing.mhz - less.airing.mhz
    width = a.airing.width_mhz + b.airing.width_mhz + less.airing.width_mhz
    return _Made(mhz, width, a.db + b.db + less.db, (a, less) if a is b else (a, b, less))


def _neighbours(record: MeetRecord, flights: Flights, case: Case) -> Iterator[Shown]:
    victim = case.victim
    for each in record.neighbours:
        beyond = abs(victim.mhz - each.centre_mhz) - (each.width_mhz + victim.width_mhz) / 2
        if beyond <= FAR_MHZ:
            cause = Cause("neighbour", nearest_edge_mhz(each, victim.mhz), (), beyond)
            yield _shown(flights, case, cause, edge_chance(beyond), case.told("noise"), ())


def nearest_edge_mhz(neighbour: Neighbour, mhz: int) -> int:
    """The edge of a foreign signal on this side of a channel; the channel itself where it lies inside.

    >>> nearest_edge_mhz(Neighbour("Wi-Fi", 5775, 80), 5840), nearest_edge_mhz(Neighbour("Wi-Fi", 5775, 80), 5780)
    (5815, 5780)
    """
    low, high = neighbour.edges_mhz
    return round(min(max(mhz, low), high))


def _db(airing: Airing) -> float:
    return _above_usual_db(airing.power_mw or USUAL_MW)


@lru_cache
def _above_usual_db(power_mw: float) -> float:
    return 10 * log10(power_mw / USUAL_MW)
