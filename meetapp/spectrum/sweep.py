"""The sweep: the smallest ascending list of carriers that keeps a demand, found by bit masks.

All numbers here are distances between centres in whole MHz. A set of candidate frequencies is one integer whose
bit `f` stands for the frequency `lowest + f`, so that "everything near any of these" is a shift and an OR.

What is left out, and why nothing is missed. Take carriers a < b < x that are chosen and y > x that may follow.
Third-order products tie y to them only in these ways (each product near a carrier is one of them, read from
whichever carrier is called the victim):

  two-signal, for a, x, y      |(y - x) - (x - a)|,   y + x - 2a,   2y - a - x        must reach `two`
  three-signal, for a, b, x, y |(y - x) - (b - a)|,   y - x + b - a,   y + x - a - b  must reach `three`

Only the first of each line needs a look: two lengths that differ by so much have a longer one of at least so much,
and the other two are sums in which either length is contained (y + x - a - b is y - x + b - a and twice x - b more).
The first bars a window around a difference already made, measured upwards from x: one shift of the mask of barred
differences.

A run of r carriers has r - 1 gaps. Each gap is a difference of two pool frequencies, is at least `spacing`,
stays `three` away from every difference between two carriers already chosen (they share no carrier with it) and
differs from every other gap by at least the smaller of `two` and `three`. Taking the smallest such numbers one
after the other gives the least sum that r - 1 gaps can have, because the k-th smallest gap can never be
below the k-th number taken. Also two gaps side by side differ by `two`, so each such pair takes at least
twice the spacing plus `two`. A carrier above which the longer of the two runs has no room is not tried.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

NOTHING_TO_MEASURE = 1 << 40
"""Stands for the distance that no product has: further than any distance between frequencies."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a list must keep: the least distances, in MHz between centres."""

    spacing: int
    two: int = 0
    three: int = 0


class BudgetSpent(Exception):
    """More carriers were tried than the caller wanted."""


class Sweep:
    """Looks for lists of `count` carriers from an ascending pool, counting every carrier it tries."""

    def __init__(self, pool_mhz: Sequence[int], count: int, node_budget: int | None = None) -> None:
        self.nodes = 0
        self._budget = node_budget
        self._count = count
        self._lowest = pool_mhz[0]
        self._pool = sum(1 << (mhz - self._lowest) for mhz in pool_mhz)
        self._differences = 0
        for mhz in pool_mhz:
            self._differences |= self._pool >> (mhz - self._lowest)
        self._demand = Demand(1)
        self._start: tuple[int, ...] = ()
        self._skip: Collection[tuple[int, ...]] = ()
        self._chosen: list[int] = []

    def first(
        self, demand: Demand, start: tuple[int, ...] = (), skip: Collection[tuple[int, ...]] = ()
    ) -> tuple[int, ...] | None:
        """The smallest list that keeps the demand, is not below `start` and is not one of `skip`; None if none.

        Lists are compared as lists of MHz. Raises BudgetSpent once the budget of carriers tried is used up
        (over all calls together). Worst case exponential in the count.
        """
        self._demand = demand
        self._start = tuple(mhz - self._lowest for mhz in start)
        self._skip = skip
        self._chosen = []
        return self._extend(self._pool, 0, bool(start))

    def has_room_for(self, demand: Demand) -> bool:
        """Whether the pool is long enough for the demand: False proves that no list keeps it."""
        self._demand = demand
        run = self._shortest_run(0, self._count)
        return run is not None and run < self._pool.bit_length()

    def _extend(self, candidates: int, barred: int, on_start: bool) -> tuple[int, ...] | None:
        """Complete the chosen carriers from the candidates above them.

        `barred` holds the differences that are nearer than `three` to one between two chosen carriers; `on_start` says
        that all chosen so far are those of the starting list, so that lists below it are to be passed over.
        """
        depth = len(self._chosen)
        if on_start:
            candidates = candidates >> self._start[depth] << self._start[depth]
        run = self._shortest_run(barred, self._count - depth)
        if run is None:
            return None
        highest = candidates.bit_length() - 1 - run
        while candidates:
            lowest_bit = candidates & -candidates
            carrier = lowest_bit.bit_length() - 1
            if carrier > highest:
                return None
            candidates ^= lowest_bit
            self._count_node()
            found = self._try(carrier, candidates, barred, on_start and carrier == self._start[depth])
            if found is not None:
                return found
        return None

    def _try(self, carrier: int, candidates: int, barred: int, on_start: bool) -> tuple[int, ...] | None:
        """Choose one more carrier and complete the list."""
        chosen = self._chosen
        if len(chosen) + 1 == self._count:
            found = (*(self._lowest + offset for offset in chosen), self._lowest + carrier)
            return None if found in self._skip else found
        barred_above = barred
        for other in chosen:
            barred_above |= _window(carrier - other, self._demand.two)
            barred |= _window(carrier - other, self._demand.three)
        limit = carrier + self._demand.spacing
        candidates &= ~(barred_above << carrier)
        chosen.append(carrier)
        found_above = self._extend(candidates >> limit << limit, barred, on_start)
        chosen.pop()
        return found_above

    def _shortest_run(self, barred: int, carriers: int) -> int | None:
        """The least distance from first to last of so many carriers (see above); None where no gaps are left."""
        demand = self._demand
        spacing = max(1, demand.spacing)
        step = min(demand.two, demand.three)
        allowed = self._differences & ~barred
        run, gap = 0, spacing
        for _ in range(carriers - 1):
            wider = allowed >> gap
            if not wider:
                return None
            gap += (wider & -wider).bit_length() - 1
            run += gap
            gap += step
        return max(run, (carriers - 1) * spacing + (carriers - 1) // 2 * demand.two)

    def _count_node(self) -> None:
        if self.nodes == self._budget:
            raise BudgetSpent
        self.nodes += 1


def _window(difference: int, reach: int) -> int:
    """The mask of all differences nearer than `reach` to the given one."""
    if reach <= 0:
        return 0
    width = (1 << (2 * reach - 1)) - 1
    shift = difference - reach + 1
    return width << shift if shift >= 0 else width >> -shift
