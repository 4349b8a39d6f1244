"""Carriers of different widths: which frequencies, and which of them for which width.

A list turned end for end keeps the same demand, so the halves of `sweep` hold here too: any list, or that list
turned, has a lower half that isn't longer than its upper one.

A list moved down keeps it as well, as long as each carrier still has room for its width. Where each width has room in
the same equal steps, and the lowest places of two widths are no further apart than any two carriers, the first carrier
is the one that stops the move: before the others reach the lowest place for their width, it has come to its own. So a
list that keeps a demand exists exactly where one starts at the lowest place for the width of its first carrier, and
the smallest list does too. This isn't used where lists are to be passed over, since those may be the moved ones.

Demands are in the largest step, of a quarter MHz, a half or a whole, that all measures of these widths are made of.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, exact_mhz
from meetapp.spectrum.mixed_passes import MixedPass, Placed, kept_by
from meetapp.spectrum.mixed_room import widest_spacing
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.space import NOTHING_TO_MEASURE, Demand, Found, Tried

_QUARTERS = 4
_FEWEST_WITH_HALVES = 4


@dataclass(frozen=True, slots=True)
class _Pools:
    """Where each class has room, from the lowest frequency up or, turned, from the highest one down."""

    masks: tuple[int, ...]
    can_be_moved_down: bool


class MixedSweep:
    """Looks for lists of carriers of the widths of a problem, counting every carrier it tries."""

    def __init__(self, problem: PickProblem) -> None:
        self.tried = Tried()
        self._widths = sorted(set(problem.widths_mhz))
        self._how_many = [problem.widths_mhz.count(width) for width in self._widths]
        self._count = problem.count
        self._lowest, highest = problem.pool_mhz[0], problem.pool_mhz[-1]
        self._span = highest - self._lowest
        self._excess = [int(2 * (width - REFERENCE_WIDTH_MHZ)) for width in self._widths]
        self._step = gcd(_QUARTERS, *self._excess)
        per_mhz = _QUARTERS // self._step
        self.floor = Demand(problem.spacing_mhz * per_mhz, two=-NOTHING_TO_MEASURE, three=-NOTHING_TO_MEASURE)
        widest = widest_spacing(problem)
        useful = problem.useful_mhz * per_mhz
        self.ceiling = Demand(0 if widest is None else int(widest * per_mhz), useful, useful)
        rooms = [problem.room_for(width) for width in self._widths]
        least_gap = max(1, problem.spacing_mhz + min(self._excess) / 2)
        self._upright = _pools([[mhz - self._lowest for mhz in room] for room in rooms], least_gap)
        self._turned = _pools([[highest - mhz for mhz in reversed(room)] for room in rooms], least_gap)

    def any_of(
        self, demand: Demand, skip: Collection[Found] = (), onward_from: Found = ()
    ) -> Iterator[Found | None]:
        """Lists that keep the demand and are not in `skip`; see `space.Space`. Worst case exponential in the count."""
        halves = (self._count - 1) // 2 if self._count >= _FEWEST_WITH_HALVES else 0
        start = [self._placed(carrier) for carrier in onward_from]
        if not halves or not start or start[halves][0] - start[0][0] <= start[-1][0] - start[-1 - halves][0]:
            yield from self._lists(self._pass(self._upright, demand, skip, halves, start), skip)
            start = []
        if halves and (skip or self._turned.masks != self._upright.masks):
            start = self._turned_round(start)
            yield from self._lists(self._pass(self._turned, demand, skip, halves, start), skip, is_turned=True)

    def smallest_of(self, demand: Demand, skip: Collection[Found] = ()) -> Iterator[Found | None]:
        """Ever smaller lists that keep the demand: by MHz, and with the same MHz by widths, narrow ones first."""
        going = self._pass(self._upright, demand, skip)
        smallest: tuple[tuple[int, ...], tuple[float, ...]] | None = None
        for found in self._lists(going, skip):
            if found is None:
                yield None
                continue
            key = tuple(carrier.mhz for carrier in found), tuple(carrier.width_mhz for carrier in found)
            if smallest is None or key < smallest:
                smallest = key
                going.not_above = [mhz - self._lowest for mhz in key[0]]
                yield found

    def has_room_for(self, demand: Demand) -> bool:
        """Whether the pool is long enough for the demand: False proves that no list keeps it."""
        return self._pass(self._upright, demand).has_room()

    def kept_by(self, found: Found) -> Demand:
        """The hardest demand that a list keeps."""
        kept = kept_by([self._placed(carrier) for carrier in found], self._excess)
        return Demand(*(value // self._step for value in (kept.spacing, kept.two, kept.three)))

    def clearance_mhz(self, clearance: int) -> float:
        """A clearance in MHz."""
        return exact_mhz(clearance * self._step / _QUARTERS)

    def _pass(
        self,
        pools: _Pools,
        demand: Demand,
        skip: Collection[Found] = (),
        halves: int = 0,
        start: Sequence[Placed] = (),
    ) -> MixedPass:
        quarters = Demand(demand.spacing * self._step, demand.two * self._step, demand.three * self._step)
        is_anchored = pools.can_be_moved_down and not skip
        return MixedPass(self.tried, pools.masks, self._how_many, self._excess, quarters, halves, is_anchored, start)

    def _placed(self, carrier: Carrier) -> Placed:
        return carrier.mhz - self._lowest, self._widths.index(carrier.width_mhz)

    def _turned_round(self, placed: Sequence[Placed]) -> list[Placed]:
        return [(self._span - offset, kind) for offset, kind in reversed(placed)]

    def _lists(self, going: MixedPass, skip: Collection[Found], is_turned: bool = False) -> Iterator[Found | None]:
        for placed in going.lists():
            if placed is None:
                yield None
                continue
            upright = self._turned_round(placed) if is_turned else placed
            found = tuple(Carrier(self._lowest + offset, self._widths[kind]) for offset, kind in upright)
            if found not in skip:
                yield found


def _pools(places: Sequence[Sequence[int]], least_gap: float) -> _Pools:
    """The masks of the places of each class, which ascend, and whether every list can be moved down (see above)."""
    masks = tuple(sum(1 << place for place in each) for each in places)
    steps = {high - low for each in places for low, high in pairwise(each)}
    lowest = [each[0] for each in places if each]
    if len(steps) != 1 or len(lowest) < len(places):
        return _Pools(masks, False)
    apart = max(lowest) - min(lowest)
    in_step = all((each - lowest[0]) % max(steps) == 0 for each in lowest)
    return _Pools(masks, in_step and apart <= least_gap)
