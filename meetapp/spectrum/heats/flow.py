"""Pilots by kit, poured into the channels of blocks: who still has no place, and what would give them one.

A block is a number of heats that share one set of channels. Each channel of it can take as many pilots as the block
has heats, and the block as many as its heats hold. Whoever finds no place shows which kits have too few channels
within reach (the cut of Ford and Fulkerson; Hall's condition where the heats are large enough).
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from meetapp.spectrum.heats.kits import Kit


class Slot(NamedTuple):
    """One channel of a block's set: its frequency (bit) and the width it has room for (by place among the widths)."""

    block: int
    bit: int
    width: int


class Lack(NamedTuple):
    """Kits whose pilots can't all be placed, and the blocks that are full to the last place with them."""

    kits: tuple[int, ...]
    full_blocks: frozenset[int]


def can_take(kit: Kit, slot: Slot) -> bool:
    """Whether a kit can fly on a channel: it makes the frequency and is no wider.

    >>> can_take(Kit(0b10, 0), Slot(0, 1, 1)), can_take(Kit(0b10, 1), Slot(0, 1, 0))
    (True, False)
    """
    return bool(kit.mask >> slot.bit & 1) and kit.width <= slot.width


class Flow:
    """How many pilots of each kit are placed on each channel; grows by channels and never takes a place away.

    kits and numbers: the pilots of each kit. heats: how many heats each block has. size: pilots in a heat at most.

    >>> flow = Flow([Kit(0b11, 0), Kit(0b01, 0)], [2, 1], [2], 2)
    >>> flow.with_slot(Slot(0, 0, 0)).lack()
    Lack(kits=(0, 1), full_blocks=frozenset())
    >>> flow.with_slot(Slot(0, 0, 0)).with_slot(Slot(0, 1, 0)).lack() is None
    True
    """

    def __init__(self, kits: Sequence[Kit], numbers: Sequence[int], heats: Sequence[int], size: int) -> None:
        self._kits = kits
        self._heats = heats
        self._block_room = [each * size for each in heats]
        self._slot_room: list[int] = []
        self._placed: list[dict[int, int]] = []
        self._reach: list[list[int]] = [[] for _ in kits]
        self._first_slot = self._first_block = len(kits)
        self.slots: tuple[Slot, ...] = ()
        self.unplaced = list(numbers)

    def with_slot(self, slot: Slot) -> "Flow":
        """The flow with one more channel, and as many of the unplaced placed as that allows."""
        grown = Flow(self._kits, self.unplaced, self._heats, 0)
        grown._block_room = list(self._block_room)
        grown._slot_room = [*self._slot_room, self._heats[slot.block]]
        grown._placed = [*(dict(placed) for placed in self._placed), {}]
        place = len(self.slots)
        grown._reach = [
            [*reach, place] if can_take(kit, slot) else reach
            for kit, reach in zip(self._kits, self._reach, strict=True)
        ]
        grown.slots = (*self.slots, slot)
        grown._first_block = self._first_block + 1
        grown._place_all()
        return grown

    def lack(self) -> Lack | None:
        """The kits that are short of channels, seen from the first unplaced pilot; None where everybody has a place."""
        start = next((kit for kit, number in enumerate(self.unplaced) if number), None)
        return None if start is None else self.lack_of(start)

    def lack_of(self, kit: int) -> Lack:
        """The same seen from a pilot of a kit that has unplaced pilots."""
        reached = self._search(kit)[1]
        kits = sorted(node for node in reached if node < self._first_slot)
        return Lack(tuple(kits), frozenset(node - self._first_block for node in reached if node >= self._first_block))

    def _place_all(self) -> None:
        """Place as many of the unplaced as the last channel allows; before it came no more could be placed.

        Every way to a place leads onto it, so it is over once that is full. And where a kit finds no way, all that it
        reached is full and leads to nothing else; no way from another kit goes through there, so that stays as it is:
        the kits among it need no look of their own.
        """
        stuck: set[_Node] = set()
        for kit in range(len(self._kits)):
            while self.unplaced[kit] and kit not in stuck and self._slot_room[-1]:
                end, came_from = self._search(kit)
                if end is None:
                    stuck.update(came_from)
                else:
                    self._follow(end, came_from)

    def _search(self, kit: int) -> "tuple[_Node | None, dict[_Node, _Node | None]]":
        """Breadth first from a pilot of a kit to a block with room; the node reached and how each node was reached."""
        came_from: dict[_Node, _Node | None] = {kit: None}
        queue: list[_Node] = [kit]
        for node in queue:
            if node >= self._first_block and self._block_room[node - self._first_block]:
                return node, came_from
            for further in self._next(node):
                if further not in came_from:
                    came_from[further] = node
                    queue.append(further)
        return None, came_from

    def _next(self, node: "_Node") -> "Iterable[_Node]":
        if node < self._first_slot:
            return [self._first_slot + place for place in self._reach[node]]
        if node < self._first_block:
            place = node - self._first_slot
            movers = self._placed[place]
            return [self._first_block + self.slots[place].block, *movers] if self._slot_room[place] else movers
        in_use = (place for place, placed in enumerate(self._placed) if placed)
        block = node - self._first_block
        return [self._first_slot + place for place in in_use if self.slots[place].block == block]

    def _follow(self, end: "_Node", came_from: "dict[_Node, _Node | None]") -> None:
        """Move as many pilots along the way as it has room for."""
        steps = []
        node = end
        while (before := came_from[node]) is not None:
            steps.append((before, node))
            node = before
        block = end - self._first_block
        leaving = [step for step in steps if self._first_slot <= step[0] < self._first_block]
        moved = min(self.unplaced[node], self._block_room[block], *(self._room(*step) for step in leaving))
        self.unplaced[node] -= moved
        self._block_room[block] -= moved
        for step in steps:
            self._move(*step, moved)

    def _room(self, before: "_Node", node: "_Node") -> int:
        """How many pilots can leave a channel along one step of a way: into its block, or off it to another one."""
        place = before - self._first_slot
        return self._slot_room[place] if node >= self._first_block else self._placed[place][node]

    def _move(self, before: "_Node", node: "_Node", pilots: int) -> None:
        if before < self._first_slot:
            placed = self._placed[node - self._first_slot]
            placed[before] = placed.get(before, 0) + pilots
        elif node < self._first_slot:
            placed = self._placed[before - self._first_slot]
            placed[node] -= pilots
            if not placed[node]:
                del placed[node]
        elif node >= self._first_block:
            self._slot_room[before - self._first_slot] -= pilots
        else:
            self._slot_room[node - self._first_slot] += pilots


_Node = int
"""Kits come first, then the channels, then the blocks, each in their order."""
