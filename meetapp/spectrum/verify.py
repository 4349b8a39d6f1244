"""A second opinion on a search's answer, written apart: it shares no code with the search or the products.

It goes by the definitions, product by product and without any shortcut, so it is slow and easy to read.
Whether a better set exists can only be checked against the rivals that the caller names.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided


def check_set(problem: PickProblem, result: Result, rivals: Iterable[Sequence[int]] = ()) -> list[str]:
    """Everything that is wrong with an answer, one plain sentence each; empty when nothing is.

    `rivals` are other lists of MHz: an Optimal answer is wrong if one of them fits the problem and is better.

    Cost: O(n^4) for a set, O(pool^2 x count) for an Impossible.

    >>> from meetapp.spectrum.products import Measures
    >>> wrong = Optimal((5658, 5695), Measures(38, None, None), nodes=2)
    >>> check_set(PickProblem((5658, 5695), 2, 37), wrong)
    ['The spacing is 37 MHz, not 38 MHz.']
    """
    if isinstance(result, Undecided):
        return []
    if isinstance(result, Impossible):
        return _wrong_with_impossible(problem, result)
    complaints = _wrong_with_list(problem, result.mhz)
    if complaints:
        return complaints
    complaints = _wrong_with_measures(problem, result)
    if isinstance(result, BestFound):
        return complaints + _wrong_with_bound(problem, result)
    own_rank = _rank(problem, result.mhz)
    for rival in rivals:
        if not _wrong_with_list(problem, rival) and _rank(problem, rival) < own_rank:
            complaints.append(f"{_text(rival)} is better.")
    return complaints


def check_ranking(problem: PickProblem, results: Sequence[Result]) -> list[str]:
    """Everything that is wrong with a list of the best sets: each by itself, and their order, best first.

    >>> from meetapp.spectrum.products import Measures
    >>> near, far = (Optimal((5658, mhz), Measures(mhz - 5658, None, None), nodes=2) for mhz in (5695, 5732))
    >>> check_ranking(PickProblem((5658, 5695, 5732), 2, 37), (near, far))
    ['5658 5732 may not stand behind 5658 5695.']
    """
    complaints = [complaint for result in results for complaint in check_set(problem, result)]
    sets = [result.mhz for result in results if isinstance(result, Optimal)]
    for better, worse in pairwise(sets):
        if _rank(problem, better) >= _rank(problem, worse):
            complaints.append(f"{_text(worse)} may not stand behind {_text(better)}.")
    return complaints


def _wrong_with_list(problem: PickProblem, mhz: Sequence[int]) -> list[str]:
    complaints = []
    if len(mhz) != problem.count:
        complaints.append(f"{problem.count} carriers were asked for, not {len(mhz)}.")
    if list(mhz) != sorted(set(mhz)):
        complaints.append("The list does not ascend.")
    complaints += [f"{each} MHz is not in the pool." for each in mhz if each not in problem.pool_mhz]
    spacing = _spacing(mhz, problem.width_mhz)
    if spacing is not None and spacing < problem.spacing_mhz:
        complaints.append(f"The spacing is {_number(spacing)}; {problem.spacing_mhz} MHz were asked for.")
    return complaints


def _wrong_with_measures(problem: PickProblem, result: Optimal | BestFound) -> list[str]:
    measures = result.measures
    claims = {
        "spacing": (_spacing(result.mhz, problem.width_mhz), measures.spacing_mhz),
        "two-signal clearance": (_two_signal(result.mhz, problem.width_mhz), measures.two_signal_clearance_mhz),
        "three-signal clearance": (_three_signal(result.mhz, problem.width_mhz), measures.three_signal_clearance_mhz),
    }
    return [
        f"The {name} is {_number(true)}, not {_number(claimed)}."
        for name, (true, claimed) in claims.items()
        if true != claimed
    ]


def _wrong_with_bound(problem: PickProblem, result: BestFound) -> list[str]:
    if problem.count < 3:
        return [] if result.bound_mhz is None else ["There is no clearance to bound."]
    first = -_rank(problem, result.mhz)[0][0]
    if result.bound_mhz is None or result.bound_mhz < first:
        return [f"The set reaches {_number(first)}, above the bound of {_number(result.bound_mhz)}."]
    return []


def _wrong_with_impossible(problem: PickProblem, result: Impossible) -> list[str]:
    complaints = []
    count = _longest_chain(problem)
    if count >= problem.count:
        complaints.append(f"{problem.count} carriers do fit.")
    if count != result.largest_count:
        complaints.append(f"{count} carriers fit at this spacing, not {result.largest_count}.")
    spacing = _widest_spacing(problem)
    if spacing != result.largest_spacing_mhz:
        claimed = _number(result.largest_spacing_mhz)
        complaints.append(f"The widest spacing is {_number(spacing)}, not {claimed}.")
    return complaints


def _spacing(mhz: Sequence[int], width_mhz: float) -> float | None:
    distances = [abs(a - b) for i, a in enumerate(mhz) for b in mhz[:i]]
    return min(distances) - (width_mhz - REFERENCE_WIDTH_MHZ) if distances else None


def _two_signal(mhz: Sequence[int], width_mhz: float) -> float | None:
    places = range(len(mhz))
    distances = [
        abs(2 * mhz[a] - mhz[b] - mhz[victim])
        for a in places
        for b in places
        for victim in places
        if len({a, b, victim}) == 3
    ]
    return _clearance(distances, width_mhz)


def _three_signal(mhz: Sequence[int], width_mhz: float) -> float | None:
    places = range(len(mhz))
    distances = [
        abs(mhz[a] + mhz[b] - mhz[c] - mhz[victim])
        for a in places
        for b in range(a)
        for c in places
        for victim in places
        if len({a, b, c, victim}) == 4
    ]
    return _clearance(distances, width_mhz)


def _clearance(distances: Sequence[int], width_mhz: float) -> float | None:
    victim_excess = (width_mhz - REFERENCE_WIDTH_MHZ) / 2
    product_excess = (3 * width_mhz - 3 * REFERENCE_WIDTH_MHZ) / 2
    return min(distances) - victim_excess - product_excess if distances else None


def _rank(problem: PickProblem, mhz: Sequence[int]) -> tuple[tuple[float, ...], tuple[int, ...]]:
    """Smaller is better: the clearances counted up to the useful one, then the spacing, then the list itself."""
    useful = problem.useful_mhz
    two = _two_signal(mhz, problem.width_mhz)
    three = _three_signal(mhz, problem.width_mhz)
    two = useful if two is None or two > useful else two
    three = useful if three is None or three > useful else three
    first, second = (two, three) if problem.signals == "two" else (min(two, three), two)
    return (-first, -second, -(_spacing(mhz, problem.width_mhz) or 0)), tuple(mhz)


def _longest_chain(problem: PickProblem) -> int:
    """How many carriers fit: the longest chain that ends at each frequency, from the chains that end below it."""
    needed = problem.spacing_mhz + problem.width_mhz - REFERENCE_WIDTH_MHZ
    longest: dict[int, int] = {}
    for mhz in problem.pool_mhz:
        below = [length for end, length in longest.items() if mhz - end >= needed]
        longest[mhz] = 1 + max(below, default=0)
    return max(longest.values(), default=0)


def _widest_spacing(problem: PickProblem) -> float | None:
    """The widest spacing of so many carriers: carrier by carrier, the widest chain that ends at each frequency."""
    if problem.count < 2:
        return None
    widest: dict[int, float] = dict.fromkeys(problem.pool_mhz, float("inf"))
    for _ in range(problem.count - 1):
        longer: dict[int, float] = {}
        for mhz in problem.pool_mhz:
            ends = [min(smallest, mhz - end) for end, smallest in widest.items() if end < mhz]
            if ends:
                longer[mhz] = max(ends)
        widest = longer
    if not widest:
        return None
    return max(widest.values()) - (problem.width_mhz - REFERENCE_WIDTH_MHZ)


def _text(mhz: Sequence[int]) -> str:
    return " ".join(str(each) for each in mhz)


def _number(value: float | None) -> str:
    return "none" if value is None else f"{value:g} MHz"
