"""One pass over a pool for carriers of different widths: every list that keeps a demand.

Like `passes`, but each carrier also has a class (its width), and all reaches depend on the classes. Distances between
centres are whole MHz; everything about widths is in quarters of a MHz, where it is whole: with h = (B - B0) / 2 for
a carrier, the width rules say for a < b < x chosen and y > x that may follow

  spacing                      y - x                    reaches  spacing + h(x) + h(y)
  two-signal, for a, x, y      |(y - x) - (x - a)|      reaches  two + h(a) + 2 h(x) + h(y)
  three-signal, for a, b, x, y |(y - x) - (b - a)|      reaches  three + h(a) + h(b) + h(x) + h(y)

The other products of `products` follow from these where carriers are as wide as each other, but not always where they
differ. So the three lines are used to leave things out, which loses nothing because they are necessary, and a complete
list is taken only when all its distances keep the demand.

Room. Take h(l) + h(r) off each of the r gaps that are still to come. What is left is `spacing` or more, and any two of
them, the longer less the shorter, differ by at least the smaller of `two` and `three` and twice the two h of the
shorter one. So r gaps take at least r spacings, the steps 0, 1, ... r - 1 times that difference with the least h, and
what was taken off: each h between two gaps counts twice, and at the far end the largest one counts once.

Halves: as in `passes`, with each gap at least as long as the two narrowest carriers allow.
"""

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

from meetapp.spectrum.space import NOTHING_TO_MEASURE, Demand, Tried

Placed = tuple[int, int]
"""A carrier: its offset from the lowest frequency, and its class."""

MayServe = Callable[[Sequence[Placed], Sequence[int], int], bool]
"""Whether these carriers, and so many more from these masks of each class, may serve as many pilots as demanded."""


