"""Floors: the spacing and the clearance below which nothing is handed out, and what a new carrier would break.

Only what the added carrier takes part in is judged, as a source or as a victim. So a set that keeps its floors still
keeps them after an addition without a shortfall, and a set that is below a floor already (an override) doesn't
refuse everybody else for it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from meetapp.spectrum.carriers import Carrier, Neighbour, neighbour_gap, required_distance, spacing_between
from meetapp.spectrum.channels import exact_mhz
from meetapp.spectrum.products import (
    ProductKind,
    product_text,
    three_signal_distances,
    two_signal_distances,
)

ShortfallKind = Literal["spacing", "two_signal", "three_signal", "neighbour"]
_KINDS: tuple[ShortfallKind, ...] = ("spacing", "two_signal", "three_signal", "neighbour")


@dataclass(frozen=True, slots=True)
class Floors:
    """The floors of a meet in MHz. `clearance_mhz` None: the meet has no floor for the clearance."""

    spacing_mhz: float
    clearance_mhz: float | None


@dataclass(frozen=True, slots=True)
class Shortfall:
    """One thing that an added carrier would break.

    `have_mhz` is what there would be (widths taken off; for a neighbour the gap between the edges, below 0),
    `floor_mhz` what there must be, `with_mhz` the carriers on air that take part, ascending (for a neighbour its
    centre), `sentence` the whole in words.
    """

    kind: ShortfallKind
    have_mhz: float
    floor_mhz: float
    with_mhz: tuple[int, ...]
    sentence: str


def shortfalls(
    on_air: Sequence[Carrier], added: Carrier, floors: Floors, neighbours: Sequence[Neighbour] = ()
) -> tuple[Shortfall, ...]:
    """What adding this carrier would break; empty where both floors and the neighbours are kept.

    Units: MHz. Order: spacing, two-signal, three-signal, neighbour; within a kind the deepest first. One coincidence of
    products is named once, with a victim that is on air, though it is a product on each carrier in it.
    Cost: O(n^3) for n carriers on air.

    >>> on_air = [Carrier(5658), Carrier(5760)]
    >>> for each in shortfalls(on_air, Carrier(5865), Floors(37, 10)): print(each.sentence)
    2 x 5760 - 5865 falls 3 MHz from 5658, the floor is 10
    >>> for each in shortfalls(on_air, Carrier(5772), Floors(37, None)): print(each.sentence)
    12 MHz from 5760 on air, the floor is 37
    """
    found = _all_shortfalls(on_air, added, floors, neighbours)
    return tuple(sorted(found, key=lambda each: (_KINDS.index(each.kind), each.have_mhz, each.with_mhz)))


def keeps_floors(
    on_air: Sequence[Carrier], added: Carrier, floors: Floors, neighbours: Sequence[Neighbour] = ()
) -> bool:
    """Whether adding this carrier breaks nothing: `shortfalls` is empty, without working out the rest of them.

    >>> keeps_floors([Carrier(5658), Carrier(5760)], Carrier(5880), Floors(37, 10))
    True
    """
    return next(_all_shortfalls(on_air, added, floors, neighbours), None) is None


def set_keeps_floors(carriers: Sequence[Carrier], floors: Floors, neighbours: Sequence[Neighbour] = ()) -> bool:
    """Whether a whole set keeps the floors: each carrier added to those before it breaks nothing.

    >>> set_keeps_floors([Carrier(5658), Carrier(5695), Carrier(5732)], Floors(37, 1))
    False
    """
    return all(keeps_floors(carriers[:n], added, floors, neighbours) for n, added in enumerate(carriers))


def _all_shortfalls(
    on_air: Sequence[Carrier], added: Carrier, floors: Floors, neighbours: Sequence[Neighbour]
) -> Iterator[Shortfall]:
    yield from _spacing_shortfalls(on_air, added, floors.spacing_mhz)
    yield from _neighbour_shortfalls(neighbours, added)
    if floors.clearance_mhz is not None:
        yield from _two_signal_shortfalls(on_air, added, floors.clearance_mhz)
        yield from _three_signal_shortfalls(on_air, added, floors.clearance_mhz)


def _spacing_shortfalls(on_air: Sequence[Carrier], added: Carrier, floor: float) -> Iterator[Shortfall]:
    for carrier in on_air:
        have = spacing_between(carrier, added)
        if have < floor:
            distance, needed = abs(carrier.mhz - added.mhz), required_distance(carrier, added, floor)
            wanted = f"the floor is {floor:g}" if needed == floor else f"with these widths it takes {needed:g}"
            sentence = f"{distance} MHz from {carrier.mhz} on air, {wanted}"
            yield Shortfall("spacing", have, exact_mhz(floor), (carrier.mhz,), sentence)


def _neighbour_shortfalls(neighbours: Sequence[Neighbour], added: Carrier) -> Iterator[Shortfall]:
    for neighbour in neighbours:
        gap = neighbour_gap(added, neighbour)
        if gap < 0:
            sentence = f"overlaps the neighbour {neighbour.label} by {-gap:g} MHz"
            yield Shortfall("neighbour", gap, 0, (neighbour.centre_mhz,), sentence)


def _two_signal_shortfalls(on_air: Sequence[Carrier], added: Carrier, floor: float) -> Iterator[Shortfall]:
    for x, y in combinations(sorted(on_air), 2):
        distances = two_signal_distances(added, x, y)
        for have, twice, minus, victim in zip(distances, (added, x, y), (y, added, added), (x, y, x), strict=True):
            if have < floor:
                raw = abs(2 * twice.mhz - minus.mhz - victim.mhz)
                sentence = _product_sentence("2a-b", (twice, minus), victim, raw, have, floor)
                yield Shortfall("two_signal", have, exact_mhz(floor), (x.mhz, y.mhz), sentence)


def _three_signal_shortfalls(on_air: Sequence[Carrier], added: Carrier, floor: float) -> Iterator[Shortfall]:
    for x, y, z in combinations(sorted(on_air), 3):
        distances = three_signal_distances(added, x, y, z)
        # Added with x makes added + x - z fall near y: the victim is always one that is on air already.
        for have, plus, minus, victim in zip(distances, (x, y, z), (z, z, y), (y, x, x), strict=True):
            if have < floor:
                raw = abs(added.mhz + plus.mhz - minus.mhz - victim.mhz)
                sentence = _product_sentence("a+b-c", (added, plus, minus), victim, raw, have, floor)
                yield Shortfall("three_signal", have, exact_mhz(floor), (x.mhz, y.mhz, z.mhz), sentence)


def _product_sentence(
    kind: ProductKind, sources: Sequence[Carrier], victim: Carrier, raw: int, have: float, floor: float
) -> str:
    formula = product_text(kind, [source.mhz for source in sources])
    counted = "" if have == raw else f" (with these widths that counts as {have:g})"
    return f"{formula} falls {raw} MHz from {victim.mhz}{counted}, the floor is {floor:g}"
