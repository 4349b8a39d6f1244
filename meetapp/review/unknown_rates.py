"""How often each kind of trouble comes at one meet is unknown beforehand: every answer is a mean over what it may be.

The rates of the kinds are drawn from broad priors at fixed points that fill the space evenly; each point counts by how
well it fits all reports and all flights without one.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from math import exp, log, log2
from operator import mul
from statistics import NormalDist

from meetapp.review.causes import CauseKind

_POINTS = 300
_PRIMES = (2, 3, 5, 7)


@dataclass(frozen=True, slots=True)
class Prior:
    """A rate before anything was seen: a log-normal curve by its median and the standard deviation of its logarithm.

    `alike`: how alike settings are under one rate, the shape of a Gamma distribution: where it is small, few settings
    have nearly all of the trouble, and what was silent all day says little of one that is new.
    """

    median: float
    spread: float
    alike: float = 40.0


PRIORS: Mapping[CauseKind, Prior] = {
    "own_receiver": Prior(0.025, 0.8),
    "too_close": Prior(0.5, 1.5),
    "product": Prior(0.02, 0.8, 0.08),
    "neighbour": Prior(0.1, 1.5, 0.7),
}
"""Own: reports by itself in one flight, the others: times the usual figures. From experience, no source."""

_TRUST = 0.6
"""The looks under a cause may be off alike in all of a meet's reports, so each counts as less than one of its own."""

Known = Mapping[int, Mapping[CauseKind, float]]


def mean_rates(shares: Known, before: Known, silence: Sequence[float]) -> dict[int, dict[CauseKind, float]]:
    """For each report the mean of each rate, by all other reports and by all flights.

    `shares`: each report's probabilities by kind (what isn't in PRIORS is taken as it is), found with the rates
    `before`. `silence`: as `silence_at` the points. Exact for one report given the others: P(kind) is in
    proportion to the kind's weight times this mean. Cost: points times reports.

    >>> told = {n: {"own_receiver": 1.0} for n in range(10)}
    >>> rates = {n: {"own_receiver": 0.02} for n in range(10)}
    >>> 0.03 < mean_rates(told, rates, silence_at({"own_receiver": [200]}))[0]["own_receiver"] < 0.06
    True
    """
    kinds = tuple(PRIORS)
    points, columns = _points(), tuple(zip(*_points(), strict=True))
    totals = list(silence)
    fits: dict[int, list[float]] = {}
    for number, own in shares.items():
        rest = 1e-12 + sum(share for kind, share in own.items() if kind not in PRIORS)
        a, b, c, d = (own.get(kind, 0.0) / max(before[number].get(kind, 1.0), 1e-9) for kind in kinds)
        fits[number] = [rest + a * w + b * x + c * y + d * z for w, x, y, z in points]
        totals = [total + log(fit) for total, fit in zip(totals, fits[number], strict=True)]
    top = max(totals)
    worth = [exp(_TRUST * (total - top)) for total in totals]
    found = {}
    for number, own_fits in fits.items():
        left = [each / fit**_TRUST for each, fit in zip(worth, own_fits, strict=True)]
        whole = sum(left)
        found[number] = {kind: sum(map(mul, left, column)) / whole for kind, column in zip(kinds, columns, strict=True)}
    return found


def silence_at(expected: Mapping[CauseKind, Sequence[float]]) -> tuple[float, ...]:
    """The logarithm of how likely all flights say nothing, at each point. `expected`: by kind, what each setting would
    make of reports at a rate of 1 (own: flights)."""
    columns = zip(*_points(), strict=True)
    logs = [
        [_seldom(kind, prior, rate, gathered) for rate in column]
        for (kind, prior), column in zip(PRIORS.items(), columns, strict=True)
        for gathered in [_gathered(expected.get(kind, ()))]
    ]
    return tuple(map(sum, zip(*logs, strict=True)))


def _gathered(amounts: Iterable[float]) -> dict[float, int]:
    """Settings that expect about the same as one with their number: half an octave wide."""
    return Counter(2 ** (round(2 * log2(amount)) / 2) for amount in amounts if amount > 0)


def _seldom(kind: CauseKind, prior: Prior, rate: float, amounts: Mapping[float, int]) -> float:
    if kind == "own_receiver":
        return -rate * sum(amount * count for amount, count in amounts.items())
    return -prior.alike * sum(count * log(1 + rate * amount / prior.alike) for amount, count in amounts.items())


@cache
def _points() -> tuple[tuple[float, float, float, float], ...]:
    """The rates at each point: Halton's sequence, through each prior's curve."""
    usual = NormalDist()
    columns = [
        [prior.median * exp(prior.spread * usual.inv_cdf(_halton(number, prime))) for number in range(1, _POINTS + 1)]
        for prior, prime in zip(PRIORS.values(), _PRIMES, strict=True)
    ]
    return tuple((w, x, y, z) for w, x, y, z in zip(*columns, strict=True))


def _halton(number: int, base: int) -> float:
    """Halton, 'On the efficiency of certain quasi-random sequences of points', Numer. Math. 2 (1960).

    >>> [_halton(number, 2) for number in (1, 2, 3)]
    [0.5, 0.25, 0.75]
    """
    found, part = 0.0, 1.0
    while number:
        part /= base
        found += part * (number % base)
        number //= base
    return found
