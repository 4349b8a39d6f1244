"""Carriers of different widths: which frequencies, and which of them for which width.

A list turned end for end keeps the same demand, so the halves of `sweep` hold here too: any list, or that list
turned, has a lower half that isn't longer than its upper one.

A list moved down keeps it as well, as long as each carrier still has room for its width. Where each width has room in
the same equal steps, and the lowest places of two widths are no further apart than any two carriers, the first carrier
is the one that stops the move: before the others reach the lowest place for their width, it has come to its own. So a
list that keeps a demand exists exactly where one starts at the lowest place for the width of its first carrier, and
the smallest list does too. This isn't used where lists are to be passed over, since those may be the moved ones, nor
with pilots, whose transmitters make some frequencies and not others.

With pilots a list is also told by how many of them it serves (see `crowd`): a token serves those whose transmitter
makes its frequency and is no wider. A beginning of a list is given up where all that may follow can't serve as many as
demanded.

Demands are in the largest step, of a quarter MHz, a half or a whole, that all measures of these widths are made of.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import gcd

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, exact_mhz
from meetapp.spectrum.crowd import crowd_of
from meetapp.spectrum.mixed_passes import MayServe, MixedPass, Placed, kept_by
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
    """Looks for lists of carriers of the widths of a problem, counting every carrier it tries.

    `takes`: for each pilot the tokens that they can take. None: nobody in particular is to be served.
    """

    def __init__(
        self, problem: PickProblem, takes: Sequence[Collection[Carrier]] | None = None, heats: int = 1
    ) -> None:
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
        placed = None if takes is None else [[self._placed(token) for token in tokens] for tokens in takes]
        self._crowd = None if placed is None else crowd_of(map(self._mask, placed), heats)
        self._turned_crowd = (
            None if placed is None else crowd_of((self._mask(self._turned_round(each)) for each in placed), heats)
        )
        served = self._crowd.pilots if self._crowd else 0
        self.ceiling = Demand(0 if widest is None else int(widest * per_mhz), useful, useful, served)
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
            yield from self._lists(self._pass(self._upright, demand, skip, halves, start), demand, skip)
            start = []
        if halves and (skip or self._crowd or self._turned.masks != self._upright.masks):
            start = self._turned_round(start)
            going = self._pass(self._turned, demand, skip, halves, start, is_turned=True)
            yield from self._lists(going, demand, skip, is_turned=True)

    def smallest_of(self, demand: Demand, skip: Collection[Found] = ()) -> Iterator[Found | None]:
        """Ever smaller lists that keep the demand: by MHz, and with the same MHz by widths, narrow ones first."""
        going = self._pass(self._upright, demand, skip)
        smallest: tuple[tuple[int, ...], tuple[float, ...]] | None = None
        for found in self._lists(going, demand, skip):
            if found is None:
                yield None
                continue
            key = tuple(carrier.mhz for carrier in found), tuple(carrier.width_mhz for carrier in found)
            if smallest is None or key < smallest:
                smallest = key
                going.not_above = [mhz - self._lowest for mhz in key[0]]
                yield found

    def has_room_for(self, demand: Demand) -> bool:
        """Whether the pool is long enough for the demand, and the transmitters: False proves that no list keeps it."""
        everywhere = self._everywhere(self._upright.masks)
        if self._crowd and self._crowd.most_served(0, everywhere, self._count) < demand.served:
            return False
        return self._pass(self._upright, demand).has_room()

    def kept_by(self, found: Found) -> Demand:
        """The hardest demand that a list keeps."""
        placed = [self._placed(carrier) for carrier in found]
        kept = kept_by(placed, self._excess)
        served = self._crowd.most_served(self._mask(placed)) if self._crowd else 0
        spacing, two, three = (value // self._step for value in (kept.spacing, kept.two, kept.three))
        return Demand(spacing, two, three, served)

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
        is_turned: bool = False,
    ) -> MixedPass:
        quarters = Demand(demand.spacing * self._step, demand.two * self._step, demand.three * self._step)
        is_anchored = pools.can_be_moved_down and not skip and self._crowd is None
        return MixedPass(
            self.tried,
            pools.masks,
            self._how_many,
            self._excess,
            quarters,
            halves,
            is_anchored,
            start,
            self._may_serve(demand.served, is_turned),
        )

    def _may_serve(self, served: int, is_turned: bool) -> MayServe | None:
        crowd = self._turned_crowd if is_turned else self._crowd
        if crowd is None or not served:
            return None
        return lambda chosen, further, left: (
            crowd.most_served(self._mask(chosen), self._everywhere(further), left) >= served
        )

    def _mask(self, placed: Sequence[Placed]) -> int:
        """The tokens as a mask for the crowd: first all places for the narrowest class, then those for the next."""
        return sum(1 << kind * (self._span + 1) + offset for offset, kind in placed)

    def _everywhere(self, masks: Sequence[int]) -> int:
        """The same for masks of each class."""
        return sum(mask << kind * (self._span + 1) for kind, mask in enumerate(masks))

    def _placed(self, carrier: Carrier) -> Placed:
        return carrier.mhz - self._lowest, self._widths.index(carrier.width_mhz)

    def _turned_round(self, placed: Sequence[Placed]) -> list[Placed]:
        return [(self._span - offset, kind) for offset, kind in reversed(placed)]

    def _lists(
        self, going: MixedPass, demand: Demand, skip: Collection[Found], is_turned: bool = False
    ) -> Iterator[Found | None]:
        for placed in going.lists():
            if placed is None:
                yield None
                continue
            upright = self._turned_round(placed) if is_turned else placed
            found = tuple(Carrier(self._lowest + offset, self._widths[kind]) for offset, kind in upright)
            if found not in skip and (not demand.served or self.kept_by(found).served >= demand.served):
                yield found
                continue
            self.tried.nodes += 1
            if self.tried.is_time_to_pause():
                yield None


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
