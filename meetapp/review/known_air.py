"""What the journal itself shows beside a victim: loans too close, products of others, neighbours, and the usual rest.

A cause that was there all day while most flights beside it went without a report is a weaker one: its chance is learned
from the meet's own flights, starting from the figures of `reach` (a Gamma prior, so with a wide margin).
"""

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import log10

from meetapp.review.case import Case
from meetapp.review.causes import OWN_RECEIVER, UNKNOWN, Cause
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.flights import Flights
from meetapp.review.rates import REPORT_SHARE, Rates
from meetapp.review.reach import FAR_MHZ, away, carrier_chance, edge_chance, lasting, product_chance
from meetapp.review.symptoms import beside
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_OWN_SHARE = 0.68
"""Of the pictures that break for no cause outside, how many do so for the pilot's own reasons. From experience, no
source, as are the next ones."""

_PRIOR_FLIGHTS = 0.7
_REPORT_COUNTS = 0.6
_PRODUCT_FAR_MHZ = 25
_USUAL_MW = 25.0
_FAINTEST = 0.001

Weights = dict[Cause, float]


def known_causes(record: MeetRecord, flights: Flights, case: Case, rates: Rates) -> Weights:
    """The weight of each cause that needs nothing hidden: chance in a flight, times how well time and look fit."""
    often = rates.by_itself[case.number]
    found: Weights = {
        OWN_RECEIVER: often * _OWN_SHARE * case.told("own"),
        UNKNOWN: often * (1 - _OWN_SHARE) * case.told("unknown"),
    }
    everything = (
        *_too_close(record, flights, case, rates),
        *_products(record, flights, case, rates),
        *_neighbours(record, flights, case, rates),
    )
    least = _FAINTEST * sum(found.values())
    for cause, weight in everything:
        if weight > least:
            found[cause] = max(found.get(cause, 0), weight)
    return found


def _too_close(record: MeetRecord, flights: Flights, case: Case, rates: Rates) -> Iterator[tuple[Cause, float]]:
    victim = case.victim
    for place in case.beside:
        other = record.airings[place]
        apart = away(other.mhz, other.width_mhz, victim.mhz, victim.width_mhz)
        if apart > FAR_MHZ:
            continue
        chance = carrier_chance(apart, other.power_mw, victim.power_mw)
        chance *= rates.on_record[case.number]["too_close"]
        chance = _learned(flights, case, rates, chance, frozenset((other.mhz,)))
        start, end = case.overlap(other)
        is_digital = other.kind is not None and other.kind.is_digital
        fits = case.told(beside(apart, is_digital=is_digital)) * case.moment.lift(start, end)
        yield Cause("too_close", other.mhz, (other.loan,), apart), chance * lasting(end - start) * fits


def _products(record: MeetRecord, flights: Flights, case: Case, rates: Rates) -> Iterator[tuple[Cause, float]]:
    airings = [record.airings[place] for place in case.beside]
    fits = case.told("noise")
    for makers, signs in _makers(airings):
        mhz = sum(sign * maker.mhz for maker, sign in zip(makers, signs, strict=True))
        apart = _product_away(mhz, makers, signs, case.victim)
        if apart > _PRODUCT_FAR_MHZ:
            continue
        start, end = case.overlap(*makers)
        if end - start <= 0:
            continue
        over = sum(abs(sign) * _db(maker) for maker, sign in zip(makers, signs, strict=True)) - 3 * _db(case.victim)
        chance = product_chance(apart, over, len(makers)) * rates.on_record[case.number]["product"]
        chance = _learned(flights, case, rates, chance, frozenset(maker.mhz for maker in makers))
        cause = Cause("product", mhz, tuple(sorted(maker.loan for maker in makers)), max(apart, 0))
        yield cause, chance * lasting(end - start) * fits * case.moment.lift(start, end)


def _makers(airings: Sequence[Airing]) -> Iterator[tuple[tuple[Airing, ...], tuple[int, ...]]]:
    """2a - b and a + b - c for all who were on air, with their signs."""
    for a, b in combinations(airings, 2):
        if a.loan != b.loan:
            yield (a, b), (2, -1)
            yield (b, a), (2, -1)
    for a, b, c in combinations(airings, 3):
        if len({a.loan, b.loan, c.loan}) == 3:
            yield (a, b, c), (1, 1, -1)
            yield (a, c, b), (1, 1, -1)
            yield (b, c, a), (1, 1, -1)


def _product_away(mhz: int, makers: Sequence[Airing], signs: Sequence[int], victim: Airing) -> float:
    """As far as `spectrum.products` counts it: a product is as wide as its makers together."""
    width = sum(abs(sign) * maker.width_mhz for maker, sign in zip(makers, signs, strict=True))
    wider = (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2 + (width - 3 * REFERENCE_WIDTH_MHZ) / 2
    return abs(mhz - victim.mhz) - wider


def _neighbours(record: MeetRecord, flights: Flights, case: Case, rates: Rates) -> Iterator[tuple[Cause, float]]:
    victim = case.victim
    for each in record.neighbours:
        beyond = abs(victim.mhz - each.centre_mhz) - (each.width_mhz + victim.width_mhz) / 2
        if beyond > FAR_MHZ:
            continue
        chance = edge_chance(beyond) * rates.on_record[case.number]["neighbour"]
        chance = _learned(flights, case, rates, chance, frozenset())
        yield Cause("neighbour", nearest_edge_mhz(each, victim.mhz), (), beyond), chance * case.told("noise")


def nearest_edge_mhz(neighbour: Neighbour, mhz: int) -> int:
    """The edge of a foreign signal on this side of a channel; the channel itself where it lies inside.

    >>> nearest_edge_mhz(Neighbour("Wi-Fi", 5775, 80), 5840), nearest_edge_mhz(Neighbour("Wi-Fi", 5775, 80), 5780)
    (5815, 5780)
    """
    low, high = neighbour.edges_mhz
    return round(min(max(mhz, low), high))


def _learned(
    flights: Flights, case: Case, rates: Rates, chance: float, beside_mhz: frozenset[int]
) -> float:
    """The chance after all the meet's other flights on this channel beside the same others."""
    quiet, told_too = flights.beside(case.victim.mhz, beside_mhz, case.victim.loan)
    usual = rates.by_itself[case.number] * REPORT_SHARE * (quiet + told_too)
    seen = _PRIOR_FLIGHTS + _REPORT_COUNTS * max(told_too - usual, 0)
    return seen / (_PRIOR_FLIGHTS / chance + REPORT_SHARE * (quiet + told_too))


def _db(airing: Airing) -> float:
    return 10 * log10((airing.power_mw or _USUAL_MW) / _USUAL_MW)
