"""A second opinion on a search's answer, written apart: it shares no code with the search or the products.

It goes by the definitions, product by product and without any shortcut, so it is slow and easy to read.
Whether a better set exists can only be checked against the rivals that the caller names.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided

Set = Sequence[int | Carrier]
"""Carriers by ascending frequency; a plain MHz stands for a carrier of the problem's one width."""


def check_set(problem: PickProblem, result: Result, rivals: Iterable[Set] = ()) -> list[str]:
    """Everything that is wrong with an answer, one plain sentence each; empty when nothing is.

    `rivals` are other sets: an Optimal answer is wrong if one of them fits the problem and is better.

    Cost: O(n^4) for a set; an Impossible tries every spacing that the pool has and every order of the widths.

    >>> from meetapp.spectrum.products import Measures
    >>> wrong = Optimal((5658, 5695), Measures(38, None, None), nodes=2)
    >>> check_set(PickProblem((5658, 5695), 2, 37), wrong)
    ['The spacing is 37 MHz, not 38 MHz.']
    """
    if isinstance(result, Undecided):
        return []
    if isinstance(result, Impossible):
        return _wrong_with_impossible(problem, result)
    carriers = _answered(problem, result)
    complaints = _wrong_with_list(problem, carriers)
    if complaints:
        return complaints
    complaints = _wrong_with_measures(carriers, result)
    if isinstance(result, BestFound):
        return complaints + _wrong_with_bound(problem, carriers, result)
    own_rank = _rank(problem, carriers)
    for rival in rivals:
        others = _carriers(problem, rival)
        if not _wrong_with_list(problem, others) and _rank(problem, others) < own_rank:
            complaints.append(f"{_text(others)} is better.")
    return complaints


def check_ranking(problem: PickProblem, results: Sequence[Result]) -> list[str]:
    """Everything that is wrong with a list of the best sets: each by itself, and their order, best first.

    >>> from meetapp.spectrum.products import Measures
    >>> near, far = (Optimal((5658, mhz), Measures(mhz - 5658, None, None), nodes=2) for mhz in (5695, 5732))
    >>> check_ranking(PickProblem((5658, 5695, 5732), 2, 37), (near, far))
    ['5658 5732 may not stand behind 5658 5695.']
    """
    complaints = [complaint for result in results for complaint in check_set(problem, result)]
    sets = [_answered(problem, result) for result in results if isinstance(result, Optimal)]
    for better, worse in pairwise(sets):
        if _rank(problem, better) >= _rank(problem, worse):
            complaints.append(f"{_text(worse)} may not stand behind {_text(better)}.")
    return complaints


def _answered(problem: PickProblem, result: Optimal | BestFound) -> list[Carrier]:
    if not problem.widths_mhz:
        return _carriers(problem, result.mhz)
    return [Carrier(mhz, width) for mhz, width in zip(result.mhz, result.widths_mhz, strict=True)]


def _carriers(problem: PickProblem, listed: Set) -> list[Carrier]:
    return [each if isinstance(each, Carrier) else Carrier(each, problem.width_mhz) for each in listed]


def _wrong_with_list(problem: PickProblem, carriers: Sequence[Carrier]) -> list[str]:
    complaints = []
    if len(carriers) != problem.count:
        complaints.append(f"{problem.count} carriers were asked for, not {len(carriers)}.")
    if problem.widths_mhz and sorted(carrier.width_mhz for carrier in carriers) != sorted(problem.widths_mhz):
        complaints.append("The widths are not those asked for.")
    mhz = [carrier.mhz for carrier in carriers]
    if mhz != sorted(set(mhz)):
        complaints.append("The list does not ascend.")
    complaints += [
        f"{carrier.mhz} MHz is not in the pool."
        for carrier in carriers
        if carrier.mhz not in problem.room_for(carrier.width_mhz)
    ]
    spacing = _spacing(carriers)
    if spacing is not None and spacing < problem.spacing_mhz:
        complaints.append(f"The spacing is {_number(spacing)}; {problem.spacing_mhz} MHz were asked for.")
    return complaints


def _wrong_with_measures(carriers: Sequence[Carrier], result: Optimal | BestFound) -> list[str]:
    measures = result.measures
    claims = {
        "spacing": (_spacing(carriers), measures.spacing_mhz),
        "two-signal clearance": (_two_signal(carriers), measures.two_signal_clearance_mhz),
        "three-signal clearance": (_three_signal(carriers), measures.three_signal_clearance_mhz),
    }
    return [
        f"The {name} is {_number(true)}, not {_number(claimed)}."
        for name, (true, claimed) in claims.items()
        if true != claimed
    ]


def _wrong_with_bound(problem: PickProblem, carriers: Sequence[Carrier], result: BestFound) -> list[str]:
    if problem.count < 3:
        return [] if result.bound_mhz is None else ["There is no clearance to bound."]
    first = -_rank(problem, carriers)[0][0]
    if result.bound_mhz is None or result.bound_mhz < first:
        return [f"The set reaches {_number(first)}, above the bound of {_number(result.bound_mhz)}."]
    return []


