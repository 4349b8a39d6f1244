"""Which channel each pilot of one heat takes: an exact search for the fewest changes, then the most wake channels.

The pilot with the fewest frequencies left is seated next. A branch is left only where it is proven to hold nothing
better: somebody has no frequency left; spacing alone leaves room for fewer carriers than pilots; or what is seated,
with the cheapest frequency left for each of the others, costs no less than the best found. Pilots who are alike in kit,
channel and wake channel can swap places, so a frequency that was tried for one of them is not tried for the next.
"""

from collections import Counter
from collections.abc import Sequence

from meetapp.spectrum.heats.air import Air, Room, bits
from meetapp.spectrum.heats.effort import Effort
from meetapp.spectrum.heats.kits import Entry

CHANGE_COST = 1000
"""A channel change weighs more than any number of wake channels in one heat."""


def seat_cost(entry: Entry, bit: int) -> int:
    """What it costs that this pilot takes this frequency: 1000 for a change of channel, 1 for another wake channel.

    >>> from meetapp.spectrum.heats.kits import Kit
    >>> seat_cost(Entry(Kit(0b111, 0), 1, 2), 1), seat_cost(Entry(Kit(0b111, 0), 1, 2), 2)
    (1, 1000)
    """
    is_change = entry.set_bit is not None and bit != entry.set_bit
    is_other_wake = entry.wake_bit is not None and bit != entry.wake_bit
    return CHANGE_COST * is_change + is_other_wake


def best_seating(air: Air, entries: Sequence[Entry], effort: Effort) -> tuple[int, ...] | None:
    """A frequency (bit) for each pilot of a heat at the least cost, or None where they can't be up together.

    Order: as the entries. Raises: EffortSpent where the search was stopped. Cost: exponential in the pilots.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.heats.kits import Kit
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> every, low = Kit(air.mask([5658, 5695, 5732, 5769]), 0), Kit(air.mask([5695]), 0)
    >>> pilots = [Entry(every, None, air.bit(5769)), Entry(low, None, None)]
    >>> seats = best_seating(air, pilots, Effort(99, lambda: False))
    >>> [air.mhz(bit) for bit in seats]
    [5769, 5695]
    """
    search = _Seating(air, entries, effort)
    search.extend(air.empty, [entry.kit.mask for entry in search.sorts], dict(search.numbers), 0)
    if search.best is None:
        return None
    takers = {sort: list(places) for sort, places in search.places.items()}
    seats = [0] * len(entries)
    for sort, bit in search.best:
        seats[takers[sort].pop()] = bit
    return tuple(seats)


class _Seating:
    def __init__(self, air: Air, entries: Sequence[Entry], effort: Effort) -> None:
        self._air = air
        self._effort = effort
        self.sorts = list(Counter(entries))
        sort_of = {entry: sort for sort, entry in enumerate(self.sorts)}
        self.places: dict[int, list[int]] = {}
        for place, entry in enumerate(entries):
            self.places.setdefault(sort_of[entry], []).append(place)
        self.numbers = {sort: len(places) for sort, places in self.places.items()}
        self.best: tuple[tuple[int, int], ...] | None = None
        self._best_cost = CHANGE_COST * (len(entries) + 1)
        self._seats: list[tuple[int, int]] = []

    def extend(self, room: Room, masks: list[int], numbers: dict[int, int], cost: int) -> None:
        """Seat everybody who is left in `numbers`; `masks` lack the frequencies tried before."""
        if not numbers:
            self.best, self._best_cost = tuple(self._seats), cost
            return
        sort = self._next(room, masks, numbers, cost)
        if sort is None:
            return
        entry = self.sorts[sort]
        further = dict(numbers)
        further[sort] -= 1
        if not further[sort]:
            del further[sort]
        masks = list(masks)
        for bit in _cheapest_first(entry, masks[sort] & room.free[entry.kit.width]):
            masks[sort] &= ~(1 << bit)
            total = cost + seat_cost(entry, bit)
            if total < self._best_cost:
                self._effort.spend()
                self._seats.append((sort, bit))
                self.extend(self._air.added(room, bit, entry.kit.width), masks, further, total)
                self._seats.pop()

    def _next(self, room: Room, masks: list[int], numbers: dict[int, int], cost: int) -> int | None:
        """The pilot with the fewest frequencies left; None where nothing better can come of it."""
        fewest, chosen, union, left = 1 << 30, None, 0, 0
        for sort, number in numbers.items():
            entry = self.sorts[sort]
            free = masks[sort] & room.free[entry.kit.width]
            if free.bit_count() < number:
                return None
            if free.bit_count() < fewest:
                fewest, chosen = free.bit_count(), sort
            union |= free
            left += number
            cost += number * _least_cost(entry, free)
        if cost >= self._best_cost or self._air.at_most(union) < left:
            return None
        return chosen


def _least_cost(entry: Entry, free: int) -> int:
    is_change = entry.set_bit is not None and not free >> entry.set_bit & 1
    is_other_wake = entry.wake_bit is not None and not free >> entry.wake_bit & 1
    return CHANGE_COST * is_change + is_other_wake


def _cheapest_first(entry: Entry, free: int) -> list[int]:
    return sorted(bits(free), key=lambda bit: (seat_cost(entry, bit), bit))
