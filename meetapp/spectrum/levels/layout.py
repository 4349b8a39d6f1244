"""A set of channels in a layout: every pilot's levels and margin, and what clubs argue about, answered in figures."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from math import isfinite
from typing import Literal

from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.levels.assumptions import Assumptions
from meetapp.spectrum.levels.receiver import (
    RECEIVER_PRODUCTS,
    Disturbance,
    Kind,
    Reach,
    Signal,
    allowed_dbm,
    disturbances,
    noise,
    reaches,
    received_dbm,
    same_channel,
)

NEAREST_M, FARTHEST_M = 0.5, 5000
"""Nearer than ten wavelengths the formula is no good; farther nobody flies. Only there to catch slips."""

MOST_CHANNELS = 10
"""Work grows with the fifth power of the count."""

PitsChannel = Literal["same", "other", "product"]
"""A quad powered in the pits: on a flying pilot's channel, on another of the set, or making a product with others."""


@dataclass(frozen=True, slots=True)
class Layout:
    """Distances in metres.

    wanted_m: from a pilot to their own quad at its farthest. nearest_m: from a pilot's receiver to the nearest foreign
    transmitter; the sums put all of them there. pits_m: from the pilots' spot to the pits. pads_m: between
    transmitters standing side by side on the start line. Raises BadProblem that names the distance.
    """

    wanted_m: float = 60
    nearest_m: float = 5
    pits_m: float = 15
    pads_m: float = 1

    def __post_init__(self) -> None:
        for each in fields(self):
            value = getattr(self, each.name)
            if not (isfinite(value) and NEAREST_M <= value <= FARTHEST_M):
                raise BadProblem(each.name, f"Give a distance from {NEAREST_M:g} to {FARTHEST_M:g} m.")


@dataclass(frozen=True, slots=True)
class PilotLevels:
    """What the pilot on `mhz` receives, in dBm; of each sort of disturbance the strongest, None where there is none."""

    mhz: int
    wanted_dbm: float
    carrier: Disturbance | None
    receiver_product: Disturbance | None
    transmitter_product: Disturbance | None
    noise: Disturbance

    @property
    def strongest(self) -> Disturbance:
        """Whatever disturbs most."""
        found = (self.carrier, self.receiver_product, self.transmitter_product, self.noise)
        return max((each for each in found if each is not None), key=_level)

    @property
    def margin_db(self) -> float:
        """How far the wanted signal stands above it."""
        return self.wanted_dbm - self.strongest.level_dbm


@dataclass(frozen=True, slots=True)
class PowersCompared:
    """One pilot's levels: with low power for everybody, with high power for everybody, and with low power beside the
    one louder pilot who harms them most (None for a pilot who is alone)."""

    low: PilotLevels
    high: PilotLevels
    beside_loud: PilotLevels | None
    loud_mhz: int | None


@dataclass(frozen=True, slots=True)
class Needed:
    """The least distance in metres that keeps the protection ratio, for the pilot on `victim_mhz`, and what asks for it
    (kind and MHz of its makers)."""

    distance_m: float
    victim_mhz: int
    kind: Kind
    sources: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PitsCase:
    """A quad powered in the pits, with its channel as bad as it gets: how far the pits must be for the protection
    ratio, and the least margin of any pilot at the distance of the layout."""

    channel: PitsChannel
    needed: Needed
    margin_db: float


def checked_set(set_mhz: Sequence[int]) -> tuple[int, ...]:
    """The set ascending. Raises BadProblem (field "mhz") where it is empty, too long or has a frequency twice.

    >>> checked_set([5740, 5658])
    (5658, 5740)
    """
    if not 1 <= len(set_mhz) <= MOST_CHANNELS:
        raise BadProblem("mhz", f"Give 1 to {MOST_CHANNELS} frequencies.")
    if len(set(set_mhz)) < len(set_mhz):
        raise BadProblem("mhz", "One frequency is there twice: give each one once.")
    return tuple(sorted(set_mhz))


def pilot_levels(powers_mw: Mapping[int, float], layout: Layout, assumed: Assumptions) -> tuple[PilotLevels, ...]:
    """Every pilot's levels with the whole set on air, in order of frequency.

    powers_mw: MHz to mW. Each pilot's own quad is `wanted_m` away and all the others `nearest_m`: as bad as it gets.

    >>> first, *_ = pilot_levels({5658: 25, 5695: 25, 5740: 25}, Layout(), Assumptions())
    >>> round(first.wanted_dbm), first.strongest.kind, round(first.margin_db, 1)
    (-65, 'carrier', 15.5)
    """
    return tuple(_levels(mhz, powers_mw, layout, assumed) for mhz in checked_set(list(powers_mw)))


def compare_powers(
    set_mhz: Sequence[int], low_mw: float, high_mw: float, layout: Layout, assumed: Assumptions
) -> tuple[PowersCompared, ...]:
    """Whether it matters what power is used: everybody with the one, everybody with the other, one loud among quiet.

    >>> one, other = compare_powers((5740, 5800), 25, 200, Layout(), Assumptions())
    >>> [round(one.low.margin_db - each.margin_db, 1) for each in (one.high, one.beside_loud)]
    [0.0, 9.0]
    """
    every = checked_set(set_mhz)
    low, high = dict.fromkeys(every, low_mw), dict.fromkeys(every, high_mw)
    return tuple(
        _compared(at_low, at_high, low, high_mw, layout, assumed)
        for at_low, at_high in zip(pilot_levels(low, layout, assumed), pilot_levels(high, layout, assumed), strict=True)
    )


