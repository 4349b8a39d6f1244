"""Whether carriers of different widths fit into a pool by spacing alone, and how wide apart they can be.

Carrier by carrier upwards: what has been placed matters to what follows only by the classes that are used up, by its
uppermost edge and by its last frequency. The next carrier, of width w, may stand at y above that last one where
y - w/2 is at least that edge plus the spacing less B0 (for every one below: y - x >= S + (B + w)/2 - B0). Taking the
lowest such y is never worse. So it is enough to keep, for each choice of classes used up, the pairs of edge and last
frequency that no other pair undercuts: an exhaustive search over few cases.
"""

from bisect import bisect_left
from collections.abc import Sequence
from itertools import product

from meetapp.spectrum.carriers import WIDEST_MHZ
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, exact_mhz
from meetapp.spectrum.problem import PickProblem

_NOWHERE = -(1 << 40)

_Ends = list[tuple[int, int]]
"""Uppermost edge (quarters of a MHz) and last frequency (MHz) of ways to place some carriers."""


def fits(problem: PickProblem, widths_mhz: Sequence[float], spacing_quarters: int) -> bool:
    """Whether carriers of these widths have room at a spacing, given in quarters of a MHz.

    >>> problem = PickProblem((5658, 5695, 5732), 2, 37, widths_mhz=(20, 40))
    >>> fits(problem, (20, 40), 4 * 64), fits(problem, (20, 40), 4 * 65)
    (True, False)
    """
    widths = sorted(set(widths_mhz))
    how_many = [widths_mhz.count(width) for width in widths]
    rooms = [problem.room_for(width) for width in widths]
    ways: dict[tuple[int, ...], _Ends] = {tuple(0 for _ in widths): [(_NOWHERE, _NOWHERE)]}
    for used in product(*(range(each + 1) for each in how_many)):
        for kind, width in enumerate(widths):
            before = tuple(each - (place == kind) for place, each in enumerate(used))
            for edge, last in ways.get(before, []):
                least = edge + spacing_quarters - 4 * REFERENCE_WIDTH_MHZ + int(2 * width)
                at = bisect_left(rooms[kind], max(last + 1, -(-least // 4)))
                if at < len(rooms[kind]):
                    mhz = rooms[kind][at]
                    _keep(ways.setdefault(used, []), (max(edge, 4 * mhz + int(2 * width)), mhz))
    return bool(ways.get(tuple(how_many)))


def how_many_fit(problem: PickProblem) -> int:
    """How many of the carriers fit at the problem's spacing: the narrowest ones, which need the least room.

    >>> how_many_fit(PickProblem((5658, 5695, 5732), 3, 30, widths_mhz=(20, 40, 40)))
    2
    """
    for count in range(problem.count, 0, -1):
        if fits(problem, problem.widths_mhz[:count], 4 * problem.spacing_mhz):
            return count
    return 0


def widest_spacing(problem: PickProblem) -> float | None:
    """The widest spacing at which all the carriers fit, in MHz; None where no spacing makes room for them.

    Below 0 where they must overlap. A spacing that fits lets every narrower one fit, so halving is exact.

    >>> widest_spacing(PickProblem((5658, 5695, 5732), 2, 37, widths_mhz=(20, 40)))
    64
    """
    low, high = -4 * 2 * WIDEST_MHZ, 4 * (problem.pool_mhz[-1] - problem.pool_mhz[0] + 2 * WIDEST_MHZ)
    if problem.count < 2 or not fits(problem, problem.widths_mhz, low):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if fits(problem, problem.widths_mhz, middle):
            low = middle
        else:
            high = middle
    return exact_mhz(low / 4)


def _keep(ends: _Ends, new: tuple[int, int]) -> None:
    """Add a way, unless another one ends no higher in both; drop those that it undercuts."""
    if not any(edge <= new[0] and last <= new[1] for edge, last in ends):
        ends[:] = [each for each in ends if not (new[0] <= each[0] and new[1] <= each[1])] + [new]
