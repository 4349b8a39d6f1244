"""Sets of channels for blocks of heats: the search behind 'as few heats as possible'.

All heats of a block share one set of channels that keeps the floors as a whole. With one block for the whole day
nobody ever has to change channel, heats come out even, and pilots can meet whom they like except those on their own
channel; where the kits don't allow that, several blocks share the heats. With one heat in each block this is the
question itself: can these pilots fly in so many heats?
"""

from collections.abc import Iterator, Mapping, Sequence

from meetapp.spectrum.heats.air import Air, Room, bits
from meetapp.spectrum.heats.effort import Effort
from meetapp.spectrum.heats.flow import Flow, Lack, Slot, can_take
from meetapp.spectrum.heats.kits import Kit

Likings = Mapping[tuple[int, int], int]
"""How many pilots would rather have a channel: by frequency (bit) and width."""


def block_sets(
    air: Air,
    numbers: Mapping[Kit, int],
    heats: Sequence[int],
    size: int,
    effort: Effort,
    *,
    likings: Likings | None = None,
    given: Sequence[Slot] = (),
) -> Iterator[tuple[Slot, ...]]:
    """Sets of channels with which all these pilots fly, the more liked channels tried first.

    numbers: how many pilots there are of each kit. heats: how many heats each block has. size: pilots in a heat.
    `given`: channels that are in the sets already (they keep the floors).
    Exhaustive where it ends by itself: while some kits are short of channels (see `Flow`), one that any of them can
    take has to join a block that still has room for them, so each of these is tried in turn and then left out; of
    blocks that are still alike only the first is tried. Raises: EffortSpent where it was stopped. Cost: exponential.

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> every, low = Kit(air.mask([5658, 5695, 5732, 5769]), 0), Kit(air.mask([5658]), 0)
    >>> found = next(block_sets(air, {every: 4, low: 2}, [2], 3, Effort(99, lambda: False)))
    >>> [air.mhz(slot.bit) for slot in found]
    [5658, 5695, 5769]
    """
    search = _BlockSets(air, numbers, heats, size, likings or {}, effort)
    flow = Flow(list(numbers), list(numbers.values()), heats, size)
    blocks = [_Open(air.empty, air.empty.free)] * len(heats)
    for slot in given:
        blocks[slot.block] = search.with_slot(blocks[slot.block], slot)
        flow = flow.with_slot(slot)
    return search.extend(blocks, flow) if search.has_room(blocks, flow.slots) else iter(())


class _Open:
    """A block's set so far: the room above its floors, and what has not been left out of it."""

    __slots__ = ("free", "room")

    def __init__(self, room: Room, still_open: Sequence[int]) -> None:
        self.room = room
        self.free = tuple(own & still for own, still in zip(room.free, still_open, strict=True))

    def without(self, bit: int, width: int) -> "_Open":
        still_open = list(self.free)
        still_open[width] &= ~(1 << bit)
        return _Open(self.room, still_open)

    def is_like(self, other: "_Open") -> bool:
        return self.free == other.free and set(self.room.carriers) == set(other.room.carriers)


class _BlockSets:
    def __init__(
        self,
        air: Air,
        numbers: Mapping[Kit, int],
        heats: Sequence[int],
        size: int,
        likings: Likings,
        effort: Effort,
    ) -> None:
        self._air = air
        self._kits = list(numbers)
        self._numbers = list(numbers.values())
        self._heats = heats
        self._size = size
        self._likings = likings
        self._effort = effort

    def extend(self, blocks: list[_Open], flow: Flow) -> Iterator[tuple[Slot, ...]]:
        """Every choice of sets that holds the channels of the flow and else only what is open."""
        if not any(flow.unplaced):
            yield flow.slots
            return
        blocks = list(blocks)
        for slot in self._in_order(self._shortest(blocks, flow), blocks, flow):
            self._effort.spend()
            grown = list(blocks)
            grown[slot.block] = self.with_slot(blocks[slot.block], slot)
            if self.has_room(grown, (*flow.slots, slot)):
                yield from self.extend(grown, flow.with_slot(slot))
            blocks[slot.block] = blocks[slot.block].without(slot.bit, slot.width)

    def with_slot(self, block: _Open, slot: Slot) -> _Open:
        """The block with one more channel."""
        return _Open(self._air.added(block.room, slot.bit, slot.width), block.free)

    def _shortest(self, blocks: list[_Open], flow: Flow) -> Lack:
        """The kits short of channels, seen from the unplaced kit with the fewest frequencies left."""
        unplaced = [kit for kit, number in enumerate(flow.unplaced) if number]
        return flow.lack_of(min(unplaced, key=lambda kit: self._choices(kit, blocks)))

    def _choices(self, kit: int, blocks: list[_Open]) -> int:
        own = self._kits[kit]
        return sum((own.mask & _union(block.free[own.width :])).bit_count() for block in blocks)

    def has_room(self, blocks: list[_Open], slots: Sequence[Slot]) -> bool:
        """Whether channels enough can still come for everybody, counted by `Air.at_most`."""
        chosen = [0] * len(blocks)
        for slot in slots:
            chosen[slot.block] += 1
        places = (
            heats * min(self._size, had + self._air.at_most(_union(block.free)))
            for heats, had, block in zip(self._heats, chosen, blocks, strict=True)
        )
        return sum(places) >= sum(self._numbers)

    def _in_order(self, short: Lack, blocks: list[_Open], flow: Flow) -> list[Slot]:
        """The channels that can help: the most liked first, then those that most unplaced pilots can take."""
        able: dict[Slot, tuple[int, int]] = {}
        for number in self._different(short, blocks):
            for slot in self._useful(short, number, blocks[number]):
                kits = [kit for kit, own in enumerate(self._kits) if can_take(own, slot)]
                waiting = sum(flow.unplaced[kit] for kit in kits)
                able[slot] = min(waiting, self._heats[number]), sum(self._numbers[kit] for kit in kits)
        return sorted(able, key=lambda slot: (-self._likings.get(slot[1:], 0), -able[slot][0], -able[slot][1], slot))

    def _different(self, short: Lack, blocks: list[_Open]) -> list[int]:
        """The blocks with room for those who are short; of blocks that are still alike the first."""
        found: list[int] = []
        for number, block in enumerate(blocks):
            alike = (self._heats[other] == self._heats[number] and block.is_like(blocks[other]) for other in found)
            if number not in short.full_blocks and not any(alike):
                found.append(number)
        return found

    def _useful(self, short: Lack, number: int, block: _Open) -> set[Slot]:
        return {
            Slot(number, bit, width)
            for kit in short.kits
            for width in range(self._kits[kit].width, len(block.free))
            for bit in bits(self._kits[kit].mask & block.free[width])
        }


def _union(masks: Sequence[int]) -> int:
    union = 0
    for mask in masks:
        union |= mask
    return union
