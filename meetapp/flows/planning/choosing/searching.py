"""The work behind an answer: the best set, then the ways in for those whom it leaves out, then the next best sets."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from meetapp.flows.planning.choosing.search_jobs import Watch
from meetapp.spectrum.result import Optimal, Undecided
from meetapp.spectrum.serving import (
    ServingAnswer,
    ServingProblem,
    ServingSet,
    improving_serving_set,
    next_best_serving,
)
from meetapp.spectrum.ways_in import WayIn, ways_in

SET_S = 60
"""How long the best set is searched; what is in hand then stays, with its bound, as not proven."""

WAYS_S = 20
NEXT_BEST_SETS = 5
NODE_BUDGET = 150_000
"""About a second of search in plain Python for the next best sets; fewer are shown where it is spent."""


@dataclass(frozen=True, slots=True)
class Searched:
    """What is known so far. `is_set_settled`: the best set is proven, or its time is over.

    `next_best`: proven, the best first; `is_cut_short`: there may be more of them.
    """

    answer: ServingAnswer
    is_set_settled: bool = False
    ways: tuple[WayIn, ...] = ()
    next_best: tuple[ServingSet, ...] = ()
    is_cut_short: bool = False


def search(problem: ServingProblem, watch: Watch) -> Iterator[Searched]:
    """Ever more of the answer; the last one is all of it."""
    answer: ServingAnswer = Undecided(0)
    is_over = watch.over_after(SET_S)
    for answer in improving_serving_set(problem):
        yield Searched(answer)
        if is_over():
            break
    searched = Searched(answer, is_set_settled=True)
    yield searched
    if not isinstance(answer, ServingSet):
        return
    for way in ways_in(problem, answer, watch.over_after(WAYS_S)):
        searched = replace(searched, ways=(*searched.ways, way))
        yield searched
    if isinstance(answer.found, Optimal):
        yield _with_next_best(problem, searched)


def _with_next_best(problem: ServingProblem, searched: Searched) -> Searched:
    listed = next_best_serving(problem, NEXT_BEST_SETS, NODE_BUDGET)
    return replace(searched, next_best=listed, is_cut_short=len(listed) < NEXT_BEST_SETS)
