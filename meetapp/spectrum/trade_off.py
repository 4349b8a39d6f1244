"""The trade-off in sight: what each spacing and each count costs in clearance, point by point, each proven or not.

A set that is the best at some spacing is also the best at every wider one that it has, since it was compared with
more sets than come into question there. So a spacing is only searched where the best set before doesn't reach it.
That holds for the best set for some pilots as well (`serving_best`), whose order only has one more thing in front.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from meetapp.spectrum.channels import DEFAULT_PULL_MHZ, exact_mhz
from meetapp.spectrum.mixed_room import widest_spacing
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures
from meetapp.spectrum.pull import pulled
from meetapp.spectrum.result import BestFound, Optimal, Result
from meetapp.spectrum.search import IsOver, best_set
from meetapp.spectrum.serving import ServingProblem, ServingSet, serving_set
from meetapp.spectrum.spacing import largest_spacing

WorstCase = Callable[[tuple[int, ...]], Measures]
"""The measures of a set whatever the transmitters make of it."""


BestOf = Callable[[PickProblem, IsOver | None], Result]
"""Finds the best set for a problem."""


@dataclass(frozen=True, slots=True)
class Point:
    """The best set for one count and one spacing, proven if it is Optimal, with its worst case (None without a set)."""

    count: int
    spacing_mhz: int
    answer: Result
    worst_case: Measures | None


@dataclass(frozen=True, slots=True)
class CountRow:
    """What one count of carriers can have at most of each measure.

    `best`: by the problem's order at its spacing; `best_two_signal`: by two signals first; `widest_spacing_mhz`:
    regardless of clearance, None where so many don't fit at all or there is only one.
    """

    count: int
    best: Point
    best_two_signal: Point
    widest_spacing_mhz: float | None


def within_pull(pull_mhz: int = DEFAULT_PULL_MHZ) -> WorstCase:
    """The worst case where nothing is known of the transmitters but the pull.

    >>> within_pull(2)((5658, 5695, 5760)).spacing_mhz
    33
    """
    return lambda mhz: pulled(mhz, pull_mhz)


def best_of_all(problem: PickProblem, is_over: IsOver | None = None) -> Result:
    """The best set, whoever comes.

    >>> best_of_all(PickProblem((5658, 5695, 5732), 2, 37)).mhz
    (5658, 5732)
    """
    return best_set(problem, is_over=is_over)


def serving_best(pilots: ServingProblem) -> BestOf:
    """Finds the best set for the pilots of a problem; its own pick plays no part.

    >>> from meetapp.spectrum.serving import ExpectedPilot
    >>> pick = PickProblem((5658, 5695, 5732), 2, 37)
    >>> serving_best(ServingProblem(pick, (ExpectedPilot(1, frozenset([5695])),), heat_size=1))(pick, None).mhz
    (5658, 5695)
    """

    def best(problem: PickProblem, is_over: IsOver | None) -> Result:
        answer = serving_set(replace(pilots, pick=problem), is_over)
        return answer.found if isinstance(answer, ServingSet) else answer

    return best


def by_spacing(
    problem: PickProblem,
    spacings_mhz: Iterable[int],
    worst_case: WorstCase | None = None,
    is_over: IsOver | None = None,
    best_of: BestOf = best_of_all,
) -> Iterator[Point]:
    """The best set for each of the spacings, in ascending order, each worked out when it is asked for.

    The problem's own spacing plays no part. `worst_case` None: anything within the default pull. `is_over` is asked
    every few milliseconds; once it says so, the points to come are BestFound or Undecided. `best_of`: what is the best.
    Units: MHz. Cost: one search for each different set.

    >>> pool = (5645, 5685, 5695, 5740, 5760, 5880, 5945)
    >>> for point in by_spacing(PickProblem(pool, 4, 0), (40, 60, 80)):
    ...     print(point.spacing_mhz, point.answer.mhz if isinstance(point.answer, Optimal) else point.answer)
    40 (5645, 5685, 5760, 5945)
    60 (5645, 5740, 5880, 5945)
    80 Impossible(largest_count=3, largest_spacing_mhz=65)
    """
    worst_case = worst_case or within_pull()
    before: Result | None = None
    for spacing in sorted(set(spacings_mhz)):
        if not (isinstance(before, Optimal) and (before.measures.spacing_mhz or 0) >= spacing):
            before = best_of(replace(problem, spacing_mhz=spacing), is_over)
        yield _point(problem.count, spacing, before, worst_case)


def by_count(
    problem: PickProblem,
    counts: Iterable[int],
    worst_case: WorstCase | None = None,
    is_over: IsOver | None = None,
) -> Iterator[CountRow]:
    """What each count can have at most, at the problem's spacing, each worked out when it is asked for.

    For carriers of one width; the problem's own count plays no part. `worst_case` and `is_over` as in `by_spacing`.
    Units: MHz. Cost: two searches for each count.

    >>> pool = (5645, 5685, 5695, 5740, 5760, 5880, 5945)
    >>> for row in by_count(PickProblem(pool, 1, 40), (3, 4)):
    ...     print(row.count, row.best.answer.measures.clearance_mhz, row.widest_spacing_mhz)
    3 70 115
    4 35 65
    """
    for count in sorted(set(counts)):
        yield count_row(replace(problem, count=count), worst_case, is_over)


def count_row(
    problem: PickProblem,
    worst_case: WorstCase | None = None,
    is_over: IsOver | None = None,
    best_of: BestOf = best_of_all,
) -> CountRow:
    """What the problem's count can have at most, at its spacing; the arguments as in `by_spacing`.

    >>> count_row(PickProblem((5658, 5695, 5732), 2, 37)).widest_spacing_mhz
    74
    """
    worst_case = worst_case or within_pull()
    best, two_signal = (
        _point(problem.count, problem.spacing_mhz, best_of(replace(problem, signals=signals), is_over), worst_case)
        for signals in (problem.signals, "two")
    )
    return CountRow(problem.count, best, two_signal, _widest_spacing(problem))


def _widest_spacing(problem: PickProblem) -> float | None:
    if problem.widths_mhz:
        return widest_spacing(problem)
    widest = largest_spacing(problem.pool_mhz, problem.count)
    return None if widest is None else exact_mhz(widest - problem.extra_width_mhz)


def _point(count: int, spacing_mhz: int, answer: Result, worst_case: WorstCase) -> Point:
    worst = worst_case(answer.mhz) if isinstance(answer, Optimal | BestFound) else None
    return Point(count, spacing_mhz, answer, worst)
