"""How likely a disturbance is, by its distance in MHz: how often a flight beside it has its picture broken.

A carrier breaks a picture where it is stronger behind the receiver's filter than the picture bears: the filter and the
protection ratio are those of `spectrum/levels`. The other figures are from experience, no published source.
"""

from bisect import bisect_right
from collections.abc import Sequence
from functools import lru_cache
from math import erf, exp, log, log10, sqrt

from meetapp.review.causes import CauseKind
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.levels.assumptions import Assumptions

_LEVELS = Assumptions()
_LEVELS_DIFFER_DB = 7.0
"""How far the levels of two quads at one receiver differ: distances that differ by a factor of 2.2."""

_NOTICED = 0.85
"""How many notice a picture that is disturbed: who flies two minutes on an open channel may not."""

_PRODUCT = ((0, 0.2), (5, 0.17), (10, 0.07), (15, 0.025), (20, 0.008), (25, 0.002), (30, 0.0007), (40, 0.0001))
"""A product is up to three channels wide, so it fades slowly beside the channel; it needs strong sources near by."""

_EDGE = ((-20, 0.35), (-10, 0.28), (0, 0.14), (5, 0.06), (10, 0.02), (20, 0.004), (40, 0.0002))
USUAL_MW = 25.0
_MOST_DB = 15.0
PITS_DB = 3.0
"""A transmitter in the pits is nearer to the goggles than one in the air."""

_WARNED_MHZ = 8
"""A product this near is what a hand-out is warned of; one further off lies there beside nearly any three."""

FAR_MHZ, PRODUCT_FAR_MHZ = 34, 25
"""From here on a carrier, or a product, is no cause to look for."""


@lru_cache(maxsize=4096)
def carrier_chance(
    away_mhz: float, disturber_mw: float | None = None, victim_mw: float | None = None, nearer_db: float = 0
) -> float:
    """The chance that a carrier this far off (MHz, widths taken off) breaks a picture during one flight beside it.

    >>> carrier_chance(0) > carrier_chance(10) > carrier_chance(20) > carrier_chance(37)
    True
    >>> carrier_chance(15, 200, 25) > carrier_chance(15)
    True
    """
    stronger = _clipped(10 * log10((disturber_mw or USUAL_MW) / (victim_mw or USUAL_MW)) + nearer_db)
    return _carrier_at(round(max(away_mhz, 0)), round(stronger))


@lru_cache(maxsize=4096)
def product_chance(away_mhz: float, over_db: float = 0, signals: int = 2) -> float:
    """The chance that a product this far off breaks a picture; `over_db`: how much stronger than between equal powers.

    Three signals make it 6 dB stronger (ITU-R SM.1134 has the forms), but all three must be near at once.

    >>> product_chance(2) > product_chance(12) > product_chance(30)
    True
    """
    near = 1.0 if signals == 2 else 0.7
    return min(near * _between(_PRODUCT, max(away_mhz, 0)) * 10 ** (_clipped(over_db) / 30), 0.5)


def edge_chance(beyond_mhz: float) -> float:
    """The chance that a foreign signal whose edge lies this far beyond the channel's own breaks a picture.

    >>> edge_chance(-10) > edge_chance(3) > edge_chance(25)
    True
    """
    return _between(_EDGE, max(beyond_mhz, -20))


def away(disturber_mhz: int, disturber_width: float, victim_mhz: int, victim_width: float) -> float:
    """How far two carriers lie apart, as two of the reference width would: MHz, never less than 0.

    >>> away(5740, 20, 5752, 20), away(5740, 40, 5752, 20)
    (12.0, 2.0)
    """
    wider = (disturber_width + victim_width) / 2 - REFERENCE_WIDTH_MHZ
    return float(max(abs(disturber_mhz - victim_mhz) - wider, 0))


def lasting(seconds: float) -> float:
    """How much of the chance of a whole flight counts where two were on air together only so long."""
    return 1 - exp(-max(seconds, 0) / 40)


def is_warned_of(kind: CauseKind, away_mhz: float) -> bool:
    """Whether a hand-out is warned of something of this kind so far from somebody's channel.

    >>> is_warned_of("too_close", 18), is_warned_of("product", 8), is_warned_of("product", 9)
    (True, True, False)
    """
    return kind != "product" or away_mhz <= _WARNED_MHZ


def _clipped(decibels: float) -> float:
    return max(-_MOST_DB, min(_MOST_DB, decibels))


def _carrier_at(away_mhz: int, stronger_db: int) -> float:
    over = _LEVELS.protection_db + stronger_db - _LEVELS.rejection_db(away_mhz)
    return _NOTICED * (1 + erf(over / _LEVELS_DIFFER_DB / sqrt(2))) / 2


def _between(points: Sequence[tuple[float, float]], at: float) -> float:
    """Between the points straight in logarithms, level beyond the first, gone on beyond the last."""
    place = min(max(bisect_right(points, at, key=lambda point: point[0]), 1), len(points) - 1)
    (low, first), (high, second) = points[place - 1], points[place]
    return exp(log(first) + (at - low) / (high - low) * (log(second) - log(first)))
