"""Pilots by kit, poured into the channels of blocks: who still has no place, and what would give them one.

A block is a number of heats that share one set of channels. Each channel of it can take as many pilots as the block
has heats, and the block as many as its heats hold. Whoever finds no place shows which kits have too few channels
within reach (the cut of Ford and Fulkerson; Hall's condition where the heats are large enough).
"""

from collections.abc import Sequence
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
        for kit, number in enumerate(grown.unplaced):
            while number and grown._place_one(kit):
                number -= 1
            grown.unplaced[kit] = number
        return grown

    def lack(self) -> Lack | None:
        """The kits that are short of channels, seen from the first unplaced pilot; None where everybody has a place."""
        start = next((kit for kit, number in enumerate(self.unplaced) if number), None)
        return None if start is None else self.lack_of(start)

    def lack_of(self, kit: int) -> Lack:
        """The same seen from a pilot of a kit that has unplaced pilots."""
        came_from = self._search(kit)[1]
        kits = sorted(node for kind, node in came_from if kind == "kit")
        return Lack(tuple(kits), frozenset(node for kind, node in came_from if kind == "block"))

    def _place_one(self, kit: int) -> bool:
        end, came_from = self._search(kit)
        if end is None:
            return False
        self._follow(end, came_from)
        return True

    def _search(self, kit: int) -> "tuple[_Node | None, dict[_Node, _Node | None]]":
        """Breadth first from a pilot of a kit to a block with room; the node reached and how each node was reached."""
        came_from: dict[_Node, _Node | None] = {("kit", kit): None}
        queue: list[_Node] = [("kit", kit)]
        for node in queue:
            kind, number = node
            if kind == "block" and self._block_room[number]:
                return node, came_from
            for further in self._next(kind, number):
                if further not in came_from:
                    came_from[further] = node
                    queue.append(further)
        return None, came_from

    def _next(self, kind: str, number: int) -> "list[_Node]":
        if kind == "kit":
            return [("slot", slot) for slot in self._reach[number]]
        if kind == "slot":
            movers: list[_Node] = [("kit", kit) for kit, placed in self._placed[number].items() if placed]
            return [("block", self.slots[number].block), *movers] if self._slot_room[number] else movers
        in_use = (place for place, placed in enumerate(self._placed) if placed)
        return [("slot", place) for place in in_use if self.slots[place].block == number]

    def _follow(self, end: "_Node", came_from: "dict[_Node, _Node | None]") -> None:
        self._block_room[end[1]] -= 1
        node = end
        while (before := came_from[node]) is not None:
            self._step(before, node)
            node = before

    def _step(self, before: "_Node", node: "_Node") -> None:
        if before[0] == "kit":
            placed = self._placed[node[1]]
            placed[before[1]] = placed.get(before[1], 0) + 1
        elif node[0] == "kit":
            self._placed[before[1]][node[1]] -= 1
            if not self._placed[before[1]][node[1]]:
                del self._placed[before[1]][node[1]]
        else:
            self._slot_room[before[1] if before[0] == "slot" else node[1]] += -1 if before[0] == "slot" else 1


_Node = tuple[str, int]
