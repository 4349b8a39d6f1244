"""The trade-off between count, spacing and clearance, point by point."""

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.products import Measures
from meetapp.spectrum.pull import pulled
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.search import best_set
from meetapp.spectrum.serving import ServingProblem, ServingSet, expected_pilot, serving_set
from meetapp.spectrum.spacing import largest_spacing
from meetapp.spectrum.trade_off import Point, by_count, by_spacing, count_row, serving_best, within_pull
from meetapp.spectrum.tuning import parse_tuning
from tests.spectrum.brute import brute_measures, brute_ranking, small_pools

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


@settings(max_examples=60, deadline=None)
@given(small_pools(150, 4), st.integers(2, 5), st.integers(0, 40), st.sampled_from(["both", "two"]))
def test_each_point_called_proven_is_the_best_of_all_lists(
    pool: list[int], count: int, spacing: int, signals: Signals
) -> None:
    problem = PickProblem(tuple(pool), count, 0, signals)
    for point in by_spacing(problem, range(spacing, spacing + 40, 7)):
        assert_is_best(point, replace(problem, spacing_mhz=point.spacing_mhz))
    for row in by_count(replace(problem, spacing_mhz=spacing), range(1, 6)):
        asked = replace(problem, spacing_mhz=spacing, count=row.count)
        assert_is_best(row.best, asked)
        assert_is_best(row.best_two_signal, replace(asked, signals="two"))
        all_spacings = (brute_measures(mhz, 20)[0] for mhz in combinations(asked.pool_mhz, row.count))
        widest = max((each for each in all_spacings if each is not None), default=None)
        assert row.widest_spacing_mhz == widest


def assert_is_best(point: Point, problem: PickProblem) -> None:
    ranking = brute_ranking(problem)
    assert isinstance(point.answer, Optimal if ranking else Impossible)
    assert not ranking or (isinstance(point.answer, Optimal) and point.answer.mhz == ranking[0])


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


@pytest.mark.parametrize("widths_mhz", [(), (20, 20, 20, 40)], ids=["one width", "one of them wide"])
def test_each_point_can_be_the_best_set_for_the_pilots_who_come(widths_mhz: tuple[float, ...]) -> None:
    kits = [("R", 20), ("F1 F2", 20), ("E", 20), ("5660 5735 5839", 40)]
    pilots = tuple(
        expected_pilot(number, parse_tuning(kit, published_plans()), width_mhz=width)
        for number, (kit, width) in enumerate(kits)
    )
    pick = PickProblem(FIVE_PLANS, 4, 0, widths_mhz=widths_mhz)
    problem = ServingProblem(pick, pilots, heat_size=4)
    spacings = [20, 40, 60, 80, 100]
    points = list(by_spacing(pick, spacings, best_of=serving_best(problem)))
    for spacing, point in zip(spacings, points, strict=True):
        alone = serving_set(replace(problem, pick=replace(pick, spacing_mhz=spacing)))
        found = alone.found if isinstance(alone, ServingSet) else alone
        if isinstance(found, Optimal) and isinstance(point.answer, Optimal):
            assert (point.answer.mhz, point.answer.widths_mhz) == (found.mhz, found.widths_mhz)
        else:
            assert point.answer == found
    row = count_row(replace(pick, spacing_mhz=37), best_of=serving_best(problem))
    assert row.best.answer == serving_best(problem)(replace(pick, spacing_mhz=37), None)
    # The widest spacing is what the pool has, whoever comes.
    assert row.widest_spacing_mhz == count_row(pick).widest_spacing_mhz


def test_the_widest_spacing_of_several_widths_is_worked_out_with_them() -> None:
    # Upper and lower end of the pool, 74 MHz apart, less half of what a carrier of 40 is above 20.
    assert count_row(PickProblem((5658, 5695, 5732), 2, 37, widths_mhz=(20, 40))).widest_spacing_mhz == 64
