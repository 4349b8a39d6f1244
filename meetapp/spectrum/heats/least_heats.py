"""At least how many heats it takes, proven: the linear programme of cutting stock, by column generation.

Give every pilot a weight such that no group that can be up at once weighs more than w. Then the heats number at
least the weight of all pilots divided by w, rounded up. Good weights are the prices of the linear programme that covers
the roster with groups, each counted by fractions; the group that it lacks is the heaviest one at its prices (Gilmore
and Gomory 1961). The programme is solved in floating point, but nothing rests on that: a bound counts only with
whole-number weights and a heaviest group that the exhaustive search has proven (Farley 1990).
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from meetapp.spectrum.heats.air import Air
from meetapp.spectrum.heats.effort import Effort
from meetapp.spectrum.heats.kits import Kit
from meetapp.spectrum.heats.largest import Seats, heaviest_group

_SCALE = 5040
"""Weights are whole parts of this: divisible by every size from 1 to 10, so that simple prices are met exactly."""

_TINY = 1e-9
_STEPS_FOR_ANY = 300


@dataclass(frozen=True, slots=True)
class LeastHeats:
    """A proven lower bound on the heats, with the weights that prove it, and how often each group is used.

    `weights`: every group that can be up at once weighs at most `heaviest`. `groups` with their (fractional) numbers
    cover the roster, and `seen` is every group that came up: hints where to look for a plan.
    """

    heats: int
    weights: Mapping[Kit, int]
    heaviest: int
    groups: tuple[tuple[Seats, float], ...] = ()
    seen: tuple[Seats, ...] = ()


def least_heats(
    air: Air, numbers: Mapping[Kit, int], size: int, effort: Effort, steps_each: int = 20_000
) -> LeastHeats:
    """The best lower bound that the effort allows; at the very least the pilots divided by the size.

    numbers: how many pilots there are of each kit. `steps_each`: how far each search for a heaviest group may go. Any
    group that makes the cover cheaper is taken; only where a short search finds none does a long one look for a proof.
    Cost: as many exhaustive searches as the programme needs columns.

    >>> from meetapp.spectrum.floors import Floors
    >>> air = Air([5658, 5695, 5732, 5769], [20], Floors(37, 10))
    >>> every, low = Kit(air.mask([5658, 5695, 5732, 5769]), 0), Kit(air.mask([5658]), 0)
    >>> least_heats(air, {every: 7, low: 2}, 4, Effort(999, lambda: False)).heats
    3
    """
    programme = _Programme(list(numbers), list(numbers.values()))
    pilots, alike = sum(numbers.values()), dict.fromkeys(numbers, 1)
    best = LeastHeats(-(-pilots // size), alike, size)
    largest = heaviest_group(air, numbers, alike, size, effort.share(steps_each))
    if largest.is_proven and largest.weight < size:
        best = LeastHeats(-(-pilots // largest.weight), alike, largest.weight)
    seen = [*largest.lighter, largest.seats]
    while True:
        prices = programme.prices()
        for steps in (_STEPS_FOR_ANY, steps_each):
            group = heaviest_group(air, numbers, prices, size, effort.share(steps), above=_SCALE)
            if group.seats or group.is_proven:
                break
        if group.is_proven:
            heats = -(-sum(prices[kit] * number for kit, number in numbers.items()) // group.weight)
            if heats > best.heats:
                best = LeastHeats(heats, prices, group.weight)
        if not group.seats or effort.is_spent():
            return replace(best, groups=programme.groups(), seen=tuple(seen))
        seen += [*group.lighter, group.seats]
        programme.enter(group.seats)


class _Programme:
    """Cover the numbers exactly with groups, each used x times, with the least sum of x: a simplex basis by columns.

    A group with somebody left out is a group too, so covering exactly costs no more than covering at least.
    """

    def __init__(self, kits: list[Kit], numbers: list[int]) -> None:
        self._kits = kits
        rows = range(len(kits))
        self._inverse = [[float(row == column) for column in rows] for row in rows]
        self._used = [float(number) for number in numbers]
        self._groups: list[Seats] = [()] * len(kits)

    def prices(self) -> dict[Kit, int]:
        """The price of each kit in whole parts; a kit that is covered too dearly has none."""
        sums = [sum(row[column] for row in self._inverse) for column in range(len(self._kits))]
        return {kit: max(0, int(price * _SCALE + _TINY)) for kit, price in zip(self._kits, sums, strict=True)}

    def enter(self, group: Seats) -> None:
        """Take a group into the basis that is worth more than one at the present prices."""
        column = [float(sum(kit == own for _, kit in group)) for own in self._kits]
        entering = [sum(value * each for value, each in zip(row, column, strict=True)) for row in self._inverse]
        ratios = [
            (self._used[row] / value, row) for row, value in enumerate(entering) if value > _TINY
        ]
        _, pivot = min(ratios)
        self._pivot(pivot, entering)
        self._groups[pivot] = group

    def groups(self) -> tuple[tuple[Seats, float], ...]:
        """The groups in use and how often."""
        return tuple(
            (group, used) for group, used in zip(self._groups, self._used, strict=True) if group and used > _TINY
        )

    def _pivot(self, pivot: int, entering: list[float]) -> None:
        scale = entering[pivot]
        self._inverse[pivot] = [value / scale for value in self._inverse[pivot]]
        self._used[pivot] /= scale
        for row, factor in enumerate(entering):
            if row != pivot and factor:
                own = self._inverse[row]
                self._inverse[row] = [a - factor * b for a, b in zip(own, self._inverse[pivot], strict=True)]
                self._used[row] -= factor * self._used[pivot]
