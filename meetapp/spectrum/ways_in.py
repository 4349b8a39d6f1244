"""Where a set leaves pilots out: the least change of each kind that would let everybody in.

Four kinds: a narrower spacing, more tokens, a larger pull, other transmitters. A set that serves everybody at a
spacing does so at every narrower one, and with a pull at every larger one; so halving finds the least change of these.
Counts of tokens are tried one after the other; where tokens differ in width, further ones are as narrow as the
narrowest. Each answer "serves everybody" is a set in hand, each "no" a pass that came to its end (`sweep`).

Other transmitters: as many as are left out by a set that serves most are enough, and no fewer are. Enough, because
there are as many places as pilots (tokens times heats), so those left out find a place with a transmitter that makes
every frequency of the pool and is no wider than any token. No fewer, because without
those who got one the same set would serve more than the most.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.search import IsOver, why_impossible
from meetapp.spectrum.serving import (
    ExpectedPilot,
    ServingProblem,
    ServingSet,
    serving_set,
    serving_space,
)

LARGEST_PULL_MHZ = 10
"""No larger pull is looked at: neighbouring channels of a plan are 19 MHz apart and more, so it would mix them up."""

Kind = Literal["spacing", "count", "pull", "transmitters"]
_Verdict = Literal["yes", "no", "unknown"]


@dataclass(frozen=True, slots=True)
class WayIn:
    """The least change of one kind that lets everybody in, or that there is none.

    `to`: the spacing in MHz, the count of tokens, the pull in MHz, or how many pilots need another transmitter; None
    where no change of this kind alone lets everybody in. `pilots`: who needs another transmitter. `answer`: the best
    set after the change, proven or not. `is_least`: whether it is proven that no smaller change does (or none at all).
    """

    kind: Kind
    to: int | None
    answer: ServingSet | None
    is_least: bool
    pilots: tuple[int, ...] = ()


def ways_in(problem: ServingProblem, left_out: ServingSet, is_over: IsOver | None = None) -> Iterator[WayIn]:
    """One way in for each kind of change, each worked out when it is asked for. Nothing where nobody is left out.

    left_out: the answer of `serving_set` to the problem. `is_over` is asked every few milliseconds; once it says so,
    what is not known by then counts as not possible and not proven. Cost: a few searches for each kind.

    >>> from meetapp.spectrum.problem import PickProblem
    >>> pilots = (ExpectedPilot(1, frozenset([5658])), ExpectedPilot(2, frozenset([5690])))
    >>> problem = ServingProblem(PickProblem((5658, 5660, 5695), 2, 37), pilots, heat_size=2)
    >>> for way in ways_in(problem, serving_set(problem)): print(way.kind, way.to, way.is_least, way.pilots)
    spacing None True ()
    count None True ()
    pull 5 True ()
    transmitters 1 True (2,)
    """
    if not left_out.left_out:
        return
    yield _narrower_spacing(problem, is_over)
    yield _more_tokens(problem, is_over)
    yield _larger_pull(problem, is_over)
    yield _other_transmitters(problem, left_out, is_over)


def _narrower_spacing(problem: ServingProblem, is_over: IsOver | None) -> WayIn:
    def at(steps: int) -> ServingProblem:
        return replace(problem, pick=replace(problem.pick, spacing_mhz=problem.pick.spacing_mhz - steps))

    steps, is_least = _least_steps([at(steps) for steps in range(1, problem.pick.spacing_mhz + 1)], is_over)
    if steps is None:
        return WayIn("spacing", None, None, is_least)
    return _way("spacing", problem.pick.spacing_mhz - steps, at(steps), is_least, is_over)


def _larger_pull(problem: ServingProblem, is_over: IsOver | None) -> WayIn:
    def at(steps: int) -> ServingProblem:
        return replace(problem, pull_mhz=problem.pull_mhz + steps)

    steps, is_least = _least_steps(
        [at(steps) for steps in range(1, LARGEST_PULL_MHZ - problem.pull_mhz + 1)], is_over
    )
    if steps is None:
        return WayIn("pull", None, None, is_least)
    return _way("pull", problem.pull_mhz + steps, at(steps), is_least, is_over)


def _more_tokens(problem: ServingProblem, is_over: IsOver | None) -> WayIn:
    is_least = True
    for count in range(problem.pick.count + 1, len(problem.pick.pool_mhz) + 1):
        changed = replace(problem, pick=_with_more(problem.pick, count))
        if why_impossible(changed.pick):
            break
        verdict = _serves_everybody(changed, is_over)
        if verdict == "yes":
            return _way("count", count, changed, is_least, is_over)
        is_least = is_least and verdict == "no"
    return WayIn("count", None, None, is_least)


def _with_more(pick: PickProblem, count: int) -> PickProblem:
    more = (min(pick.widths_mhz),) * (count - pick.count) if pick.widths_mhz else ()
    return replace(pick, count=count, widths_mhz=pick.widths_mhz + more)


def _other_transmitters(problem: ServingProblem, left_out: ServingSet, is_over: IsOver | None) -> WayIn:
    everything = frozenset(problem.pick.pool_mhz)
    width = min(problem.pick.widths_mhz, default=REFERENCE_WIDTH_MHZ)
    pilots = tuple(
        ExpectedPilot(pilot.pilot_id, everything, width) if pilot.pilot_id in left_out.left_out else pilot
        for pilot in problem.pilots
    )
    changed = replace(problem, pilots=pilots)
    way = _way("transmitters", len(left_out.left_out), changed, left_out.is_most_proven, is_over)
    return replace(way, pilots=left_out.left_out)


def _way(kind: Kind, to: int, changed: ServingProblem, is_least: bool, is_over: IsOver | None) -> WayIn:
    answer = serving_set(changed, is_over)
    return WayIn(kind, to, answer if isinstance(answer, ServingSet) else None, is_least)


def _least_steps(changed: list[ServingProblem], is_over: IsOver | None) -> tuple[int | None, bool]:
    """The first of ever larger changes, counted from 1, that lets everybody in; and whether that is proven.

    Where one lets everybody in, every larger one does.
    """
    too_small, enough, is_proven = 0, len(changed) + 1, True
    first_look = [len(changed)] if changed else []
    while enough - too_small > 1:
        steps = first_look.pop() if first_look else (too_small + enough) // 2
        verdict = _serves_everybody(changed[steps - 1], is_over)
        if verdict == "yes":
            enough = steps
        else:
            too_small = steps
            is_proven = is_proven and verdict == "no"
    return (enough, is_proven) if enough <= len(changed) else (None, is_proven)


def _serves_everybody(problem: ServingProblem, is_over: IsOver | None) -> _Verdict:
    if why_impossible(problem.pick):
        return "no"
    space = serving_space(problem)
    demand = replace(space.floor, served=len(problem.pilots))
    if not space.has_room_for(demand):
        return "no"
    for found in space.any_of(demand):
        if found is not None:
            return "yes"
        if is_over is not None and is_over():
            return "unknown"
    return "no"
