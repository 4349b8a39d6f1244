"""As few heats as possible: a proven bound from below, and sets of channels that reach for it."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, product

from meetapp.spectrum.heats.air import Air, Room
from meetapp.spectrum.heats.block_sets import Likings, block_sets
from meetapp.spectrum.heats.effort import Effort, EffortSpent, steps_for
from meetapp.spectrum.heats.flow import Slot
from meetapp.spectrum.heats.group_cover import cover
from meetapp.spectrum.heats.kits import Kit
from meetapp.spectrum.heats.largest import Seats
from meetapp.spectrum.heats.least_heats import LeastHeats, least_heats

STEPS_PER_TRY = 300
_STEPS_FOR_THE_BOUND = 7_000
_STEPS_FOR_ALL_TRIES = 5_000
_STEPS_AT_ONCE = 60
_TINY = 1e-6
_WORTH_A_HEAT = 0.3
"""A group that the bound uses by less than this part is no good start for a heat."""


@dataclass(frozen=True, slots=True)
class Blocks:
    """How many heats each block has, and sets of channels with which everybody has a place in one of them."""

    heats: tuple[int, ...]
    slots: tuple[Slot, ...]

    @property
    def total(self) -> int:
        """How many heats there are in all."""
        return sum(self.heats)


@dataclass(frozen=True, slots=True)
class Fewest:
    """As few heats as were found, and the bound from below: where `least.heats` is their number, that is proven."""

    blocks: Blocks
    least: LeastHeats


Split = tuple[tuple[int, ...], tuple[Slot, ...]]
"""How the heats are split into blocks, and the channels that their sets start with."""


def fewest_heats(air: Air, numbers: Mapping[Kit, int], size: int, effort: Effort, patience: int = 0) -> Fewest:
    """Sets of channels for as few heats as can be found.

    numbers: how many pilots there are of each kit. Each search goes 2 to the power of `patience` times as far as at
    the first look. Order: one set for all heats where that does; else a plan that is found at once, the bound, and
    then plans with fewer heats. Always finds something: one pilot in each heat at the worst.

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> every, low = Kit(air.mask([5658, 5695, 5732, 5769]), 0), Kit(air.mask([5658]), 0)
    >>> found = fewest_heats(air, {every: 7, low: 2}, 4, Effort(999, lambda: False))
    >>> found.blocks.heats, found.least.heats
    ((3,), 3)
    """
    pilots = sum(numbers.values())
    trivial = -(-pilots // size)
    kits = len(numbers)
    steps = steps_for(STEPS_PER_TRY, patience, kits)
    slots = first_sets(air, numbers, (trivial,), size, effort.share(steps))
    if slots is not None:
        return Fewest(Blocks((trivial,), slots), LeastHeats(trivial, dict.fromkeys(numbers, 1), size))
    blocks = _at_once(air, numbers, trivial, size, effort)
    bound_effort = effort.share(steps_for(_STEPS_FOR_THE_BOUND, patience, kits))
    least = least_heats(air, numbers, size, bound_effort, steps_each=5 * steps)
    tries = effort.share(steps_for(_STEPS_FOR_ALL_TRIES, patience, kits))
    for is_even, ways in product((True, False), (_ways_by_groups, _ways_by_splits)):
        for heats in range(least.heats, blocks.total):
            largest = -(-pilots // heats) if is_even else size
            tried = ways(numbers, heats, least, tries.share(steps))
            found = _tried(air, numbers, tried, largest, tries, steps)
            if found is not None:
                blocks = found
                break
    return Fewest(blocks, least)


def first_sets(
    air: Air,
    numbers: Mapping[Kit, int],
    split: Sequence[int],
    size: int,
    effort: Effort,
    given: Sequence[Slot] = (),
    likings: Likings | None = None,
) -> tuple[Slot, ...] | None:
    """The first sets found for heats split in this way; None where there are none or the effort was spent.

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695], [20], Floors(37, 10))
    >>> first_sets(air, {Kit(air.mask([5658]), 0): 2}, (1,), 4, Effort(99, lambda: False)) is None
    True
    """
    if effort.is_spent():
        return None
    try:
        return next(block_sets(air, numbers, split, size, effort, likings=likings, given=given), None)
    except EffortSpent:
        return None


def splits(heats: int) -> Iterator[tuple[int, ...]]:
    """The ways of splitting heats into blocks that are worth a try, the plainest first.

    >>> list(splits(4))
    [(4,), (3, 1), (2, 2), (1, 1, 1, 1)]
    """
    yield (heats,)
    for fewer in range(1, heats // 2 + 1):
        yield heats - fewer, fewer
    if heats > 2:
        yield (1,) * heats


def _tried(
    air: Air, numbers: Mapping[Kit, int], ways: Iterable[Split], size: int, effort: Effort, steps: int
) -> Blocks | None:
    for split, given in ways:
        if effort.is_spent():
            return None
        slots = first_sets(air, numbers, split, size, effort.share(steps), given)
        if slots is not None:
            return Blocks(split, slots)
    return None


def _ways_by_splits(_: Mapping[Kit, int], heats: int, __: LeastHeats, ___: Effort) -> Iterator[Split]:
    return ((split, ()) for split in splits(heats))


def _ways_by_groups(numbers: Mapping[Kit, int], heats: int, least: LeastHeats, effort: Effort) -> Iterator[Split]:
    """One set for all; the bound's groups in whole numbers; the same rounded down, with a heat for what is left."""
    yield (heats,), ()
    groups = cover(numbers, heats, least, effort)
    if groups is not None:
        yield _blocks_of(Counter(groups), heats)
    yield _blocks_of(dict(least.groups), heats)


