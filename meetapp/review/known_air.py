"""What the journal itself shows beside a victim: loans too close, products of others, neighbours, and the usual rest.

What each would do by the figures of `reach` is worked out once; how often such things come here is learned (`rates`).
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import log10

from meetapp.review.case import Case
from meetapp.review.causes import OWN_RECEIVER, UNKNOWN, Cause
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.flights import Flights
from meetapp.review.rates import REPORT_SHARE, Rates, Setting
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
from meetapp.review.symptoms import beside
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_OWN_SHARE = 0.74
"""Of the pictures that break for no cause outside, how many do so for the pilot's own reasons. From experience, no
source, as are the next ones."""

_USUAL_MW = 25.0
_FAINTEST = 0.001

Weights = dict[Cause, float]


@dataclass(frozen=True, slots=True)
class Shown:
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
    return tuple(each for each in everything if each.weight > 0)


def known_causes(case: Case, shown: Iterable[Shown], rates: Rates) -> Weights:
    """The weight of each cause that needs nothing hidden: chance in a flight, times how well time and look fit."""
    often = rates.by_itself[case.number]
    found: Weights = {
        OWN_RECEIVER: often * _OWN_SHARE * case.told("own"),
        UNKNOWN: often * (1 - _OWN_SHARE) * case.told("unknown"),
    }
    least = _FAINTEST * sum(found.values())
    for each in shown:
        weight = each.weight * rates.of_shown(case.number, each.setting, each.expected, is_override=each.is_override)
        if weight > least:
            found[each.cause] = max(found.get(each.cause, 0), weight)
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
    airings = [record.airings[place] for place in case.beside]
    fits = case.told("noise")
    lifts: dict[tuple[float, float], float] = {}  # many products last from the same hand-out to the same take-back
    for makers, signs in _makers(airings, case.victim):
        mhz = sum(sign * maker.mhz for maker, sign in zip(makers, signs, strict=True))
        apart = _product_away(mhz, makers, signs, case.victim)
        if apart > PRODUCT_FAR_MHZ:
            continue
        start, end = case.overlap(*makers)
        if end <= start:
            continue
        if (start, end) not in lifts:
            lifts[start, end] = lasting(end - start) * case.moment.lift(start, end)
        over = sum(abs(sign) * _db(maker) for maker, sign in zip(makers, signs, strict=True)) - 3 * _db(case.victim)
        chance = product_chance(apart, over, len(makers))
        cause = Cause("product", mhz, tuple(sorted(maker.loan for maker in makers)), max(apart, 0))
        yield _shown(flights, case, cause, chance, fits * lifts[start, end], makers)


def _shown(
    flights: Flights, case: Case, cause: Cause, chance: float, fits: float, others: Sequence[Airing]
) -> Shown:
    others_mhz = frozenset(other.mhz for other in others)
    quiet, told_too = flights.beside(case.victim.mhz, others_mhz, case.victim.loan)
    setting = (cause.kind, case.victim.mhz, others_mhz)
    is_override = any(each.is_override for each in (case.victim, *others))
    is_override = is_override and is_warned_of(cause.kind, cause.away_mhz or 0)
    return Shown(cause, chance * fits, setting, REPORT_SHARE * chance * (quiet + told_too), is_override)


def _makers(
    airings: Sequence[Airing], victim: Airing
) -> Iterator[tuple[tuple[Airing, ...], tuple[int, ...]]]:
    """2a - b and a + b - c for all who were on air, with their signs, where they may fall near enough."""
    widest = max((each.width_mhz for each in airings), default=0.0)
    reach = PRODUCT_FAR_MHZ + (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2 + 1.5 * (widest - REFERENCE_WIDTH_MHZ)
    low, high = victim.mhz - reach, victim.mhz + reach
    for a, b in combinations(airings, 2):
        if a.loan != b.loan:
            if low <= 2 * a.mhz - b.mhz <= high:
                yield (a, b), (2, -1)
            if low <= 2 * b.mhz - a.mhz <= high:
                yield (b, a), (2, -1)
    for a, b, c in combinations(airings, 3):
        whole = a.mhz + b.mhz + c.mhz
        for one, two, less in ((a, b, c), (a, c, b), (b, c, a)):
            if low <= whole - 2 * less.mhz <= high and len({a.loan, b.loan, c.loan}) == 3:
                yield (one, two, less), (1, 1, -1)


def _product_away(mhz: int, makers: Sequence[Airing], signs: Sequence[int], victim: Airing) -> float:
    """As far as `spectrum.products` counts it: a product is as wide as its makers together."""
    width = sum(abs(sign) * maker.width_mhz for maker, sign in zip(makers, signs, strict=True))
    wider = (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2 + (width - 3 * REFERENCE_WIDTH_MHZ) / 2
    return abs(mhz - victim.mhz) - wider


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
    return _above_usual_db(airing.power_mw or _USUAL_MW)


@lru_cache
def _above_usual_db(power_mw: float) -> float:
    return 10 * log10(power_mw / _USUAL_MW)