class MixedPass:
    """One pass for one demand, given in quarters of a MHz.

    pools: for each class the mask of where it has room. how_many: for each class the carriers. excess: for each class
    its h in quarters of a MHz. `halves`, `is_anchored` and `start` as in `passes.Pass`: anchored lists start with a
    carrier at the lowest place for its class, `start` has the classes too. `may_serve`: a beginning of a list for which
    it says no is given up.
    """

    def __init__(
        self,
        tried: Tried,
        pools: Sequence[int],
        how_many: Sequence[int],
        excess: Sequence[int],
        demand: Demand,
        halves: int = 0,
        is_anchored: bool = False,
        start: Sequence[Placed] = (),
        may_serve: MayServe | None = None,
    ) -> None:
        self.not_above: Sequence[int] = ()  # offsets of a list: none that is larger is looked for any more
        self._may_serve = may_serve
        self._tried = tried
        self._pools = tuple(pools)
        self._how_many = tuple(how_many)
        self._excess = excess
        self._demand = demand
        self._count = sum(how_many)
        self._halves = halves
        self._upper_start = self._count - 1 - halves
        self._is_anchored = is_anchored
        self._start = list(start)
        self._chosen: list[Placed] = []
        self._step = max(0, min(demand.two, demand.three) + 4 * min(excess))
        self._least_gap = max(1, _whole(demand.spacing + 2 * min(excess)))
        self._runs: dict[tuple[int, tuple[int, ...]], int] = {}

    def lists(self) -> Iterator[tuple[Placed, ...] | None]:
        """Every list, by ascending offset and class carrier for carrier, and None for a pause."""
        no_bars = tuple(0 for _ in _pairs(len(self._pools)))
        firsts = tuple(pool & -pool for pool in self._pools) if self._is_anchored else self._pools
        yield from self._next_ones(firsts, self._pools, no_bars, self._how_many)

    def has_room(self) -> bool:
        """Whether the pools are long enough for all the gaps."""
        gaps = self._count - 1
        h = sorted(each for each, how_many in zip(self._excess, self._how_many, strict=True) for _ in range(how_many))
        run = gaps * self._demand.spacing + self._step * (gaps * (gaps - 1) // 2) + 2 * sum(h) - sum(h[-2:])
        return self._count == 1 or max(_whole(run), gaps) < max(pool.bit_length() for pool in self._pools)

    def _next_ones(
        self, nearest: tuple[int, ...], candidates: tuple[int, ...], bars: tuple[int, ...], left: tuple[int, ...]
    ) -> Iterator[tuple[Placed, ...] | None]:
        """Complete the list with one of the nearest as the next one, and the others from the candidates of each class.

        bars: for each pair of classes the gaps that a chosen pair bars between two such carriers. left: how many of
        each class are still to come.
        """
        top = max((mask.bit_length() - 1 for mask, more in zip(candidates, left, strict=True) if more), default=-1)
        highest = self._highest(top)
        untried = self._untried(nearest, left)
        while untried:
            bit = untried & -untried
            untried ^= bit
            offset = bit.bit_length() - 1
            if offset > highest or self._is_above(offset):
                break
            for kind, more in enumerate(left):
                if more and nearest[kind] & bit and not self._is_before_start(offset, kind):
                    self._tried.nodes += 1
                    yield from self._with(offset, kind, top, candidates, bars, left)
        if self._tried.is_time_to_pause():
            yield None

    def _untried(self, nearest: tuple[int, ...], left: tuple[int, ...]) -> int:
        """Where the next carrier may be, of any class."""
        chosen, placed, untried, least = self._chosen, len(self._chosen), 0, 0
        for mask, more in zip(nearest, left, strict=True):
            untried |= mask if more else 0
        if self._halves and placed == self._count - 1:
            least = chosen[self._upper_start][0] + chosen[self._halves][0] - chosen[0][0]
        if self._start and self._start[:placed] == chosen:
            least = max(least, self._start[placed][0])
        return untried >> least << least

    def _with(
        self,
        offset: int,
        kind: int,
        top: int,
        candidates: tuple[int, ...],
        bars: tuple[int, ...],
        left: tuple[int, ...],
    ) -> Iterator[tuple[Placed, ...] | None]:
        """Complete the list with this carrier as the next one."""
        left = tuple(more - (each == kind) for each, more in enumerate(left))
        chosen = self._chosen
        if not any(left):
            chosen.append((offset, kind))
            if self._keeps_demand():
                yield tuple(chosen)
            chosen.pop()
        elif offset + self._shortest_run(kind, left) <= top:
            further = tuple(
                self._further(mask, offset, kind, each, bars) if more else 0
                for each, (mask, more) in enumerate(zip(candidates, left, strict=True))
            )
            if all(further[each] for each, more in enumerate(left) if more):
                more_bars = self._more_bars(offset, kind, bars, left) if sum(left) > 1 else bars
                chosen.append((offset, kind))
                if self._may_serve is None or self._may_serve(chosen, further, sum(left)):
                    yield from self._next_ones(further, further, more_bars, left)
                chosen.pop()

    def _further(self, mask: int, offset: int, kind: int, next_kind: int, bars: tuple[int, ...]) -> int:
        """Where a carrier of a class may still be, once this one is placed."""
        h, demand = self._excess, self._demand
        least = offset + max(1, _whole(demand.spacing + h[kind] + h[next_kind]))
        mask = mask >> least << least
        mask &= ~(bars[_pair(kind, next_kind, len(h))] << offset)
        reach = demand.two + 2 * h[kind] + h[next_kind]
        for other, other_kind in self._chosen:
            mask &= ~_window(2 * offset - other, _whole(reach + h[other_kind]))
        return mask

    def _more_bars(
        self, offset: int, kind: int, bars: tuple[int, ...], left: tuple[int, ...]
    ) -> tuple[int, ...]:
        h, more_bars = self._excess, list(bars)
        for pair, (low, high) in enumerate(_pairs(len(h))):
            if left[low] and left[high]:
                reach = self._demand.three + h[kind] + h[low] + h[high]
                for other, other_kind in self._chosen:
                    more_bars[pair] |= _window(offset - other, _whole(reach + h[other_kind]))
        return tuple(more_bars)

    def _shortest_run(self, kind: int, left: tuple[int, ...]) -> int:
        """The least length from a carrier of a class up to the last of those that are left (see above)."""
        if (kind, left) not in self._runs:
            h = [self._excess[each] for each, more in enumerate(left) for _ in range(more)]
            gaps = len(h)
            steps = self._step * (gaps * (gaps - 1) // 2)
            run = gaps * self._demand.spacing + steps + self._excess[kind] + 2 * sum(h) - max(h)
            self._runs[kind, left] = max(gaps, _whole(run))
        return self._runs[kind, left]

    def _highest(self, top: int) -> int:
        """Above this offset the next carrier leaves the upper half less room than the lower one takes."""
        placed = len(self._chosen)
        if not self._halves or not placed:
            return top
        first = self._chosen[0][0]
        if placed <= self._halves:
            between = (self._upper_start - self._halves) * self._least_gap
            return (first + top - between) // 2 - (self._halves - placed) * self._least_gap
        return top - (self._chosen[self._halves][0] - first) if placed == self._upper_start else top

    def _is_before_start(self, offset: int, kind: int) -> bool:
        placed = len(self._chosen)
        return bool(self._start) and self._start[:placed] == self._chosen and (offset, kind) < self._start[placed]

    def _is_above(self, offset: int) -> bool:
        """Whether a list that goes on with this offset is larger than `not_above`."""
        placed = len(self._chosen)
        if not self.not_above or any(self._chosen[i][0] != self.not_above[i] for i in range(placed)):
            return False
        return offset > self.not_above[placed]

    def _keeps_demand(self) -> bool:
        kept = kept_by(self._chosen, self._excess)
        demand = self._demand
        return kept.spacing >= demand.spacing and kept.two >= demand.two and kept.three >= demand.three


def kept_by(carriers: Sequence[Placed], excess: Sequence[int]) -> Demand:
    """The hardest demand that a list keeps, in quarters of a MHz; `products.measure` says the same at length.

    >>> kept_by([(0, 0), (37, 0), (92, 1)], [0, 40])
    Demand(spacing=148, two=32, three=1099511627776, served=0)
    """
    placed = [(4 * offset, excess[kind]) for offset, kind in carriers]
    spacing = [b - a - ha - hb for (a, ha), (b, hb) in combinations(placed, 2)]
    two = [
        abs(3 * each - sum(offset for offset, _ in three)) - sum(h for _, h in three) - h_each
        for three in combinations(placed, 3)
        for each, h_each in three
    ]
    three_signal = [
        min(abs(a + b - c - d), abs(a + c - b - d), abs(a + d - b - c)) - ha - hb - hc - hd
        for (a, ha), (b, hb), (c, hc), (d, hd) in combinations(placed, 4)
    ]
    return Demand(*(min(each, default=NOTHING_TO_MEASURE) for each in (spacing, two, three_signal)))


def _pairs(classes: int) -> list[tuple[int, int]]:
    return [(low, high) for low in range(classes) for high in range(low, classes)]


def _pair(one: int, other: int, classes: int) -> int:
    low, high = sorted((one, other))
    return low * classes - low * (low - 1) // 2 + high - low


def _whole(quarters: int) -> int:
    """The least whole MHz that is not below so many quarters."""
    return -(-quarters // 4)


def _window(centre: int, reach: int) -> int:
    """The mask of everything nearer than `reach` to an offset."""
    if reach <= 0:
        return 0
    shift = centre - reach + 1
    return (1 << (2 * reach - 1)) - 1 << shift if shift >= 0 else (1 << (2 * reach - 1)) - 1 >> -shift
