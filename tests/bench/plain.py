"""What the search is compared with: plain enumeration, and straightforward backtracking with bit masks.

Neither uses any of the search's arguments about gaps, halves or equal steps. The backtracking is given an easier
question: it proves the clearance alone, and takes the first list that reaches it. It stops where the spacings still to
come have no room.
"""

from itertools import combinations, pairwise

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.problem import OrderKey, PickProblem, order_key
from meetapp.spectrum.products import measure


def by_enumeration(problem: PickProblem) -> tuple[int, ...] | None:
    """Every list that keeps the spacing, one after the other."""
    best: OrderKey | None = None
    for mhz in combinations(problem.pool_mhz, problem.count):
        if all(high - low >= problem.spacing_mhz for low, high in pairwise(mhz)):
            key = order_key(measure([Carrier(each) for each in mhz]), mhz, problem)
            best = key if best is None else min(best, key)
    return None if best is None else best[1]


class Backtracking:
    """Carrier by carrier in ascending order; what could not beat the best clearance so far is masked out."""

    def __init__(self, problem: PickProblem) -> None:
        self._problem = problem
        self._lowest = problem.pool_mhz[0]
        self._best: tuple[int, ...] = ()
        self.clearance_mhz = -1
        self.tried = 0

    def best_set(self) -> tuple[int, ...]:
        """A list with the largest clearance (`clearance_mhz`); empty where no list keeps the spacing."""
        self._extend([], sum(1 << (mhz - self._lowest) for mhz in self._problem.pool_mhz))
        return self._best

    def _extend(self, chosen: list[int], candidates: int) -> None:
        to_come = self._problem.count - len(chosen) - 1
        highest = self._problem.pool_mhz[-1] - self._lowest - to_come * self._problem.spacing_mhz
        while candidates:
            bit = candidates & -candidates
            candidates ^= bit
            carrier = bit.bit_length() - 1
            if carrier > highest:
                return
            self.tried += 1
            if not to_come:
                self._take([*chosen, carrier])
                continue
            limit = carrier + self._problem.spacing_mhz
            self._extend([*chosen, carrier], (candidates >> limit << limit) & ~self._near_products(chosen, carrier))

    def _take(self, chosen: list[int]) -> None:
        mhz = tuple(each + self._lowest for each in chosen)
        clearance = measure([Carrier(each) for each in mhz]).clearance_mhz
        reached = self._problem.useful_mhz if clearance is None else min(int(clearance), self._problem.useful_mhz)
        if reached > self.clearance_mhz:
            self._best, self.clearance_mhz = mhz, reached

    def _near_products(self, chosen: list[int], carrier: int) -> int:
        """Everything at most as far as the best clearance from a product of the new carrier and the chosen ones."""
        reach = self.clearance_mhz + 1
        near = 0
        for a in chosen:
            near |= _window(2 * carrier - a, reach)
        for a, b in combinations(chosen, 2):
            near |= _window(carrier + b - a, reach)
        return near


def _window(centre: int, reach: int) -> int:
    if reach == 0:
        return 0
    width = (1 << (2 * reach - 1)) - 1
    shift = centre - reach + 1
    return width << shift if shift >= 0 else width >> -shift
