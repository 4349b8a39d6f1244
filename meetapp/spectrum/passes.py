"""One pass over a pool: every list of carriers of one width that keeps a demand, found by bit masks.

All numbers here are distances between centres in whole MHz. A set of frequencies is one integer, bit f for the
frequency f above the lowest, so that "everything near any of these" is a shift and an OR. While a list grows, what may
follow is kept relative to its last carrier x: bit (margin + gap) stands for x + gap.

What is left out, and why nothing is missed. Take carriers a < b < x that are chosen and y > x that may follow.
Third-order products tie y to them only in these ways (each product near a carrier is one of them, read from
whichever carrier is called the victim):

  two-signal, for a, x, y      |(y - x) - (x - a)|,   y + x - 2a,   2y - a - x        must reach `two`
  three-signal, for a, b, x, y |(y - x) - (b - a)|,   y - x + b - a,   y + x - a - b  must reach `three`

Only the first of each line needs a look: two lengths that differ by so much have a longer one of at least so much,
and the other two are sums in which either length is contained (y + x - a - b is y - x + b - a and twice x - b more).
The first bars a window around a difference already made, measured upwards from x. All differences that end at x are
the chosen carriers mirrored at x, so their windows are one mask, which only moves along as the list grows.

Room. Once the next carrier is placed, r gaps are still to come above it. Each is a difference of two pool frequencies
and at least `spacing`, stays `three` away from every difference between two carriers chosen before (they share no
carrier with it), and differs from every other gap by at least the smaller of `two` and `three`. Taking the smallest
such numbers one after the other gives the least sum that r gaps can have, because the k-th smallest gap can never be
below the k-th number taken. Also two gaps side by side differ by `two`, so each such pair takes at least twice
the spacing plus `two`. A carrier above which the longer of the two runs has no room is not tried.

Halves. Where the first k gaps together must not be longer than the last k ones, the room above a lower half is at least
as long as that half: so half of what there is bounds it, and the last carrier has a lowest place.
"""

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

from meetapp.spectrum.masks import bits
from meetapp.spectrum.space import Demand, Tried

MayServe = Callable[[int, int, int], bool]