def _blocks_of(used: Mapping[Seats, float], heats: int) -> Split:
    """A block for each group as often as it is used, and for what is left over a heat each."""
    counts: list[int] = []
    given: list[Slot] = []
    left_over = []
    for group, times in sorted(used.items(), key=lambda each: (-each[1], each[0])):
        whole = min(int(times + _TINY), heats - sum(counts))
        if whole:
            given += [Slot(len(counts), bit, width) for (bit, width), _ in group]
            counts.append(whole)
        if times - whole > _WORTH_A_HEAT:
            left_over.append((times - whole, group))
    left_over.sort(key=lambda each: (-each[0], each[1]))
    for place in range(heats - sum(counts)):
        seats = left_over[place][1] if place < len(left_over) else ()
        given += [Slot(len(counts), bit, width) for (bit, width), _ in seats]
        counts.append(1)
    return tuple(counts), tuple(given)


def _at_once(air: Air, numbers: Mapping[Kit, int], trivial: int, size: int, effort: Effort) -> Blocks:
    """A plan without much search: one set with more heats, or pilots put one by one into the first heat that does."""
    fitted = _first_fit(air, numbers, size)
    for heats in range(trivial + 1, fitted.total):
        slots = first_sets(air, numbers, (heats,), size, effort.share(_STEPS_AT_ONCE))
        if slots is not None:
            return Blocks((heats,), slots)
    return fitted


def _first_fit(air: Air, numbers: Mapping[Kit, int], size: int) -> Blocks:
    """Pilots with the fewest frequencies first, each into the first heat with room, on the lowest that fits."""
    in_order = sorted(numbers, key=lambda kit: (kit.mask.bit_count(), kit))
    rooms: list[Room] = []
    slots: list[Slot] = []
    already = len(air.empty.carriers)
    for kit in chain.from_iterable([kit] * numbers[kit] for kit in in_order):
        for heat, room in enumerate([*rooms, air.empty]):
            free = kit.mask & room.free[kit.width]
            if free and len(room.carriers) - already < size:
                bit = (free & -free).bit_length() - 1
                rooms[heat : heat + 1] = [air.added(room, bit, kit.width)]
                slots.append(Slot(heat, bit, kit.width))
                break
    return Blocks((1,) * len(rooms), tuple(slots))
