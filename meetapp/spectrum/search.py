"""The best sets of carriers from a pool, exactly and proven, and at every moment the best so far with a proven bound.

`problem.order_key` says what is compared, `ranking` how the proof goes.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import lru_cache

from meetapp.spectrum.channels import exact_mhz
from meetapp.spectrum.mixed import MixedSweep
from meetapp.spectrum.mixed_room import how_many_fit, widest_spacing
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.ranking import Ranking, Stage
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.space import Found, Space
from meetapp.spectrum.spacing import largest_count, largest_spacing
from meetapp.spectrum.sweep import Sweep

_FEWEST_WITH_CLEARANCE = 3

IsOver = Callable[[], bool]
"""Asked every few milliseconds of a search; True ends it with the best found so far."""

_STAGES: dict[str, tuple[Stage, ...]] = {
    "both": (("two", "three"), ("two",), ("spacing",)),
    "two": (("two",), ("three",), ("spacing",)),
}


def improving(problem: PickProblem) -> Iterator[Result]:
    """The answer as it gets better: ask for the next one, go on later, or stop and leave it at that.

    There is a next one after every few hundred carriers tried: Undecided until the first set is found, then BestFound
    with a set that never gets worse and a bound that never rises; Optimal or Impossible once it is proven, which is the
    last. Cost: worst case exponential in the count.

    >>> *on_the_way, proven = improving(PickProblem(tuple(range(5650, 5926)), 6, 30))
    >>> sorted({type(answer).__name__ for answer in on_the_way}), proven.mhz
    (['BestFound', 'Undecided'], (5650, 5681, 5760, 5827, 5882, 5925))
    """
    return answers(problem, how_many=1)


def best_set(problem: PickProblem, node_budget: int | None = None, is_over: IsOver | None = None) -> Result:
    """The best set by `order_key`: Optimal, or why there is none, or how far the time went.

    `node_budget` bounds the carriers tried, give or take a few hundred; same input, same answer. `is_over` is asked
    every few milliseconds. With neither it goes on until it is proven.
    Cost: worst case exponential in the count; 8 carriers of the 39 or 47 published frequencies take some thousand
    nodes.

    >>> best_set(PickProblem((5645, 5685, 5732, 5745, 5806, 5825, 5945), 5, 37)).mhz
    (5645, 5685, 5745, 5825, 5945)
    >>> best_set(PickProblem((5658, 5695, 5732), 3, 40))
    Impossible(largest_count=2, largest_spacing_mhz=37)
    """
    return next_best(problem, 1, node_budget, is_over)[0]


def next_best(
    problem: PickProblem, how_many: int, node_budget: int | None = None, is_over: IsOver | None = None
) -> tuple[Result, ...]:
    """The best sets in order, the best first; fewer where the pool holds fewer.

    All but the last are Optimal: each is the best of the sets that are not before it. The last may be a BestFound or
    Undecided where the budget, which counts for all together, was spent. No set at all: one Impossible.

    >>> [result.mhz for result in next_best(PickProblem((5645, 5745, 5880, 5945), 2, 37), 3)]
    [(5645, 5945), (5645, 5880), (5745, 5945)]
    """
    listed: list[Result] = []
    for result in answers(problem, how_many):
        if isinstance(result, Optimal | Impossible):
            listed.append(result)
        elif (is_over is not None and is_over()) or (node_budget is not None and result.nodes >= node_budget):
            return (*listed, result)
    return tuple(listed)


def best_per_spacing(
    problem: PickProblem, node_budget: int | None = None, is_over: IsOver | None = None
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
        result = best_set(replace(problem, spacing_mhz=floor), node_budget, is_over)
        if isinstance(result, Impossible | Undecided) or result.measures.spacing_mhz is None:
            return tuple(points)
        points.append((result.measures.spacing_mhz, result))
        if isinstance(result, BestFound):
            return tuple(points)
        floor = int(result.measures.spacing_mhz) + 1


def answers(problem: PickProblem, how_many: int) -> Iterator[Result]:
    """For each rank the answers on the way and then the proven one; ends early where there are no more sets.

    >>> *_, last = answers(PickProblem((5645, 5745, 5880), 2, 37), how_many=2)
    >>> last.mhz
    (5745, 5880)
    """
    impossible = why_impossible(problem)
    if impossible is not None:
        yield impossible
        return
    space: Space = MixedSweep(problem) if problem.widths_mhz else Sweep(problem)
    ranking = Ranking(space, stages(problem))
    for _ in range(how_many):
        yield Undecided(space.tried.nodes)
        for _pause in ranking.next_best():
            yield answer_in_hand(problem, space, ranking)
        if ranking.in_hand is None:
            return
        yield answer_in_hand(problem, space, ranking, is_proven=True)


def answer_in_hand(
    problem: PickProblem, space: Space, ranking: Ranking, *, clearance_stage: int = 0, is_proven: bool = False
) -> Optimal | BestFound | Undecided:
    """What a ranking has in hand, as an answer. `clearance_stage`: at which stage it compares the first clearance.

    >>> problem = PickProblem((5658, 5695, 5732), 2, 37)
    >>> space = Sweep(problem)
    >>> answer_in_hand(problem, space, Ranking(space, stages(problem)))
    Undecided(nodes=0)
    """
    nodes = space.tried.nodes
    if ranking.in_hand is None:
        return Undecided(nodes)
    mhz, measures, widths = _listed(ranking.in_hand)
    widths = widths if problem.widths_mhz else ()
    if is_proven:
        return Optimal(mhz, measures, nodes, widths)
    has_bound = problem.count >= _FEWEST_WITH_CLEARANCE
    bound = space.clearance_mhz(ranking.bound(clearance_stage)) if has_bound else None
    return BestFound(mhz, measures, bound, nodes, widths)


@lru_cache(maxsize=16)
def _listed(found: Found) -> tuple[tuple[int, ...], Measures, tuple[float, ...]]:
    """What an answer says of a list; kept, since it is often the same one after a pause."""
    return tuple(carrier.mhz for carrier in found), measure(found), tuple(carrier.width_mhz for carrier in found)


def why_impossible(problem: PickProblem) -> Impossible | None:
    """What would fit, where the carriers don't fit at the problem's spacing; None where they do.

    >>> why_impossible(PickProblem((5658, 5695, 5732), 3, 40))
    Impossible(largest_count=2, largest_spacing_mhz=37)
    """
    if problem.widths_mhz:
        count = how_many_fit(problem)
        return Impossible(count, widest_spacing(problem)) if count < problem.count else None
    count = largest_count(problem.pool_mhz, problem.centre_spacing_mhz)
    if count >= problem.count:
        return None
    widest = largest_spacing(problem.pool_mhz, problem.count)
    return Impossible(count, None if widest is None else exact_mhz(widest - problem.extra_width_mhz))


def stages(problem: PickProblem) -> tuple[Stage, ...]:
    """What is compared: with two carriers only their spacing, with one nothing but the list itself.

    >>> stages(PickProblem((5658, 5695, 5732), 2, 37))
    (('spacing',),)
    """
    if problem.count >= _FEWEST_WITH_CLEARANCE:
        return _STAGES[problem.signals]
    return (("spacing",),) if problem.count == 2 else ()