def _wrong_with_impossible(problem: PickProblem, result: Impossible) -> list[str]:
    complaints = []
    count = _largest_count(problem)
    if count >= problem.count:
        complaints.append(f"{problem.count} carriers do fit.")
    if count != result.largest_count:
        complaints.append(f"{count} carriers fit at this spacing, not {result.largest_count}.")
    spacing = _widest_spacing(problem)
    if spacing != result.largest_spacing_mhz:
        claimed = _number(result.largest_spacing_mhz)
        complaints.append(f"The widest spacing is {_number(spacing)}, not {claimed}.")
    return complaints


def _spacing(carriers: Sequence[Carrier]) -> float | None:
    return min((_apart(a, b) for i, a in enumerate(carriers) for b in carriers[:i]), default=None)


def _apart(a: Carrier, b: Carrier) -> float:
    return abs(a.mhz - b.mhz) - ((a.width_mhz + b.width_mhz) / 2 - REFERENCE_WIDTH_MHZ)


def _two_signal(carriers: Sequence[Carrier]) -> float | None:
    places = range(len(carriers))
    distances = [
        _off(2 * carriers[a].mhz - carriers[b].mhz, 2 * carriers[a].width_mhz + carriers[b].width_mhz, carriers[victim])
        for a in places
        for b in places
        for victim in places
        if len({a, b, victim}) == 3
    ]
    return min(distances, default=None)


def _three_signal(carriers: Sequence[Carrier]) -> float | None:
    places = range(len(carriers))
    distances = [
        _off(
            carriers[a].mhz + carriers[b].mhz - carriers[c].mhz,
            carriers[a].width_mhz + carriers[b].width_mhz + carriers[c].width_mhz,
            carriers[victim],
        )
        for a in places
        for b in range(a)
        for c in places
        for victim in places
        if len({a, b, c, victim}) == 4
    ]
    return min(distances, default=None)


def _off(product_mhz: int, product_width_mhz: float, victim: Carrier) -> float:
    """How far a product falls from a carrier, with the widths taken off."""
    victim_excess = (victim.width_mhz - REFERENCE_WIDTH_MHZ) / 2
    product_excess = (product_width_mhz - 3 * REFERENCE_WIDTH_MHZ) / 2
    return abs(product_mhz - victim.mhz) - victim_excess - product_excess


def _rank(
    problem: PickProblem, carriers: Sequence[Carrier]
) -> tuple[tuple[float, ...], tuple[int, ...], tuple[float, ...]]:
    """Smaller is better: clearances counted up to the useful one, then spacing, then the list, then the widths."""
    useful = problem.useful_mhz
    two, three = _two_signal(carriers), _three_signal(carriers)
    two = useful if two is None or two > useful else two
    three = useful if three is None or three > useful else three
    first, second = (two, three) if problem.signals == "two" else (min(two, three), two)
    measured = (-first, -second, -(_spacing(carriers) or 0))
    return measured, tuple(each.mhz for each in carriers), tuple(each.width_mhz for each in carriers)


def _largest_count(problem: PickProblem) -> int:
    """How many carriers fit: as many of the narrowest asked for as there is an order for; of one width, any number."""
    widths = sorted(problem.widths_mhz) or [problem.width_mhz] * len(problem.pool_mhz)
    return max(
        (count for count in range(1, len(widths) + 1) if _fit(problem, widths[:count], problem.spacing_mhz)), default=0
    )


def _widest_spacing(problem: PickProblem) -> float | None:
    """The widest spacing of all those that two carriers of the pool have, tried from the widest down."""
    widths = sorted(problem.widths_mhz) or [problem.width_mhz] * problem.count
    pairs = {(a, b) for i, a in enumerate(widths) for b in widths[:i]}
    spacings = {
        _apart(Carrier(low, a), Carrier(high, b))
        for i, high in enumerate(problem.pool_mhz)
        for low in problem.pool_mhz[:i]
        for a, b in pairs
    }
    return next((spacing for spacing in sorted(spacings, reverse=True) if _fit(problem, widths, spacing)), None)


def _fit(problem: PickProblem, widths: Sequence[float], spacing_mhz: float) -> bool:
    """Whether there is an order of the widths in which each carrier finds a place above the ones before."""
    return any(_fit_in_this_order(problem, order, spacing_mhz) for order in _orders(widths))


def _orders(widths: Sequence[float]) -> Iterator[tuple[float, ...]]:
    """Every different order of the widths."""
    if not widths:
        yield ()
    for first in sorted(set(widths)):
        rest = list(widths)
        rest.remove(first)
        for order in _orders(rest):
            yield first, *order


def _fit_in_this_order(problem: PickProblem, widths: Sequence[float], spacing_mhz: float) -> bool:
    placed: list[Carrier] = []
    for width in widths:
        for mhz in problem.room_for(width):
            carrier = Carrier(mhz, width)
            if all(mhz > other.mhz and _apart(carrier, other) >= spacing_mhz for other in placed):
                placed.append(carrier)
                break
        else:
            return False
    return True


def _text(carriers: Sequence[Carrier]) -> str:
    return " ".join(str(carrier.mhz) for carrier in carriers)


def _number(value: float | None) -> str:
    return "none" if value is None else f"{value:g} MHz"
