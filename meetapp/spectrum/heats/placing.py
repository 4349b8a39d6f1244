"""Which pilot takes which channel of which block: at the least cost, with the heats as even as can be.

A minimum-cost flow: pilots are placed one after the other, each along the cheapest chain of moves, which leaves the
total the least possible for those placed so far (successive shortest paths; Ahuja, Magnanti and Orlin, Network Flows,
1993, section 9.7; all costs are convex). A place that makes heats even is far cheaper than one beyond. Who shares a
channel never meets, so the pilots may be spread over many channels; but with full channels the rounds mix more easily.
"""

from collections.abc import Sequence

from meetapp.spectrum.heats.flow import Slot, can_take
from meetapp.spectrum.heats.kits import Entry
from meetapp.spectrum.heats.seating import CHANGE_COST, seat_cost

_SEAT_COST = 1_000_000
"""What one unit of `seat_cost` weighs: more than sharing a channel with anybody."""

_UNEVEN_COST = 1000 * CHANGE_COST * _SEAT_COST
_Node = tuple[bool, int]
"""A channel (False, place) or a block (True, number)."""


def placed(
    entries: Sequence[Entry], slots: Sequence[Slot], heats: Sequence[int], size: int, is_spread: bool = False
) -> list[int] | None:
    """The channel (place in `slots`) of each pilot; None where somebody finds none.

    heats: how many heats each block has. size: pilots in a heat at most. Heats are as even as the sets allow, then the
    fewest pilots change channel, then the most take their wake channel (see `seat_cost`); `is_spread`: then the fewest
    share a channel. Cost: pilots times channels
    squared.

    >>> from meetapp.spectrum.heats.kits import Kit
    >>> both = Kit(0b11, 0)
    >>> placed([Entry(both, 1, None), Entry(both, None, 0)], [Slot(0, 0, 0), Slot(0, 1, 0)], [1], 2)
    [1, 0]
    """
    placing = _Placing(entries, slots, heats, size, is_spread)
    for pilot in range(len(entries)):
        if not placing.place(pilot):
            return None
    return placing.slot_of


class _Placing:
    def __init__(
        self, entries: Sequence[Entry], slots: Sequence[Slot], heats: Sequence[int], size: int, is_spread: bool
    ) -> None:
        self._slots = slots
        self._heats = heats
        self._costs = [
            {
                place: _SEAT_COST * seat_cost(entry, slot.bit)
                for place, slot in enumerate(slots)
                if can_take(entry.kit, slot)
            }
            for entry in entries
        ]
        fewest, most = len(entries) // sum(heats), -(-len(entries) // sum(heats))
        self._least = [fewest * number for number in heats]
        self._most = [most * number for number in heats]
        self._room = [size * number for number in heats]
        self._sharing_cost = int(is_spread)
        self._sitting: list[set[int]] = [set() for _ in slots]
        self._in_block = [0] * len(heats)
        self.slot_of = [-1] * len(entries)

    def place(self, pilot: int) -> bool:
        """Give one more pilot a channel, moving others over where that is cheapest."""
        reached, came_from = self._cheapest(pilot)
        ends = [
            (cost + self._uneven_cost(number), number)
            for (is_block, number), cost in reached.items()
            if is_block and self._in_block[number] < self._room[number]
        ]
        if not ends:
            return False
        block = min(ends)[1]
        self._in_block[block] += 1
        node: _Node = (True, block)
        chain = []
        while node in came_from:
            before, mover = came_from[node]
            if mover is not None:
                chain.append((mover, node[1]))
            node = before
        chain.append((pilot, node[1]))
        self._move(chain)
        return True

    def _uneven_cost(self, block: int) -> int:
        """What one more pilot in the block costs: least below its even share, most beyond it."""
        sitting = self._in_block[block]
        return _UNEVEN_COST * ((sitting >= self._least[block]) + (sitting >= self._most[block]))

    def _move(self, chain: list[tuple[int, int]]) -> None:
        for mover, _ in chain:
            if self.slot_of[mover] >= 0:
                self._sitting[self.slot_of[mover]].discard(mover)
        for mover, place in chain:
            self.slot_of[mover] = place
            self._sitting[place].add(mover)

    def _cheapest(self, pilot: int) -> tuple[dict[_Node, int], dict[_Node, tuple[_Node, int | None]]]:
        """Bellman and Ford from one pilot: what each channel and block costs, and how it was reached."""
        reached: dict[_Node, int] = {(False, place): cost for place, cost in self._costs[pilot].items()}
        came_from: dict[_Node, tuple[_Node, int | None]] = {}
        queue = list(reached)
        while queue:
            node = queue.pop(0)
            for further, cost, mover in self._next(node):
                total = reached[node] + cost
                if total < reached.get(further, 1 << 60):
                    reached[further] = total
                    came_from[further] = node, mover
                    if further not in queue:
                        queue.append(further)
        return reached, came_from

    def _next(self, node: _Node) -> list[tuple[_Node, int, int | None]]:
        is_block, number = node
        if is_block:
            # Somebody here leaves the block again, and the newcomer counts in their place.
            return [
                ((False, place), self._sharing_cost * (1 - len(self._sitting[place])), None)
                for place, slot in enumerate(self._slots)
                if slot.block == number and self._sitting[place]
            ]
        block = self._slots[number].block
        found: list[tuple[_Node, int, int | None]] = []
        if len(self._sitting[number]) < self._heats[block]:
            found.append(((True, block), self._sharing_cost * len(self._sitting[number]), None))
        for mover in self._sitting[number]:
            own = self._costs[mover]
            found += [((False, to), cost - own[number], mover) for to, cost in own.items() if to != number]
        return found
