"""The heaviest group of pilots that can be up at once: the bound behind every 'it takes at least so many heats'.

Each kit has a weight; with all weights 1 the heaviest group is the largest one.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import reduce
from itertools import pairwise
from operator import or_

from meetapp.spectrum.heats.air import Air, Room
from meetapp.spectrum.heats.effort import Effort, EffortSpent
from meetapp.spectrum.heats.kits import Kit

Seats = tuple[tuple[tuple[int, int], Kit], ...]
"""A group that can be up at once: the carriers (bit, width) with the kit on each."""


@dataclass(frozen=True, slots=True)
class HeaviestGroup:
    """The heaviest group found, its weight, and whether none is heavier; the lighter ones found on the way to it.

    Without seats: none is heavier than `weight`, if that is proven.
    """

    seats: Seats
    weight: int
    is_proven: bool
    lighter: tuple[Seats, ...] = ()


def heaviest_group(
    air: Air, numbers: Mapping[Kit, int], weights: Mapping[Kit, int], size: int, effort: Effort, above: int = 0
) -> HeaviestGroup:
    """The heaviest group of at most `size` pilots that keeps the floors, if it weighs more than `above`.

    numbers: how many pilots there are of each kit. weights: whole numbers of 0 or more. Exhaustive: carriers are added
    in ascending frequency, and a branch is left only where the carriers that still have room (see `_more_above`), each
    with the heaviest pilots that have room there (see `_hope`), can't beat the best found. Which pilots a given set of
    carriers takes at best is a matching, filled with the heaviest kits first (a transversal matroid: Edmonds and
    Fulkerson 1965). Cost: exponential in the size.

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> every, low = Kit(air.mask([5658, 5695, 5732, 5769]), 0), Kit(air.mask([5658]), 0)
    >>> heaviest_group(air, {every: 9, low: 9}, {every: 1, low: 1}, 4, Effort(99, lambda: False)).weight
    3
    >>> heaviest_group(air, {every: 9, low: 9}, {every: 1, low: 5}, 4, Effort(99, lambda: False)).weight
    7
    """
    useful = {kit: number for kit, number in numbers.items() if weights[kit] > 0}
    search = _Heaviest(air, useful, weights, size, effort)
    search.weight = above
    try:
        search.extend(air.empty, -1)
    except EffortSpent:
        return search.found(is_proven=False)
    return search.found(is_proven=True)


class _Heaviest:
    def __init__(
        self,
        air: Air,
        numbers: Mapping[Kit, int],
        weights: Mapping[Kit, int],
        size: int,
        effort: Effort,
    ) -> None:
        self._air = air
        self._effort = effort
        self._kits = sorted(numbers, key=lambda kit: (-weights[kit], kit))
        self._numbers = [numbers[kit] for kit in self._kits]
        self._weights = [weights[kit] for kit in self._kits]
        self._size = min(size, sum(self._numbers))
        self._most = self._heaviest_sums()
        self._top = max((kit.mask.bit_length() - 1 for kit in self._kits), default=-1)
        self._carriers: list[tuple[int, int]] = []
        self._found: list[Seats] = []
        self.weight = 0

    def found(self, is_proven: bool) -> HeaviestGroup:
        """The answer."""
        best = self._found[-1] if self._found else ()
        return HeaviestGroup(best, self.weight, is_proven, tuple(self._found[:-1]))

    def extend(self, room: Room, last: int) -> None:
        """Add carriers above the last one until nothing heavier can come of it."""
        weight = self._weigh()
        above = [mask >> (last + 1) << (last + 1) for mask in room.free]
        while True:
            masks = [kit.mask & above[kit.width] for kit in self._kits]
            union = reduce(or_, masks, 0)
            more = min(self._size - len(self._carriers), self._more_above(last, union))
            if self._most[len(self._carriers) + more] <= self.weight or weight + self._hope(masks, more) <= self.weight:
                return
            bit = (union & -union).bit_length() - 1
            for width, mask in enumerate(above):
                if mask >> bit & 1 and any(kit.mask >> bit & 1 and kit.width == width for kit in self._kits):
                    self._effort.spend()
                    self._carriers.append((bit, width))
                    self.extend(self._air.added(room, bit, width), bit)
                    self._carriers.pop()
            above = [mask >> (bit + 1) << (bit + 1) for mask in above]

    def _hope(self, masks: list[int], more: int) -> int:
        """No more than this can further carriers weigh: as many as have room for the heavier kits, then the rest."""
        union = hope = counted = 0
        for mask, weight in zip(masks, self._weights, strict=True):
            if counted == more:
                break
            union |= mask
            fitting = min(more, self._air.at_most(union))
            hope += weight * max(0, fitting - counted)
            counted = max(counted, fitting)
        return hope

    def _more_above(self, last: int, union: int) -> int:
        """No more than this many carriers have room: by `Air.at_most`, and by gaps.

        Every gap between carriers side by side is at least a spacing and differs by the clearance from every other gap
        of the heat, so r more carriers take at least the sum of the r smallest such numbers, taken one after the other.
        """
        more = self._air.at_most(union)
        if last < 0 or not more:
            return more
        taken = sorted(high - low for (low, _), (high, _) in pairwise(self._carriers))
        difference, room, gap, fitting = self._air.least_difference, self._top - last, self._air.least_gap, 0
        while fitting < more:
            for other in taken:
                if abs(gap - other) < difference:
                    gap = other + difference
            if gap > room:
                return fitting
            room, gap, fitting = room - gap, gap + difference, fitting + 1
        return more

    def _weigh(self) -> int:
        """The most that pilots on the present carriers can weigh together; remembered where it is a new best."""
        kit_of: dict[int, int] = {}
        total = 0
        for kit, weight in enumerate(self._weights):
            for _ in range(self._numbers[kit]):
                if len(kit_of) == len(self._carriers) or not self._match(kit, kit_of, set()):
                    break
                total += weight
        if total > self.weight:
            self.weight = total
            self._found.append(tuple((self._carriers[place], self._kits[kit]) for place, kit in sorted(kit_of.items())))
        return total

    def _match(self, kit: int, kit_of: dict[int, int], tried: set[int]) -> bool:
        """Find a carrier for one more pilot of a kit, moving others over where needed (Kuhn's augmenting path)."""
        own = self._kits[kit]
        for place, (bit, width) in enumerate(self._carriers):
            if place not in tried and own.width == width and own.mask >> bit & 1:
                tried.add(place)
                if place not in kit_of or self._match(kit_of[place], kit_of, tried):
                    kit_of[place] = kit
                    return True
        return False

    def _heaviest_sums(self) -> list[int]:
        """The weight of the heaviest 0, 1, 2 ... pilots of all, whether or not they can be up together."""
        heaviest = [
            weight for weight, number in zip(self._weights, self._numbers, strict=True) for _ in range(number)
        ]
        sums = [0]
        for weight in heaviest[: self._size]:
            sums.append(sums[-1] + weight)
        return sums
