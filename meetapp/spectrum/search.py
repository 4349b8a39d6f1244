"""The best set of carriers from a pool, exactly and proven.

The order of sets is compared one measure after the other (`problem.order_key`), and so is the search: it finds the
largest first measure, then with that kept the largest second one, and so on. Each step only ever tightens the demand:

1. The sweep gives the smallest list that keeps the demand. Its own measure is often better than what was demanded.
2. The demand is raised to one MHz above that measure, and the sweep goes on from this very list. It need not look
   below: a list below that kept the raised demand would have kept the old one too, and been found before.
3. Where the sweep comes to its end, the last measure is the largest: it becomes part of the demand for good,
   and the next measure is raised, again from the last list on, for the same reason.

So when the last measure can't be raised, the list in hand is also the smallest one with these measures: the fourth
comparison costs nothing. What the sweep leaves out, and why that loses nothing, is written in `sweep`.
Two more ends: a clearance is not raised above the useful one, which counts for nothing, nor the spacing above the
widest that so many carriers can have in the pool.

The k-th best set is the best one that is not among the k - 1 before it, so it is found the same way, with those
skipped. No measure can then be better than that of the set before, as long as all measures compared before it
are equal.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, islice, pairwise
from typing import Literal, NamedTuple

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import exact_mhz
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.spacing import largest_count, largest_spacing
from meetapp.spectrum.sweep import NOTHING_TO_MEASURE, BudgetSpent, Demand, Sweep

_Stage = tuple[Literal["spacing", "two", "three"], ...]
_STAGES: dict[str, tuple[_Stage, ...]] = {
    "both": (("two", "three"), ("two",), ("spacing",)),
    "two": (("two",), ("three",), ("spacing",)),
}


class _Distances(NamedTuple):
    """The measures of a list as distances between centres, before widths are taken off."""

    spacing: int
    two: int
    three: int


def best_set(problem: PickProblem, node_budget: int | None = None) -> Result:
    """The best set by `order_key`: Optimal, or why there is none, or how far the budget went.

    `node_budget` bounds the carriers tried in all; None means to go on until it is proven. Same input, same answer.
    Cost: worst case exponential in the count; 8 carriers of the 39 or 47 published frequencies take some ten thousand
    nodes at most.

    >>> best_set(PickProblem((5645, 5685, 5732, 5745, 5806, 5825, 5945), 5, 37)).mhz
    (5645, 5685, 5745, 5825, 5945)
    >>> best_set(PickProblem((5658, 5695, 5732), 3, 40))
    Impossible(largest_count=2, largest_spacing_mhz=37)
    """
    return next(_ranked(problem, node_budget))


def next_best(problem: PickProblem, how_many: int, node_budget: int | None = None) -> tuple[Result, ...]:
    """The best sets in order, the best first; fewer where the pool holds fewer.

    All but the last are Optimal: each is the best of the sets that are not before it. The last may be a BestFound or
    Undecided where the budget, which counts for all together, was spent. No set at all: one Impossible.

    >>> [result.mhz for result in next_best(PickProblem((5645, 5745, 5880, 5945), 2, 37), 3)]
    [(5645, 5945), (5645, 5880), (5745, 5945)]
    """
    return tuple(islice(_ranked(problem, node_budget), how_many))


def best_per_spacing(
    problem: PickProblem, node_budget: int | None = None
) -> tuple[tuple[float, Optimal | BestFound], ...]:
    """Wider spacing against more clearance: the best set for each spacing worth having, narrowest first.

    Starts at the problem's spacing; each entry is a spacing with the best set that has it. A spacing that is left out
    is dominated: a set in the list has more spacing and is better besides. Nothing in the list is dominated, since each
    is the best of all sets with its spacing or more. Empty with one carrier, which has no spacing, and where no set is
    possible. The budget counts for each spacing; where it is spent, the list ends with the best set found so far.

    >>> pool = (5645, 5685, 5695, 5740, 5760, 5880, 5945)
    >>> for spacing, best in best_per_spacing(PickProblem(pool, 4, 20)):
    ...     print(spacing, best.mhz, best.measures.clearance_mhz)
    40 (5645, 5685, 5760, 5945) 35
    65 (5645, 5740, 5880, 5945) 30
    """
    points: list[tuple[float, Optimal | BestFound]] = []
    floor = problem.spacing_mhz
    while True:
        result = best_set(replace(problem, spacing_mhz=floor), node_budget)
        if isinstance(result, Impossible | Undecided) or result.measures.spacing_mhz is None:
            return tuple(points)
        points.append((result.measures.spacing_mhz, result))
        if isinstance(result, BestFound):
            return tuple(points)
        floor = int(result.measures.spacing_mhz) + 1


def _ranked(problem: PickProblem, node_budget: int | None) -> Iterator[Result]:
    """The results in order, until there are no more sets or the budget is spent."""
    count = largest_count(problem.pool_mhz, problem.centre_spacing_mhz)
    if count < problem.count:
        widest = largest_spacing(problem.pool_mhz, problem.count)
        yield Impossible(count, None if widest is None else exact_mhz(widest - problem.extra_width_mhz))
        return
    search = _Search(problem, node_budget)
    try:
        while (found := search.next_best()) is not None:
            yield found
    except BudgetSpent:
        yield search.answer_so_far()


class _Search:
    """The search for one problem, one set after the other; not to be used directly."""

    def __init__(self, problem: PickProblem, node_budget: int | None) -> None:
        self._problem = problem
        self._sweep = Sweep(problem.pool_mhz, problem.count, node_budget)
        self._widest = largest_spacing(problem.pool_mhz, problem.count) or 0
        self._stages = _stages(problem)
        self._listed: set[tuple[int, ...]] = set()
        self._before: list[int] = []  # what the set before reaches at each stage
        self._reached: list[int] = []  # the same for the set in hand, as far as it is proven
        self._in_hand: tuple[int, ...] | None = None

    def next_best(self) -> Optimal | None:
        """The best set that is not listed yet, which lists it; None when all are listed."""
        self._before, self._reached, self._in_hand = self._reached, [], None
        demand = Demand(self._problem.centre_spacing_mhz)
        self._in_hand = self._sweep.first(demand, skip=self._listed)
        if self._in_hand is None:
            return None
        for stage in self._stages:
            demand, value = self._raise(stage, demand, self._in_hand)
            self._reached.append(value)
        self._listed.add(self._in_hand)
        return Optimal(self._in_hand, self._measures(self._in_hand), self._sweep.nodes)

    def _raise(self, stage: _Stage, demand: Demand, in_hand: tuple[int, ...]) -> tuple[Demand, int]:
        """Raise the measures of a stage as far as they go; the demand with them kept, and what they reach."""
        ceiling = self._ceiling(stage)
        while True:
            distances = _distances(in_hand)
            value = min(ceiling, *(getattr(distances, name) for name in stage))
            if value < ceiling:
                better = self._sweep.first(_demanding(demand, stage, value + 1), in_hand, self._listed)
                if better is not None:
                    self._in_hand = in_hand = better
                    continue
            return _demanding(demand, stage, value), value

    def _ceiling(self, stage: _Stage) -> int:
        """A value that a stage can't pass, or that more than which doesn't count."""
        ceiling = self._widest if stage == ("spacing",) else self._problem.centre_useful_mhz
        so_far = len(self._reached)
        if self._before and self._before[:so_far] == self._reached:
            ceiling = min(ceiling, self._before[so_far])
        return ceiling

    def answer_so_far(self) -> BestFound | Undecided:
        """What can be said when the budget is spent."""
        if self._in_hand is None:
            return Undecided(self._sweep.nodes)
        return BestFound(self._in_hand, self._measures(self._in_hand), self._bound(), self._sweep.nodes)

    def _measures(self, mhz: tuple[int, ...]) -> Measures:
        return measure([Carrier(each, self._problem.width_mhz) for each in mhz])

    def _bound(self) -> float | None:
        """What the first clearance compared can't pass, proven or from the length of the pool alone."""
        if len(self._stages) < len(_STAGES["both"]):
            return None
        stage = self._stages[0]
        floor = Demand(self._problem.centre_spacing_mhz)
        bound = self._reached[0] if self._reached else self._ceiling(stage)
        while bound and not self._sweep.has_room_for(_demanding(floor, stage, bound)):
            bound -= 1
        return exact_mhz(bound - 2 * self._problem.extra_width_mhz)


def _stages(problem: PickProblem) -> tuple[_Stage, ...]:
    """What is compared: with two carriers only their spacing, with one nothing but the list itself."""
    if problem.count >= 3:
        return _STAGES[problem.signals]
    return (("spacing",),) if problem.count == 2 else ()


def _demanding(demand: Demand, stage: _Stage, value: int) -> Demand:
    return replace(demand, **dict.fromkeys(stage, value))


def _distances(mhz: tuple[int, ...]) -> _Distances:
    """The least distances in an ascending list, as the sweep reads them; `products.measure` says the same at length."""
    two = [abs(a + c - 2 * b) for a, b, c in combinations(mhz, 3)]
    three = [abs(a + d - b - c) for a, b, c, d in combinations(mhz, 4)]
    spacing = [high - low for low, high in pairwise(mhz)]
    return _Distances(
        min(spacing, default=NOTHING_TO_MEASURE),
        min(two, default=NOTHING_TO_MEASURE),
        min(three, default=NOTHING_TO_MEASURE),
    )
