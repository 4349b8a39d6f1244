"""A plan out of the groups that the bound came across: whole numbers of them instead of fractions."""

from collections import Counter
from collections.abc import Mapping

from meetapp.spectrum.heats.effort import Effort, EffortSpent
from meetapp.spectrum.heats.kits import Kit
from meetapp.spectrum.heats.largest import Seats
from meetapp.spectrum.heats.least_heats import LeastHeats


def cover(
    numbers: Mapping[Kit, int], heats: int, least: LeastHeats, effort: Effort
) -> tuple[Seats, ...] | None:
    """Exactly so many of the groups seen, with places enough for everybody; None where none were found.

    numbers: how many pilots there are of each kit. The dearest kit left goes first, into the group that takes the most
    weight off. A branch is left where the pilots left weigh more than the heats left can hold (by the bound's weights).

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.heats.air import Air
    >>> from meetapp.spectrum.heats.least_heats import least_heats
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> numbers = {Kit(air.mask([5658, 5695, 5732, 5769]), 0): 4, Kit(air.mask([5658]), 0): 2}
    >>> least = least_heats(air, numbers, 4, Effort(999, lambda: False))
    >>> [len(group) for group in cover(numbers, 2, least, Effort(99, lambda: False))]
    [3, 3]
    """
    search = _Cover(numbers, least, effort)
    try:
        return search.extend(tuple(numbers.values()), heats)
    except EffortSpent:
        return None


class _Cover:
    def __init__(self, numbers: Mapping[Kit, int], least: LeastHeats, effort: Effort) -> None:
        kits = list(numbers)
        self._effort = effort
        self._heaviest = least.heaviest
        self._weights = [least.weights[kit] for kit in kits]
        columns: dict[tuple[int, ...], Seats] = {}
        for group in least.seen:
            counted = Counter(kit for _, kit in group)
            columns.setdefault(tuple(counted[kit] for kit in kits), group)
        self._columns = columns
        self._failed: set[tuple[tuple[int, ...], int]] = set()

    def extend(self, left: tuple[int, ...], heats: int) -> tuple[Seats, ...] | None:
        """Groups for the pilots left in so many heats."""
        if not any(left):
            return ()
        weight = sum(number * each for number, each in zip(left, self._weights, strict=True))
        if not heats or weight > heats * self._heaviest or (left, heats) in self._failed:
            return None
        self._effort.spend()
        rests = {
            tuple(max(0, number - taken) for number, taken in zip(left, column, strict=True)): group
            for column, group in self._columns.items()
        }
        dearest = max((kit for kit, number in enumerate(left) if number), key=lambda kit: self._weights[kit])
        useful = [rest for rest in rests if rest[dearest] < left[dearest]]
        for rest in sorted(useful, key=self._weigh):
            found = self.extend(rest, heats - 1)
            if found is not None:
                return (rests[rest], *found)
        self._failed.add((left, heats))
        return None

    def _weigh(self, left: tuple[int, ...]) -> tuple[int, int]:
        return sum(number * each for number, each in zip(left, self._weights, strict=True)), sum(left)
