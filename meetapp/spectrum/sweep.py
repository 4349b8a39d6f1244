"""The sweep: lists of carriers of one width that keep a demand, and which of them have to be looked at.

What a pass over a pool leaves out, and why nothing is missed, is written in `passes`.

Halves. Turned end for end a list keeps the same demand, and one of the two has a lower half (the first (n - 1) // 2
gaps) that is not longer than its upper half (as many gaps from the top). Where any list will do (`any_of`), only such
lists are looked for: in the pool, and then in the pool turned end for end, which finds the others turned. A pool that
is its own mirror image needs only one of the two, unless lists are to be passed over.

Equal steps. In a pool of equal steps, moving a list down to the lowest frequency keeps the demand, and so does turning
it end for end. So a list that keeps it exists exactly where one starts at the lowest frequency with a lower half that
isn't longer; and the smallest list starts there and has a first gap that isn't longer than its last one, or it would
be smaller turned round. Neither is used where lists are to be passed over (`skip`), since those may be the moved ones,
nor with a crowd, whose transmitters make some frequencies and not others.

With a crowd a list is also told by how many pilots it serves (see `crowd`). A beginning of a list is given up where
what may follow can't serve as many as demanded, even by spacing alone (see `lookahead`).
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import exact_mhz
from meetapp.spectrum.crowd import Crowd
from meetapp.spectrum.lookahead import Lookahead
from meetapp.spectrum.masks import turned
from meetapp.spectrum.passes import MayServe, Pass
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.space import NOTHING_TO_MEASURE, Demand, Found, Tried
from meetapp.spectrum.spacing import largest_spacing

_FEWEST_WITH_HALVES = 4


class Sweep:
    """Looks for lists of carriers of one width for a problem, counting every carrier it tries.

    Demands are distances between centres in MHz, as if all carriers had the reference width, and with a crowd (on the
    offsets from the lowest frequency of the pool) how many pilots have to be served.
    """

    def __init__(self, problem: PickProblem, crowd: Crowd | None = None) -> None:
        pool = problem.pool_mhz
        self.tried = Tried()
        self._problem = problem
        self._lowest = pool[0]
        self._pool = sum(1 << (mhz - self._lowest) for mhz in pool)
        self._top = pool[-1] - pool[0]
        self._turned = turned(self._pool, self._top)
        self._crowd = crowd
        spacing = problem.centre_spacing_mhz
        self._ahead = self._turned_ahead = None
        if crowd is not None:
            self._ahead = Lookahead(self.tried, crowd, self._pool, spacing)
            self._turned_ahead = Lookahead(self.tried, crowd.turned(self._top), self._turned, spacing)
        self._has_equal_steps = len({high - low for low, high in pairwise(pool)}) < 2
        self.floor = Demand(spacing)
        useful = problem.centre_useful_mhz
        served = self._ahead.most(problem.count) if self._ahead else 0
        self.ceiling = Demand(largest_spacing(pool, problem.count) or 0, useful, useful, served)

    def any_of(
        self, demand: Demand, skip: Collection[Found] = (), onward_from: Found = ()
    ) -> Iterator[Found | None]:
        """Lists that keep the demand and are not in `skip`: at least one if there is one.

        Yields None for a pause after every few hundred carriers tried. An end without a list proves that none is left.
        `onward_from`: a list that an earlier call with no harder demand and the same `skip` found; what that call had
        passed over is left out. Worst case exponential in the count.
        """
        halves = (self._problem.count - 1) // 2 if self._problem.count >= _FEWEST_WITH_HALVES else 0
        can_be_moved = not skip and self._crowd is None
        is_anchored = self._has_equal_steps and can_be_moved
        start = [carrier.mhz - self._lowest for carrier in onward_from]
        has_upright_start = not halves or not start or start[halves] - start[0] <= start[-1] - start[-1 - halves]
        if has_upright_start:
            yield from self._lists(demand, skip, _Way(self._pool, halves, is_anchored, start))
            start = []
        if halves and not (can_be_moved and (is_anchored or self._turned == self._pool)):
            start = [self._top - offset for offset in reversed(start)]
            yield from self._lists(demand, skip, _Way(self._turned, halves, False, start, is_turned=True))

    def smallest_of(self, demand: Demand, skip: Collection[Found] = ()) -> Iterator[Found | None]:
        """The smallest list of MHz that keeps the demand and is not in `skip`, and then the end; pauses as above."""
        is_anchored = self._has_equal_steps and not skip and self._crowd is None
        halves = 1 if is_anchored and self._problem.count >= _FEWEST_WITH_HALVES else 0
        for found in self._lists(demand, skip, _Way(self._pool, halves, is_anchored)):
            yield found
            if found is not None:
                return

    def has_room_for(self, demand: Demand) -> bool:
        """Whether the pool is long enough for the demand, and the transmitters: False proves that no list keeps it."""
        if demand.served > self.ceiling.served:
            return False
        return Pass(self.tried, self._pool, self._problem.count, demand).has_room()

    def kept_by(self, found: Found) -> Demand:
        """The hardest demand that a list keeps, as distances between centres; `products.measure` says it at length."""
        mhz = [carrier.mhz for carrier in found]
        return Demand(
            min((high - low for low, high in pairwise(mhz)), default=NOTHING_TO_MEASURE),
            min((abs(a + c - 2 * b) for a, b, c in combinations(mhz, 3)), default=NOTHING_TO_MEASURE),
            min((abs(a + d - b - c) for a, b, c, d in combinations(mhz, 4)), default=NOTHING_TO_MEASURE),
            self._crowd.most_served(sum(1 << (each - self._lowest) for each in mhz)) if self._crowd else 0,
        )

    def clearance_mhz(self, clearance: int) -> float:
        """A clearance between centres with the widths taken off."""
        return exact_mhz(clearance - 2 * self._problem.extra_width_mhz)

    def _lists(self, demand: Demand, skip: Collection[Found], way: "_Way") -> Iterator[Found | None]:
        going = Pass(
            self.tried,
            way.pool,
            self._problem.count,
            demand,
            way.halves,
            way.is_anchored,
            way.start,
            self._may_serve(demand.served, way.is_turned),
        )
        for offsets in going.lists():
            if offsets is None:
                yield None
                continue
            if way.is_turned:
                offsets = tuple(self._top - offset for offset in reversed(offsets))
            found = tuple(Carrier(self._lowest + offset, self._problem.width_mhz) for offset in offsets)
            if found not in skip and (not demand.served or self.kept_by(found).served >= demand.served):
                yield found
                continue
            self.tried.nodes += 1
            if self.tried.is_time_to_pause():
                yield None

    def _may_serve(self, served: int, is_turned: bool) -> MayServe | None:
        ahead = self._turned_ahead if is_turned else self._ahead
        if ahead is None or not served:
            return None
        return lambda chosen, further, left: ahead.may_serve(chosen, further, left, served)


@dataclass(frozen=True, slots=True)
class _Way:
    """One way through the pool (see `Pass`)."""

    pool: int
    halves: int
    is_anchored: bool
    start: Sequence[int] = ()
    is_turned: bool = False
