"""The trade-off between count, spacing and clearance, point by point."""

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures
from meetapp.spectrum.pull import pulled
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.search import best_set
from meetapp.spectrum.spacing import largest_spacing
from meetapp.spectrum.trade_off import by_count, by_spacing, within_pull

FIVE_PLANS = pool_mhz(published_plans(), "ABEFR")


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.integers(5645, 5800), min_size=1, max_size=10, unique=True),
    st.integers(1, 5),
    st.lists(st.integers(0, 60), min_size=1, max_size=8),
    st.sampled_from([(20, ()), (17.5, ()), (20, (20, 20, 40))]),
)
def test_each_point_is_the_best_set_at_its_own_spacing(
    pool: list[int], count: int, spacings: list[int], width: tuple[float, tuple[float, ...]]
) -> None:
    width_mhz, widths_mhz = width
    problem = PickProblem(tuple(pool), len(widths_mhz) or count, 0, width_mhz=width_mhz, widths_mhz=widths_mhz)
    points = list(by_spacing(problem, spacings))
    assert [point.spacing_mhz for point in points] == sorted(set(spacings))
    for point in points:
        alone = best_set(replace(problem, spacing_mhz=point.spacing_mhz))
        if isinstance(alone, Optimal):
            assert isinstance(point.answer, Optimal)
            assert (point.answer.mhz, point.answer.widths_mhz) == (alone.mhz, alone.widths_mhz)
            assert point.answer.measures == alone.measures
        else:
            assert point.answer == alone
            assert point.worst_case is None


def test_more_spacing_never_brings_more_clearance() -> None:
    points = list(by_spacing(PickProblem(FIVE_PLANS, 6, 37), range(20, 66)))
    widest = largest_spacing(FIVE_PLANS, 6)
    assert all(isinstance(point.answer, Optimal) == (point.spacing_mhz <= (widest or 0)) for point in points)
    clearances = [point.answer.measures.clearance_mhz for point in points if isinstance(point.answer, Optimal)]
    assert clearances == sorted(clearances, reverse=True)  # type: ignore[type-var]


def test_the_worst_case_stands_beside_each_point() -> None:
    point = next(by_spacing(PickProblem(FIVE_PLANS, 4, 0), [37]))
    assert isinstance(point.answer, Optimal)
    assert point.worst_case == pulled(point.answer.mhz, 2)
    # A pull of q takes up to 2q from the spacing and 4q from a clearance: 65 - 4 and 35 - 8.
    assert (point.worst_case.spacing_mhz, point.worst_case.clearance_mhz) == (61, 27)
    untouched = next(by_spacing(PickProblem(FIVE_PLANS, 4, 0), [37], within_pull(0)))
    assert untouched.worst_case == point.answer.measures
    own = next(by_spacing(PickProblem(FIVE_PLANS, 4, 0), [37], lambda mhz: Measures(len(mhz), None, None)))
    assert own.worst_case == Measures(4, None, None)


def test_for_every_count_the_best_of_each_measure() -> None:
    rows = list(by_count(PickProblem(FIVE_PLANS, 1, 37), range(1, 10)))
    assert [row.count for row in rows] == list(range(1, 10))
    six = rows[5]
    assert isinstance(six.best.answer, Optimal)
    assert isinstance(six.best_two_signal.answer, Optimal)
    assert six.best.answer.mhz == (5645, 5695, 5765, 5805, 5865, 5945)
    assert six.best_two_signal.answer.measures.two_signal_clearance_mhz == 20
    # Worked out here list by list for two to four; none of nine keeps 37 MHz, so the answer says what they could.
    by_hand = [max(min(b - a for a, b in pairwise(mhz)) for mhz in combinations(FIVE_PLANS, n)) for n in (2, 3, 4)]
    assert [row.widest_spacing_mhz for row in rows[:4]] == [None, *by_hand]
    assert rows[8].best.answer == rows[8].best_two_signal.answer == Impossible(8, 30)
    assert rows[8].widest_spacing_mhz == 30


@pytest.mark.parametrize("looks", [0, 3])
def test_a_point_that_ran_out_of_time_is_not_called_proven(looks: int) -> None:
    asked = iter([False] * looks)
    problem = PickProblem(tuple(range(5650, 5926)), 9, 0)
    points = list(by_spacing(problem, [10, 20], is_over=lambda: next(asked, True)))
    assert [type(point.answer) for point in points] == ([BestFound, Undecided] if looks else [Undecided, Undecided])
    assert [point.worst_case is None for point in points] == [not looks, True]