def nearest_others(set_mhz: Sequence[int], power_mw: float, layout: Layout, assumed: Assumptions) -> Needed | None:
    """How far all the others must stay from a pilot's receiver. None for one pilot alone.

    Solved from path loss: what counts k times falls by 20 k log(distance).

    >>> needed = nearest_others((5740, 5800), 25, Layout(), Assumptions())
    >>> round(needed.distance_m, 1), needed.kind
    (1.4, 'carrier')
    """
    found: list[Needed] = []
    for mhz, others in _pilots(set_mhz):
        wanted = Signal(mhz, power_mw, layout.wanted_m)
        moved = [Signal(other, power_mw, 1) for other in others]
        allowed = allowed_dbm(wanted, assumed)
        found += [_needed(reach, mhz, allowed) for reach in reaches(wanted, (), moved, layout.pads_m, assumed)]
    return max(found, key=_distance, default=None)


def pits_cases(
    set_mhz: Sequence[int], flying_mw: float, pits_mw: float, layout: Layout, assumed: Assumptions
) -> tuple[PitsCase, ...]:
    """Whether a quad powered in the pits is a danger, by its channel: the worst of each sort over all pilots.

    A quad in the pits on another channel of the set stands there in place of that channel's pilot; the rest of the set
    flies. A sort that the set is too small for is left out.

    >>> [(case.channel, round(case.needed.distance_m)) for case in
    ...  pits_cases((5658, 5695, 5740), 25, 25, Layout(), Assumptions())]
    [('same', 337), ('other', 5), ('product', 2)]
    """
    cases: dict[PitsChannel, PitsCase] = {}
    for victim, others in _pilots(set_mhz):
        wanted = Signal(victim, flying_mw, layout.wanted_m)
        own: tuple[PitsChannel, Reach] = ("same", same_channel(wanted, Signal(victim, pits_mw, layout.pits_m), assumed))
        for sort, reach in (own, *_from_the_pits(wanted, others, pits_mw, layout, assumed)):
            margin = received_dbm(wanted, assumed) - reach.level_dbm(layout.pits_m)
            case = PitsCase(sort, _needed(reach, victim, allowed_dbm(wanted, assumed)), margin)
            cases[sort] = _worse(cases.get(sort), case)
    return tuple(cases.values())


def _from_the_pits(
    wanted: Signal, others: Sequence[int], pits_mw: float, layout: Layout, assumed: Assumptions
) -> Iterator[tuple[PitsChannel, Reach]]:
    for pits_mhz in others:
        flying = [Signal(mhz, wanted.power_mw, layout.nearest_m) for mhz in others if mhz != pits_mhz]
        for reach in reaches(wanted, flying, [Signal(pits_mhz, pits_mw, layout.pits_m)], layout.pads_m, assumed):
            if reach.at_one_metre.kind == "carrier":
                yield "other", reach
            elif reach.at_one_metre.kind in RECEIVER_PRODUCTS:
                yield "product", reach


def _worse(one: PitsCase | None, other: PitsCase) -> PitsCase:
    """The farther distance of two cases and the lower margin, which need not belong to one disturbance."""
    if one is None:
        return other
    farther = max(one, other, key=lambda case: case.needed.distance_m)
    return replace(farther, margin_db=min(one.margin_db, other.margin_db))


def _needed(reach: Reach, victim_mhz: int, allowed: float) -> Needed:
    because = reach.at_one_metre
    return Needed(reach.distance_m(allowed), victim_mhz, because.kind, because.sources)


def _distance(needed: Needed) -> float:
    return needed.distance_m


def _pilots(set_mhz: Sequence[int]) -> Iterator[tuple[int, list[int]]]:
    every = checked_set(set_mhz)
    return ((mhz, [other for other in every if other != mhz]) for mhz in every)


def _compared(
    low: PilotLevels,
    high: PilotLevels,
    powers_mw: dict[int, float],
    loud_mw: float,
    layout: Layout,
    assumed: Assumptions,
) -> PowersCompared:
    beside = [
        (_levels(low.mhz, powers_mw | {loud: loud_mw}, layout, assumed), loud) for loud in powers_mw if loud != low.mhz
    ]
    worst, loud_mhz = min(beside, key=lambda pair: pair[0].margin_db, default=(None, None))
    return PowersCompared(low, high, worst, loud_mhz)


def _levels(mhz: int, powers_mw: Mapping[int, float], layout: Layout, assumed: Assumptions) -> PilotLevels:
    wanted = Signal(mhz, powers_mw[mhz], layout.wanted_m)
    foreign = [Signal(other, power, layout.nearest_m) for other, power in powers_mw.items() if other != mhz]
    found = list(disturbances(wanted, foreign, layout.pads_m, assumed))

    def strongest(*kinds: Kind) -> Disturbance | None:
        return max((each for each in found if each.kind in kinds), key=_level, default=None)

    return PilotLevels(
        mhz,
        received_dbm(wanted, assumed),
        strongest("carrier"),
        strongest(*RECEIVER_PRODUCTS),
        strongest("transmitter"),
        noise(wanted, assumed),
    )


def _level(disturbance: Disturbance) -> float:
    return disturbance.level_dbm
