"""The heats of the first round: as few as were found, as even as can be, with everybody on the channel they know.

Everybody keeps their channel from then on, so what a first round costs in changes is what the day costs.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from meetapp.spectrum.heats.air import Air, bits
from meetapp.spectrum.heats.block_sets import Likings, block_sets
from meetapp.spectrum.heats.effort import Effort, EffortSpent, steps_for
from meetapp.spectrum.heats.fewest import STEPS_PER_TRY, Blocks, first_sets, splits
from meetapp.spectrum.heats.flow import Slot, can_take
from meetapp.spectrum.heats.kits import Entry, Kit
from meetapp.spectrum.heats.placing import placed
from meetapp.spectrum.heats.seating import CHANGE_COST, seat_cost
from meetapp.spectrum.heats.small_rosters import HeatSeats

_SETS_COMPARED = 12


@dataclass(frozen=True, slots=True)
class FirstRound:
    """Heats with the frequency (bit) of each pilot, and what they are judged by: the smaller `worth`, the better."""

    heats: tuple[HeatSeats, ...]
    spread: int
    cost: int

    @property
    def worth(self) -> tuple[int, int, int]:
        """Heats, how far their sizes differ beyond what the numbers need, cost in changes and wake channels."""
        return len(self.heats), max(0, self.spread - 1), self.cost


def judged(heats: Sequence[HeatSeats], entries: Sequence[Entry]) -> FirstRound:
    """Heats with their judgement.

    >>> judged([((0, 5),), ()], [Entry(Kit(0b100000, 0), None, 4)])
    FirstRound(heats=(((0, 5),), ()), spread=1, cost=1)
    """
    sizes = [len(heat) for heat in heats]
    cost = sum(seat_cost(entries[pilot], bit) for heat in heats for pilot, bit in heat)
    return FirstRound(tuple(heats), max(sizes) - min(sizes), cost)


def least_cost(entries: Sequence[Entry], heats: int) -> int:
    """At least so much it costs: of those who know the same channel only one can have it in each heat.

    >>> least_cost([Entry(Kit(1, 0), 0, None)] * 3, 2)
    1000
    """
    known = Counter(entry.set_bit for entry in entries if entry.set_bit is not None)
    wakes = Counter(entry.wake_bit for entry in entries if entry.wake_bit is not None)
    return sum(CHANGE_COST * max(0, number - heats) for number in known.values()) + sum(
        max(0, number - heats) for number in wakes.values()
    )


def best_first_rounds(
    air: Air, entries: Sequence[Entry], blocks: Blocks, size: int, effort: Effort, patience: int = 0
) -> tuple[FirstRound, FirstRound]:
    """The best of several first rounds with as many heats as `blocks`: `blocks` itself, others with liked channels.

    size: pilots in a heat at most. Ends early with one that nothing can beat. Always finds one. It comes twice: on few
    channels, and with the pilots spread over more where that makes nothing worse (see `placed`).

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695, 5732], [20], Floors(37, None))
    >>> kit = Kit(air.mask([5658, 5695, 5732]), 0)
    >>> first, _ = best_first_rounds(air, [Entry(kit, None, 74), Entry(kit, None, 0)],
    ...                              Blocks((1,), (Slot(0, 0, 0), Slot(0, 37, 0))), 2, Effort(999, lambda: False))
    >>> first.heats, first.cost
    ((((0, 74), (1, 0)),), 0)
    """
    best: FirstRound | None = None
    spread: FirstRound | None = None
    least = least_cost(entries, blocks.total)
    steps = steps_for(STEPS_PER_TRY, patience, len({entry.kit for entry in entries}))
    for candidate in _candidates(air, entries, blocks, effort, steps):
        found = _seated(air, entries, candidate, size, is_spread=False)
        if found is not None and (best is None or found.worth < best.worth):
            best, spread = found, _seated(air, entries, candidate, size, is_spread=True)
        if best is not None and best.worth <= (blocks.total, 0, least):
            break
    assert best is not None  # everybody has a place in `blocks` itself
    return best, spread if spread is not None and spread.worth == best.worth else best


def with_rested_heat(first: FirstRound, entries: Sequence[Entry], just_flew: Collection[int]) -> FirstRound:
    """The same heats and channels, with those who just flew moved out of the heat that has the fewest of them.

    Two pilots change seats where each can make the other's channel at the same width and it costs no more. That heat
    goes first.

    >>> both = Entry(Kit(0b11, 0), None, None)
    >>> with_rested_heat(judged([((0, 0), (1, 1)), ((2, 0), (3, 1))], [both] * 4), [both] * 4, {0, 2}).heats
    (((3, 0), (1, 1)), ((2, 0), (0, 1)))
    """
    if not just_flew:
        return first
    heats = sorted((list(heat) for heat in first.heats), key=lambda heat: sum(pilot in just_flew for pilot, _ in heat))
    for place, (pilot, bit) in enumerate(heats[0]):
        if pilot in just_flew:
            found = _rested(entries, heats[1:], pilot, bit, just_flew)
            if found is not None:
                number, other_place = found
                other, other_bit = heats[number + 1][other_place]
                heats[0][place], heats[number + 1][other_place] = (other, bit), (pilot, other_bit)
    return judged([tuple(heat) for heat in heats], entries)


def _rested(
    entries: Sequence[Entry],
    heats: Sequence[Sequence[tuple[int, int]]],
    pilot: int,
    bit: int,
    just_flew: Collection[int],
) -> tuple[int, int] | None:
    """The seat of somebody who did not just fly and can change seats with the pilot at no cost."""
    own = entries[pilot]
    for number, heat in enumerate(heats):
        for place, (other, other_bit) in enumerate(heat):
            their = entries[other]
            can_change = their.kit.mask >> bit & 1 and own.kit.mask >> other_bit & 1
            if other in just_flew or their.kit.width != own.kit.width or not can_change:
                continue
            after = seat_cost(their, bit) + seat_cost(own, other_bit)
            if after <= seat_cost(own, bit) + seat_cost(their, other_bit):
                return number, place
    return None


def _candidates(air: Air, entries: Sequence[Entry], blocks: Blocks, effort: Effort, steps: int) -> Iterator[Blocks]:
    even = -(-len(entries) // blocks.total)
    likings = _likings(entries)
    for kept in _kept_entries(entries):
        numbers = Counter(entry.kit for entry in kept)
        for split in splits(blocks.total):
            slots = first_sets(air, numbers, split, even, effort.share(steps), likings=likings)
            if slots is not None:
                yield Blocks(split, slots)
                break
    yield blocks
    numbers = Counter(entry.kit for entry in entries)
    for split in ((blocks.total,), blocks.heats):
        try:
            sets = block_sets(air, numbers, split, even, effort.share(steps), likings=likings)
            yield from (Blocks(split, slots) for slots in islice(sets, _SETS_COMPARED))
        except EffortSpent:
            continue


def _kept_entries(entries: Sequence[Entry]) -> Iterator[list[Entry]]:
    """The entries with nothing but the channel they know or wake on, then with nothing but the one they know."""
    has_set = any(entry.set_bit is not None for entry in entries)
    if any(entry.wake_bit is not None for entry in entries):
        yield [_only(entry, entry.wake_bit if entry.set_bit is None else entry.set_bit) for entry in entries]
    if has_set:
        yield [_only(entry, entry.set_bit) for entry in entries]


def _only(entry: Entry, bit: int | None) -> Entry:
    return entry if bit is None else replace(entry, kit=Kit(1 << bit, entry.kit.width))


def _likings(entries: Sequence[Entry]) -> Likings:
    liked: Counter[tuple[int, int]] = Counter()
    for entry in entries:
        if entry.set_bit is not None:
            liked[entry.set_bit, entry.kit.width] += CHANGE_COST
        if entry.wake_bit is not None:
            liked[entry.wake_bit, entry.kit.width] += 1
    return liked


def _seated(air: Air, entries: Sequence[Entry], blocks: Blocks, size: int, is_spread: bool) -> FirstRound | None:
    """Everybody in a heat: the sets filled up with what else fits, the pilots placed, the blocks dealt out."""
    slots = _filled_up(air, entries, blocks)
    slot_of = placed(entries, slots, blocks.heats, size, is_spread)
    if slot_of is None:
        return None
    heats: list[list[tuple[int, int]]] = []
    for block, number in enumerate(blocks.heats):
        # Dealt out like cards, channel by channel: no heat gets a channel twice, and sizes differ by one at most.
        sitting = [
            (pilot, slot.bit)
            for place, slot in enumerate(slots)
            if slot.block == block
            for pilot, own in enumerate(slot_of)
            if own == place
        ]
        heats += [sitting[first::number] for first in range(number)]
    return judged([tuple(heat) for heat in heats], entries)


def _filled_up(air: Air, entries: Sequence[Entry], blocks: Blocks) -> tuple[Slot, ...]:
    """The sets with every further channel that fits, the liked ones and those that many can take first."""
    numbers = Counter(entry.kit for entry in entries)
    likings = _likings(entries)
    slots = list(blocks.slots)
    for block in range(len(blocks.heats)):
        room = air.empty
        for slot in blocks.slots:
            if slot.block == block:
                room = air.added(room, slot.bit, slot.width)
        while True:
            open_slots = {
                Slot(block, bit, kit.width) for kit in numbers for bit in bits(kit.mask & room.free[kit.width])
            }
            if not open_slots:
                break
            able = {slot: sum(n for kit, n in numbers.items() if can_take(kit, slot)) for slot in open_slots}
            best = min(open_slots, key=lambda slot: (-likings.get(slot[1:], 0), -able[slot], slot))
            slots.append(best)
            room = air.added(room, best.bit, best.width)
    return tuple(slots)
