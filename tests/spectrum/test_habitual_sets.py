"""The sets that clubs use from habit, side by side with the best ones. Run with -s to see the table."""

from itertools import pairwise

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, order_key
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.result import Optimal
from meetapp.spectrum.search import best_set

# Common practice, no published source. Measures: spacing, two-signal clearance, three-signal clearance, worked out by
# hand and by two programs; the first hits are 2 x 5800 - 5695 = 5905 near 5917, and 5658 + 5917 - 5695 = 5880.
HABITUAL = [
    ((5658, 5695, 5760, 5800, 5880, 5917), Measures(37, 12, 0)),
    ((5685, 5760, 5800, 5860, 5905), Measures(40, 10, 5)),
    ((5658, 5695, 5760, 5800, 5885), Measures(37, 20, 3)),
    ((5658, 5732, 5843, 5880), Measures(37, 37, 37)),
    ((5740, 5760, 5800, 5840, 5860), Measures(20, 0, 0)),
    ((5658, 5695, 5732, 5769, 5806, 5843, 5880, 5917), Measures(37, 0, 0)),
]
POOL = pool_mhz(published_plans(), "ABEFR")


def text(mhz: tuple[int, ...]) -> str:
    return " ".join(str(each) for each in mhz)


def best_beside(habitual: tuple[int, ...]) -> tuple[PickProblem, Optimal]:
    """The best set of the same size with the same spacing, from plans A, B, E, F, R."""
    spacing = min(high - low for low, high in pairwise(habitual))
    assert set(habitual) <= set(POOL)
    problem = PickProblem(POOL, len(habitual), spacing)
    best = best_set(problem)
    assert isinstance(best, Optimal)
    return problem, best


@pytest.mark.parametrize(("habitual", "measures"), HABITUAL, ids=[text(mhz) for mhz, _ in HABITUAL])
def test_a_habitual_set_has_the_measures_worked_out_before(habitual: tuple[int, ...], measures: Measures) -> None:
    assert measure([Carrier(mhz) for mhz in habitual]) == measures


def test_side_by_side_the_best_set_is_better_than_each_habitual_one() -> None:
    rows = []
    no_better = []
    for habitual, measures in HABITUAL:
        problem, best = best_beside(habitual)
        rows += [_row("habit", habitual, measures), _row("best", best.mhz, best.measures)]
        if order_key(best.measures, best.mhz, problem) >= order_key(measures, habitual, problem):
            no_better.append(habitual)
    print("\n" + " " * 48 + "spacing  two-signal  three-signal")
    print("\n".join(rows))
    print("MHz. Best by these sums; no promise of a clear picture.")
    assert no_better == []


def _row(name: str, mhz: tuple[int, ...], reached: Measures) -> str:
    return (
        f"{name:<6}{text(mhz):<42}{reached.spacing_mhz:>7}"
        f"{reached.two_signal_clearance_mhz:>12}{reached.three_signal_clearance_mhz:>14}"
    )
