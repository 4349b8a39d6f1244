"""What one receiver hears beside its own picture, and how far away that has to be.

Counted: the other carriers after the receiver's filter, products made in the receiver's input (before the filter), the
two-signal products of foreign transmitters standing side by side, and noise. A product counts with all its power at
its centre, though it is spread over up to three widths. Not counted: a receiver that is driven so hard that its own
picture fades (blocking), products of the fifth order and above, reflections, bodies and anything else in the way.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from math import log10
from typing import Literal

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.levels.assumptions import BANDWIDTH_MHZ, Assumptions
from meetapp.spectrum.levels.free_space import dbm_of, free_space_loss_db, noise_dbm
from meetapp.spectrum.levels.intercept import (
    three_signal_product_dbm,
    transmitter_product_dbm,
    two_signal_product_dbm,
)
from meetapp.spectrum.products import Product, products

Kind = Literal["carrier", "two-signal", "three-signal", "transmitter", "noise"]
"""What disturbs: another carrier, a product made in the receiver, one made in a transmitter, or noise."""

RECEIVER_PRODUCTS: tuple[Kind, ...] = ("two-signal", "three-signal")


@dataclass(frozen=True, slots=True)
class Signal:
    """A transmitter as one receiver sees it. Units: MHz, mW into its antenna, metres."""

    mhz: int
    power_mw: float
    distance_m: float


@dataclass(frozen=True, slots=True)
class Disturbance:
    """One thing that gets into the channel: how strong it is there, behind the receiver's filter, in dBm.

    `sources`: the MHz that make it, in the order of its form (2a - b, a + b - c); a product made in a transmitter is
    radiated by its first. Empty for noise.
    """

    kind: Kind
    sources: tuple[int, ...]
    falls_mhz: int
    level_dbm: float

    def times(self, mhz: int) -> int:
        """How many dB it grows by where the signal on this frequency comes nearer by 1 dB of path loss."""
        match self.kind:
            case "two-signal":
                return 2 * (self.sources[0] == mhz) + (self.sources[1] == mhz)
            case "transmitter":
                return int(self.sources[0] == mhz)
            case _:
                return self.sources.count(mhz)


@dataclass(frozen=True, slots=True)
class Reach:
    """A disturbance as it depends on a distance: its level with the transmitters in question one metre away, and how
    many dB it loses with each dB of path loss."""

    at_one_metre: Disturbance
    times: int

    def level_dbm(self, distance_m: float) -> float:
        """Its level with them this far away."""
        return self.at_one_metre.level_dbm - 20 * self.times * log10(distance_m)

    def distance_m(self, allowed_dbm: float) -> float:
        """How far away they must be, so that it gets no stronger than this. Solved exactly."""
        return float(10 ** ((self.at_one_metre.level_dbm - allowed_dbm) / (20 * self.times)))


def received_dbm(signal: Signal, assumed: Assumptions) -> float:
    """The level of a signal at the pilot's receiver, antennas counted.

    >>> round(received_dbm(Signal(5800, 25, 5), Assumptions()), 2)
    -43.72
    """
    loss = free_space_loss_db(signal.distance_m, signal.mhz)
    return dbm_of(signal.power_mw) + assumed.quad_gain_dbi + assumed.pilot_gain_dbi - loss


def noise(wanted: Signal, assumed: Assumptions) -> Disturbance:
    """The receiver's own noise.

    >>> round(noise(Signal(5800, 25, 60), Assumptions()).level_dbm, 1)
    -95.0
    """
    return Disturbance("noise", (), wanted.mhz, noise_dbm(BANDWIDTH_MHZ, assumed.noise_figure_db))


def disturbances(
    wanted: Signal, foreign: Sequence[Signal], pads_m: float, assumed: Assumptions
) -> Iterator[Disturbance]:
    """Everything that gets into the wanted signal's channel, noise last.

    foreign: the other transmitters, each on a frequency of its own. pads_m: how far they stand from one another, for
    what they make in each other. Products in the receiver may contain the wanted signal too. Cost: O(n^3).
    Raises: BadProblem where two signals share a frequency: `same_channel` is for that.

    >>> found = disturbances(Signal(5800, 25, 60), [Signal(5760, 25, 5), Signal(5840, 25, 5)], 1, Assumptions())
    >>> strongest = max(found, key=lambda each: each.level_dbm)
    >>> strongest.kind, strongest.sources, round(strongest.level_dbm)
    ('carrier', (5760,), -84)
    """
    every = (wanted, *foreign)
    if len({signal.mhz for signal in every}) < len(every):
        raise BadProblem("mhz", "Two signals share a frequency: give each one its own.")
    level = {signal.mhz: received_dbm(signal, assumed) for signal in every}
    for signal in foreign:
        yield _in_channel("carrier", (signal.mhz,), signal.mhz, level[signal.mhz], wanted, assumed)
    for product in products([Carrier(signal.mhz) for signal in every]):
        kind, product_dbm = _in_receiver(product, level, assumed)
        yield _in_channel(kind, product.sources, product.mhz, product_dbm, wanted, assumed)
    for near, other in permutations(foreign, 2):
        mhz = 2 * near.mhz - other.mhz
        radiated = _radiated_product_dbm(other, pads_m, assumed)
        product_dbm = radiated + assumed.pilot_gain_dbi - free_space_loss_db(near.distance_m, mhz)
        yield _in_channel("transmitter", (near.mhz, other.mhz), mhz, product_dbm, wanted, assumed)
    yield noise(wanted, assumed)


def reaches(
    wanted: Signal, fixed: Sequence[Signal], moved: Sequence[Signal], pads_m: float, assumed: Assumptions
) -> Iterator[Reach]:
    """Every disturbance that the moved transmitters take part in, as it depends on how far away they are.

    moved: all at one distance, whatever theirs say; they stay as far from each other as `pads_m`.

    >>> [reach] = [each for each in reaches(Signal(5800, 25, 60), [], [Signal(5840, 25, 1)], 1, Assumptions())
    ...            if each.at_one_metre.kind == "carrier"]
    >>> round(reach.level_dbm(10), 1), round(reach.distance_m(-90), 1)
    (-89.8, 10.2)
    """
    at_one_metre = [replace(signal, distance_m=1) for signal in moved]
    for each in disturbances(wanted, (*fixed, *at_one_metre), pads_m, assumed):
        if times := sum(each.times(signal.mhz) for signal in moved):
            yield Reach(each, times)


def same_channel(wanted: Signal, foreign: Signal, assumed: Assumptions) -> Reach:
    """A foreign transmitter on the wanted signal's own frequency: the filter doesn't weaken it.

    >>> round(same_channel(Signal(5800, 25, 60), Signal(5800, 25, 15), Assumptions()).level_dbm(15))
    -53
    """
    at_receiver = received_dbm(replace(foreign, mhz=wanted.mhz, distance_m=1), assumed)
    return Reach(Disturbance("carrier", (wanted.mhz,), wanted.mhz, at_receiver), 1)


def allowed_dbm(wanted: Signal, assumed: Assumptions) -> float:
    """How strong a disturbance in the channel may be: the wanted signal less the protection ratio.

    >>> round(allowed_dbm(Signal(5800, 25, 60), Assumptions()))
    -80
    """
    return received_dbm(wanted, assumed) - assumed.protection_db


def _in_channel(
    kind: Kind, sources: tuple[int, ...], mhz: int, level_dbm: float, wanted: Signal, assumed: Assumptions
) -> Disturbance:
    return Disturbance(kind, sources, mhz, level_dbm - assumed.rejection_db(mhz - wanted.mhz))


def _in_receiver(product: Product, level: dict[int, float], assumed: Assumptions) -> tuple[Kind, float]:
    if product.kind == "2a-b":
        a, b = product.sources
        return "two-signal", two_signal_product_dbm(level[a], level[b], assumed.intercept_dbm)
    a, b, c = product.sources
    return "three-signal", three_signal_product_dbm(level[a], level[b], level[c], assumed.intercept_dbm)


def _radiated_product_dbm(other: Signal, pads_m: float, assumed: Assumptions) -> float:
    """What a transmitter radiates (e.i.r.p.) of the product that it makes of its neighbour's signal."""
    coupled = dbm_of(other.power_mw) + 2 * assumed.quad_gain_dbi - free_space_loss_db(pads_m, other.mhz)
    return transmitter_product_dbm(coupled, assumed.conversion_loss_db) + assumed.quad_gain_dbi