class Pass:
    """One pass over a pool for one demand: every list that keeps it, found by bit masks.

    `halves`: how many gaps at the low end must not be longer than as many at the high end (0: no such condition).
    `is_anchored`: only lists that start at the lowest frequency. `start`: a list before which none is looked for.
    `may_serve` is asked about the carriers chosen, those that may follow (both as masks) and how many of these will;
    where it says no, no such list is looked for.
    """

    def __init__(
        self,
        tried: Tried,
        pool: int,
        count: int,
        demand: Demand,
        halves: int = 0,
        is_anchored: bool = False,
        start: Sequence[int] = (),
        may_serve: MayServe | None = None,
    ) -> None:
        self._tried = tried
        self._pool = pool
        self._count = count
        self._demand = demand
        self._halves = halves
        self._upper_start = count - 1 - halves
        self._is_anchored = is_anchored
        self._may_serve = may_serve
        self._step = min(demand.two, demand.three)
        self._margin = max(demand.two, demand.three, 1) - 1
        self._near_two = self._window(demand.two)
        self._near_three = self._window(demand.three)
        least_gap = max(1, demand.spacing) + self._margin
        self._gaps = _differences(pool) << self._margin >> least_gap << least_gap
        self._first = start[0] if start else 0
        self._start = [offset - self._first for offset in start]
        self._above_first: list[int] = []  # the chosen carriers, as distances from the first one

    def lists(self) -> Iterator[tuple[int, ...] | None]:
        """Every list as offsets from the lowest frequency, in ascending order, and None for a pause."""
        firsts = self._pool & -self._pool if self._is_anchored else self._pool
        for first in bits(firsts >> self._first << self._first):
            self._tried.nodes += 1
            if first != self._first:
                self._first, self._start = first, []
            self._above_first = [0]
            candidates = (self._pool >> first << self._margin) & self._gaps
            if self._count == 1:
                yield (first,)
            elif self._count == 2:
                for bit in bits(candidates):
                    self._tried.nodes += 1
                    yield first, first + bit - self._margin
            else:
                yield from self._extend(0, candidates, self._gaps, self._near_two, self._near_three)

    def has_room(self) -> bool:
        """Whether the pool is as long as the shortest run of all the gaps."""
        run = self._shortest_run(self._gaps, self._count - 1)
        return run is not None and run < self._pool.bit_length()

    def _window(self, reach: int) -> int:
        """The mask of all differences nearer than `reach` to none at all, seen from a carrier itself."""
        return ((1 << (2 * reach - 1)) - 1) << (self._margin - reach + 1) if reach > 0 else 0

    def _shortest_run(self, gaps: int, how_many: int) -> int | None:
        """The least sum of so many gaps (see above); None where there are not so many."""
        margin, step, run = self._margin, self._step, 0
        for _ in range(how_many):
            if not gaps:
                return None
            smallest = (gaps & -gaps).bit_length() - 1
            run += smallest - margin
            gaps = gaps >> (smallest + step) << (smallest + step) if step else gaps
        return max(run, how_many * self._demand.spacing + how_many // 2 * self._demand.two)

    def _highest_gap(self, at: int, candidates: int, gaps: int) -> int:
        """How far up the next carrier may be for the rest to have room; below 0 where it has none anyway."""
        placed = len(self._above_first)
        top = candidates.bit_length() - 1 - self._margin
        run = self._shortest_run(gaps, self._count - placed - 1)
        if run is None:
            return -1
        highest = top - run
        if placed <= self._halves:
            run = self._shortest_run(gaps, self._halves - placed)
            if run is None:
                return -1
            between = (self._upper_start - self._halves) * self._demand.spacing
            highest = min(highest, (at + top - between) // 2 - run - at)
        elif placed == self._upper_start:
            highest = min(highest, top - self._above_first[self._halves])
        return highest

    def _not_before_start(self, at: int, untried: int) -> int:
        """Without what would make a list that stands before the starting one."""
        placed = len(self._above_first)
        if self._start[:placed] != self._above_first:
            return untried
        least = self._start[placed] - at + self._margin
        return untried >> least << least

    def _extend(
        self, at: int, candidates: int, gaps: int, near_two: int, near_three: int
    ) -> Iterator[tuple[int, ...] | None]:
        """Complete the list from the candidates above its last carrier, which stands `at` above the first one.

        `gaps` are the differences that no chosen pair bars; `near_two` and `near_three` the windows around the
        distances from the last carrier down to each chosen one (itself included).
        """
        chosen = self._above_first
        if self._count - len(chosen) == 2:
            yield from self._last_two(at, candidates, gaps, near_two)
            return
        highest = self._highest_gap(at, candidates, gaps)
        if highest > 0:
            margin, tried = self._margin, self._tried
            untried = self._not_before_start(at, candidates & ((1 << (highest + margin + 1)) - 1))
            rest = self._shortest_run(gaps, self._count - len(chosen) - 2) or 0
            while untried:
                bit = untried & -untried
                untried ^= bit
                gap = bit.bit_length() - 1 - margin
                tried.nodes += 1
                two, three = near_two << gap, near_three << gap
                further = (candidates >> gap) & gaps & ~two
                if (
                    further
                    and (further & -further).bit_length() + rest <= further.bit_length()
                    and (self._may_serve is None or self._leaves_enough_served(at + gap, further))
                ):
                    chosen.append(at + gap)
                    yield from self._extend(
                        at + gap, further, gaps & ~three, two | self._near_two, three | self._near_three
                    )
                    chosen.pop()
        if self._tried.is_time_to_pause():
            yield None

    def _leaves_enough_served(self, next_one: int, further: int) -> bool:
        """Whether the chosen carriers, the next one and some of the further ones may serve as many as demanded."""
        assert self._may_serve is not None
        chosen = sum(1 << (self._first + each) for each in (*self._above_first, next_one))
        left = self._count - len(self._above_first) - 1
        return self._may_serve(chosen, further >> self._margin << (self._first + next_one), left)

    def _last_two(self, at: int, candidates: int, gaps: int, near_two: int) -> Iterator[tuple[int, ...] | None]:
        """Complete a list that lacks two carriers, trying the first of them and reading off the second."""
        margin, chosen, tried = self._margin, self._above_first, self._tried
        highest_ones = candidates
        if self._halves:
            half = chosen[self._halves]
            if self._upper_start == len(chosen):
                gaps = gaps >> (half + margin) << (half + margin)
            else:
                least = chosen[self._upper_start] + half - at + margin
                highest_ones = candidates >> least << least if least > 0 else candidates
        if not (gaps and highest_ones):
            return
        last_bit = highest_ones.bit_length() - 1 - ((gaps & -gaps).bit_length() - 1 - margin)
        untried = self._not_before_start(at, candidates & ((1 << (last_bit + 1)) - 1)) if last_bit > 0 else 0
        while untried:
            bit = untried & -untried
            untried ^= bit
            gap = bit.bit_length() - 1 - margin
            tried.nodes += 1
            last = (highest_ones >> gap) & gaps
            if last:
                for last_gap in bits(last & ~(near_two << gap)):
                    lower = [self._first + each for each in chosen]
                    yield *lower, self._first + at + gap, self._first + at + gap + last_gap - margin
        if tried.is_time_to_pause():
            yield None


@lru_cache(maxsize=8)
def _differences(pool: int) -> int:
    """The mask of all differences of two frequencies of a pool."""
    differences = 0
    for offset in bits(pool):
        differences |= pool >> offset
    return differences
