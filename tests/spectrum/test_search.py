"""The search against brute force, its order, its budget and its outcomes."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from itertools import combinations, islice
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum import space
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals, order_key
from meetapp.spectrum.products import Measures
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.search import best_per_spacing, best_set, improving, next_best
from meetapp.spectrum.spacing import largest_count, largest_spacing
from meetapp.spectrum.verify import check_ranking, check_set
from tests.spectrum.brute import Mhz, brute_key, brute_measures, brute_ranking, small_pools

FIVE_PLANS = pool_mhz(published_plans(), "ABEFR")
SIX_PLANS = pool_mhz(published_plans(), "ABEFRL")

@contextmanager
def pauses_after_each_carrier() -> Iterator[None]:
    """A search that can be stopped nearly anywhere."""
    with patch.object(space, "CARRIERS_BETWEEN_PAUSES", 1):
        yield


@st.composite
def small_problems(draw: st.DrawFn) -> PickProblem:
    """Short and long bands, so that ties and clear sets both turn up."""
    span = draw(st.sampled_from([12, 40, 300]))
    count = draw(st.sampled_from([1, 2, 3, 4, 4, 5, 5, 6]))
    at_least = draw(st.sampled_from([1, count, count + 2, count + 3]))
    return PickProblem(
        tuple(draw(small_pools(span, at_least))),
        count=count,
        spacing_mhz=draw(st.integers(0, span // 5)),
        signals=draw(st.sampled_from(["both", "two"])),
        useful_mhz=draw(st.sampled_from([0, 1, 5, 35, 1000])),
        width_mhz=draw(st.sampled_from([20, 20, 20, 17.5, 8, 24])),
    )


@settings(max_examples=100, deadline=None)
@given(small_problems())
def test_the_best_set_is_the_one_that_brute_force_finds(problem: PickProblem) -> None:
    ranking = brute_ranking(problem)
    result = best_set(problem)
    if ranking:
        assert isinstance(result, Optimal)
        assert result.mhz == ranking[0]
        measures = result.measures
        assert brute_measures(result.mhz, problem.width_mhz) == (
            measures.spacing_mhz,
            measures.two_signal_clearance_mhz,
            measures.three_signal_clearance_mhz,
        )
    else:
        assert isinstance(result, Impossible)
    assert check_set(problem, result, ranking) == []


@settings(max_examples=100, deadline=None)
@given(small_problems(), st.integers(1, 12))
def test_the_next_best_sets_come_in_the_order_of_brute_force(problem: PickProblem, how_many: int) -> None:
    results = next_best(problem, how_many)
    ranking = brute_ranking(problem)
    if ranking:
        assert [result.mhz for result in results if isinstance(result, Optimal)] == ranking[:how_many]
        assert len(results) == min(how_many, len(ranking))
    else:
        assert [type(result) for result in results] == [Impossible]
    assert check_ranking(problem, results) == []


@settings(max_examples=100, deadline=None)
@given(small_problems())
def test_the_best_for_each_spacing_leaves_out_exactly_what_is_dominated(problem: PickProblem) -> None:
    best_at: dict[float, Mhz] = {}
    for mhz in brute_ranking(problem):
        spacing = brute_measures(mhz, problem.width_mhz)[0]
        if spacing is not None:
            best_at.setdefault(spacing, mhz)
    worth_having = {
        spacing: mhz
        for spacing, mhz in best_at.items()
        if all(
            brute_key(problem, mhz)[:2] < brute_key(problem, wider)[:2]
            for width, wider in best_at.items()
            if width > spacing
        )
    }
    points = best_per_spacing(problem)
    assert {spacing: point.mhz for spacing, point in points} == worth_having
    assert [spacing for spacing, _ in points] == sorted(worth_having)


@settings(max_examples=100, deadline=None)
@given(small_problems())
def test_impossible_says_exactly_what_would_fit(problem: PickProblem) -> None:
    result = best_set(problem)
    if not isinstance(result, Impossible):
        return
    fits = {count for count in range(1, problem.count) if brute_ranking(replace(problem, count=count))}
    assert result.largest_count == max(fits, default=0)
    spacings = [brute_measures(mhz, problem.width_mhz)[0] for mhz in combinations(problem.pool_mhz, problem.count)]
    assert result.largest_spacing_mhz == max((s for s in spacings if s is not None), default=None)


@settings(max_examples=100, deadline=None)
@given(small_problems(), st.integers(0, 60))
def test_a_budget_gives_an_honest_answer_and_enough_of_it_the_proven_one(problem: PickProblem, budget: int) -> None:
    with pauses_after_each_carrier():
        result = best_set(problem, budget)
        proven = best_set(problem)
    assert check_set(problem, result) == []
    if isinstance(result, Impossible | Optimal):
        assert result == proven
        return
    assert result.nodes >= budget
    assert isinstance(proven, Optimal)
    if isinstance(result, BestFound) and result.bound_mhz is not None:
        assert result.bound_mhz >= -brute_key(problem, proven.mhz)[0]


@settings(max_examples=100, deadline=None)
@given(small_problems())
def test_on_the_way_the_set_never_gets_worse_and_the_bound_never_wrong(problem: PickProblem) -> None:
    with pauses_after_each_carrier():
        *on_the_way, last = improving(problem)
        assert last == best_set(problem)
    ranking = brute_ranking(problem)
    key: tuple[float, float, float, Mhz] | None = None
    bound = float("inf")
    for answer in on_the_way:
        assert check_set(problem, answer) == []
        if isinstance(answer, BestFound):
            assert key is None or brute_key(problem, answer.mhz) <= key
            key = brute_key(problem, answer.mhz)
            if answer.bound_mhz is not None:
                assert -brute_key(problem, ranking[0])[0] <= answer.bound_mhz <= bound
                bound = answer.bound_mhz
        else:
            assert isinstance(answer, Undecided)
            assert key is None


def test_a_search_that_was_left_goes_on_where_it_was() -> None:
    problem = PickProblem(tuple(range(5650, 5926)), 7, 20)
    answers = improving(problem)
    early = list(islice(answers, 12))[-1]
    *_, last = answers
    assert isinstance(early, BestFound)
    assert last == best_set(problem)
    assert isinstance(last, Optimal)
    assert order_key(last.measures, last.mhz, problem) <= order_key(early.measures, early.mhz, problem)


def test_a_budget_of_nothing_decides_nothing() -> None:
    assert best_set(PickProblem(FIVE_PLANS, 6, 37), 0) == Undecided(0)


def test_who_asks_whether_the_time_is_over_gets_the_best_so_far() -> None:
    asked = iter([False] * 20)
    problem = PickProblem(tuple(range(5650, 5926)), 8, 15)
    result = best_set(problem, is_over=lambda: next(asked, True))
    assert next(asked, None) is None
    assert isinstance(result, BestFound)
    assert result.bound_mhz is not None
    # The clearance proven for this problem, which takes some seconds: 6 MHz.
    assert (result.measures.clearance_mhz or 0) <= 6 <= result.bound_mhz
    assert check_set(problem, result) == []
    assert best_set(problem, is_over=lambda: True) == Undecided(0)


def test_a_spent_budget_ends_the_list_of_next_best_sets_with_what_is_open() -> None:
    problem = PickProblem(FIVE_PLANS, 6, 25)
    with pauses_after_each_carrier():
        first, second, third = next_best(problem, 3)
        assert isinstance(second, Optimal)
        assert isinstance(third, Optimal)
        cut = next_best(problem, 3, node_budget=second.nodes)
        assert cut[:2] == (first, second)
        assert [type(result) for result in cut[2:]] == [Undecided]
        open_still = next_best(problem, 3, node_budget=third.nodes - 20)[-1]
        assert isinstance(open_still, BestFound)
        assert open_still.mhz not in (getattr(first, "mhz", None), second.mhz)


def test_a_spent_budget_ends_the_list_of_spacings_with_the_best_found() -> None:
    points = best_per_spacing(PickProblem(FIVE_PLANS, 8, 20), node_budget=100)
    assert [type(point) for _, point in points] == [BestFound]
    assert best_per_spacing(PickProblem(FIVE_PLANS, 8, 20), node_budget=0) == ()


@pytest.mark.parametrize("signals", ["both", "two"])
@pytest.mark.parametrize("spacing", [20, 25, 30, 37, 40])
@pytest.mark.parametrize("pool", [FIVE_PLANS, SIX_PLANS], ids=["39 frequencies", "47 frequencies"])
def test_published_plans_are_solved_for_one_to_eight(pool: Mhz, spacing: int, signals: Signals) -> None:
    for count in range(1, 9):
        problem = PickProblem(pool, count, spacing, signals)
        result = best_set(problem)
        assert isinstance(result, Optimal), count
        assert check_set(problem, result) == []


def test_the_order_of_the_pool_and_repeats_change_nothing() -> None:
    shuffled = PickProblem(FIVE_PLANS[::-1] + FIVE_PLANS[3:9], 6, 25)
    assert best_set(shuffled) == best_set(PickProblem(FIVE_PLANS, 6, 25))


@settings(max_examples=100, deadline=None)
@given(small_problems(), st.data())
def test_a_smaller_pool_or_a_wider_spacing_is_never_better(problem: PickProblem, data: st.DataObject) -> None:
    smaller = data.draw(st.lists(st.sampled_from(problem.pool_mhz), min_size=1, unique=True))
    wider = problem.spacing_mhz + data.draw(st.integers(0, 10))
    harder_result = best_set(replace(problem, pool_mhz=tuple(smaller), spacing_mhz=wider))
    if isinstance(harder_result, Optimal):
        result = best_set(problem)
        assert isinstance(result, Optimal)
        assert order_key(result.measures, result.mhz, problem) <= order_key(
            harder_result.measures, harder_result.mhz, problem
        )


@settings(max_examples=100, deadline=None)
@given(small_problems())
def test_the_band_turned_end_for_end_has_the_same_measures(problem: PickProblem) -> None:
    turned = replace(problem, pool_mhz=tuple(12_000 - mhz for mhz in problem.pool_mhz))
    result, turned_result = best_set(problem), best_set(turned)
    if isinstance(result, Optimal):
        assert isinstance(turned_result, Optimal)
        kept = order_key(result.measures, result.mhz, problem)[0]
        assert kept == order_key(turned_result.measures, turned_result.mhz, turned)[0]
    else:
        assert result == turned_result


def test_one_carrier_is_the_lowest_and_two_are_the_furthest_apart() -> None:
    one = best_set(PickProblem(FIVE_PLANS, 1, 37))
    two = best_set(PickProblem(FIVE_PLANS, 2, 37))
    assert isinstance(one, Optimal)
    assert isinstance(two, Optimal)
    assert (one.mhz, one.measures) == ((5645,), Measures(None, None, None))
    assert (two.mhz, two.measures) == ((5645, 5945), Measures(300, None, None))


def test_measures_are_given_in_full_though_only_the_useful_part_counts() -> None:
    result = best_set(PickProblem((5645, 5705, 5805, 5945), 3, 20, useful_mhz=10))
    assert isinstance(result, Optimal)
    assert result.mhz == (5645, 5805, 5945)
    assert result.measures.two_signal_clearance_mhz == 20


@pytest.mark.parametrize(
    ("pool", "count", "spacing", "expected"),
    [
        pytest.param((), 1, 37, Impossible(0, None), id="an empty pool"),
        pytest.param((5658, 5695), 3, 0, Impossible(2, None), id="more carriers than frequencies"),
        pytest.param((5658, 5695, 5732), 3, 38, Impossible(2, 37), id="one MHz too wide"),
        pytest.param((5658, 5695, 5732), 2, 1000, Impossible(1, 74), id="far too wide"),
    ],
)
def test_a_count_that_can_not_be_met_is_answered_with_what_can(
    pool: Mhz, count: int, spacing: int, expected: Impossible
) -> None:
    problem = PickProblem(pool, count, spacing)
    assert best_set(problem) == expected
    assert next_best(problem, 3) == (expected,)
    assert best_per_spacing(problem) == ()


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 60), max_size=9, unique=True), st.integers(0, 30), st.integers(1, 6))
def test_greedy_fits_as_many_as_brute_force(pool: list[int], spacing: int, count: int) -> None:
    ascending = sorted(pool)
    closest: dict[int, list[int]] = {}
    for size in range(2, len(pool) + 1):
        closest[size] = [min(b - a for a, b in combinations(mhz, 2)) for mhz in combinations(ascending, size)]
    fitting = [size for size, distances in closest.items() if max(distances) >= spacing]
    assert largest_count(ascending, spacing) == max(fitting, default=min(1, len(pool)))
    assert largest_spacing(ascending, count) == max(closest.get(count, []), default=None)


def test_signals_two_ranks_two_signals_first_and_three_signals_next() -> None:
    problem = PickProblem((1, 2, 3, 4), 4, 0, signals="two", useful_mhz=35)
    narrow = Measures(20, 30, 1)
    wide = Measures(40, 29, 29)
    assert order_key(narrow, (1,), problem) < order_key(wide, (1,), problem)
    both = replace(problem, signals="both")
    assert order_key(wide, (1,), both) < order_key(narrow, (1,), both)


BAD_PROBLEMS: dict[str, tuple[Callable[[], PickProblem], str]] = {
    "no carriers": (lambda: PickProblem((5658,), 0, 37), "count"),
    "a negative spacing": (lambda: PickProblem((5658,), 1, -1), "spacing_mhz"),
    "a negative useful clearance": (lambda: PickProblem((5658,), 1, 37, useful_mhz=-1), "useful_mhz"),
    "no width": (lambda: PickProblem((5658,), 1, 37, width_mhz=0), "width_mhz"),
    "an endless width": (lambda: PickProblem((5658,), 1, 37, width_mhz=float("inf")), "width_mhz"),
    "no width at all": (lambda: PickProblem((5658,), 1, 37, width_mhz=float("nan")), "width_mhz"),
    "other signals": (lambda: PickProblem((5658,), 1, 37, signals="three"), "signals"),  # type: ignore[arg-type]
    "a negative frequency": (lambda: PickProblem((-5658,), 1, 37), "pool_mhz"),
    "a frequency beyond radio video": (lambda: PickProblem((5658, 10**9), 1, 37), "pool_mhz"),
}


@pytest.mark.parametrize(("make", "field"), BAD_PROBLEMS.values(), ids=BAD_PROBLEMS)
def test_a_bad_problem_is_refused_before_the_search(make: Callable[[], PickProblem], field: str) -> None:
    with pytest.raises(BadProblem) as refused:
        make()
    assert refused.value.field == field
    assert refused.value.reason.endswith(".")
