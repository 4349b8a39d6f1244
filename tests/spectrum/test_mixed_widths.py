"""Carriers of different widths: the search against brute force by the width rules, and what it answers."""

from functools import cache
from itertools import combinations, permutations
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum import space
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.search import best_set, improving, next_best
from meetapp.spectrum.verify import check_ranking, check_set

FIVE_PLANS = pool_mhz(published_plans(), "ABEFR")

Key = tuple[float, float, float, tuple[int, ...], tuple[float, ...]]


# Brute force, written for this test: every list with every order of the widths, by the width rules.


@cache
def brute_key(carriers: tuple[Carrier, ...], signals: str, useful: int) -> Key:
    def excess(*widths: float) -> float:
        return sum(widths) / 2 - 20 * len(widths) / 2

    spacing = [abs(a.mhz - b.mhz) - excess(a.width_mhz, b.width_mhz) for a, b in combinations(carriers, 2)]
    two: list[float] = [useful]
    for a, b, v in permutations(carriers, 3):
        two.append(abs(2 * a.mhz - b.mhz - v.mhz) - excess(a.width_mhz, a.width_mhz, b.width_mhz, v.width_mhz))
    three: list[float] = [useful]
    for a, b, c, v in permutations(carriers, 4):
        three.append(abs(a.mhz + b.mhz - c.mhz - v.mhz) - excess(*(each.width_mhz for each in (a, b, c, v))))
    first, second = (min(two), min(three)) if signals == "two" else (min(two + three), min(two))
    mhz, widths = tuple(each.mhz for each in carriers), tuple(each.width_mhz for each in carriers)
    return -first, -second, -min(spacing, default=0), mhz, widths


def brute_ranking(problem: PickProblem) -> list[tuple[Carrier, ...]]:
    keeping = []
    for mhz in combinations(problem.pool_mhz, problem.count):
        for widths in set(permutations(problem.widths_mhz)):
            carriers = tuple(map(Carrier, mhz, widths))
            has_room = all(each.mhz in problem.room_for(each.width_mhz) for each in carriers)
            if has_room and -brute_key(carriers, problem.signals, problem.useful_mhz)[2] >= problem.spacing_mhz:
                keeping.append(carriers)
    return sorted(keeping, key=lambda carriers: brute_key(carriers, problem.signals, problem.useful_mhz))


@st.composite
def mixed_problems(draw: st.DrawFn) -> PickProblem:
    """Small pools, any or in equal steps, with two to four widths; sometimes less room for the widest."""
    span = draw(st.sampled_from([20, 80, 300]))
    count = draw(st.integers(2, 4))
    width = st.sampled_from([20, 20, 40, 8, 17.5, 27])
    widths = draw(st.lists(width, min_size=count, max_size=count).filter(lambda chosen: len(set(chosen)) > 1))
    if draw(st.booleans()):
        step = draw(st.integers(1, span // 8))
        pool = [5645 + step * place for place in range(draw(st.integers(count, 8)))]
    else:
        pool = sorted(draw(st.lists(st.integers(5645, 5645 + span), min_size=count, max_size=8, unique=True)))
    margin = draw(st.integers(0, 2))
    less_room = draw(st.one_of(st.just(pool[margin : len(pool) - margin]), st.lists(st.sampled_from(pool))))
    return PickProblem(
        tuple(pool),
        count,
        draw(st.integers(0, span // count)),
        signals=draw(st.sampled_from(["both", "two"])),
        useful_mhz=draw(st.sampled_from([0, 3, 35, 1000])),
        widths_mhz=tuple(widths),
        room_mhz=((max(widths), tuple(less_room)),) if draw(st.booleans()) else (),
    )


def carriers_of(result: Result) -> tuple[Carrier, ...]:
    assert isinstance(result, Optimal | BestFound)
    return tuple(map(Carrier, result.mhz, result.widths_mhz))


@settings(max_examples=150, deadline=None)
@given(mixed_problems())
def test_the_best_set_of_mixed_widths_is_the_one_that_brute_force_finds(problem: PickProblem) -> None:
    ranking = brute_ranking(problem)
    result = best_set(problem)
    if ranking:
        assert isinstance(result, Optimal)
        assert carriers_of(result) == ranking[0]
    else:
        assert isinstance(result, Impossible)
    assert check_set(problem, result, ranking) == []


@settings(max_examples=60, deadline=None)
@given(mixed_problems(), st.integers(2, 12))
def test_the_next_best_sets_of_mixed_widths_come_in_the_order_of_brute_force(
    problem: PickProblem, how_many: int
) -> None:
    results = next_best(problem, how_many)
    ranking = brute_ranking(problem)
    if ranking:
        assert [carriers_of(result) for result in results] == ranking[:how_many]
    else:
        assert [type(result) for result in results] == [Impossible]
    assert check_ranking(problem, results) == []


@settings(max_examples=100, deadline=None)
@given(mixed_problems())
def test_on_the_way_mixed_widths_never_have_a_wrong_bound(problem: PickProblem) -> None:
    with patch.object(space, "CARRIERS_BETWEEN_PAUSES", 1):
        *on_the_way, last = improving(problem)
        assert last == best_set(problem)
    for answer in on_the_way:
        assert isinstance(answer, BestFound | Undecided)
        assert check_set(problem, answer) == []
        if isinstance(answer, BestFound) and answer.bound_mhz is not None:
            assert answer.bound_mhz >= -brute_key(carriers_of(last), problem.signals, problem.useful_mhz)[0]


@settings(max_examples=60, deadline=None)
@given(mixed_problems(), st.sampled_from([20, 17.5, 40]))
def test_widths_that_are_all_alike_are_the_problem_with_one_width(problem: PickProblem, width: float) -> None:
    alike = PickProblem(
        problem.pool_mhz,
        problem.count,
        problem.spacing_mhz,
        widths_mhz=(width,) * problem.count,
        room_mhz=((width, problem.pool_mhz[1:]),),
    )
    assert alike == PickProblem(problem.pool_mhz[1:], problem.count, problem.spacing_mhz, width_mhz=width)


def test_on_the_published_plans_two_wide_carriers_go_where_they_disturb_least() -> None:
    problem = PickProblem(FIVE_PLANS, 5, 37, widths_mhz=(20, 40, 20, 40, 20))
    result = best_set(problem)
    assert isinstance(result, Optimal)
    # 5705 - 5658 = 47 is 37 and half of the 20 MHz that one of the two is wider than the reference.
    assert (result.mhz, result.widths_mhz) == ((5658, 5705, 5785, 5847, 5945), (40, 20, 20, 20, 40))
    assert result.measures.spacing_mhz == 37
    assert check_set(problem, result) == []


def test_a_wide_carrier_stays_inside_the_band_where_a_narrow_one_may_reach_its_edge() -> None:
    raster = tuple(range(5660, 5841))
    problem = PickProblem(raster, 3, 40, widths_mhz=(20, 20, 40), room_mhz=((40, raster[10:-10]),))
    result = best_set(problem)
    assert isinstance(result, Optimal)
    wide = next(carrier for carrier in carriers_of(result) if carrier.width_mhz == 40)
    assert 5670 <= wide.mhz <= 5830
    assert check_set(problem, result) == []


BAD = {
    "a width for each carrier but one": (lambda: PickProblem((5658,), 2, 37, widths_mhz=(20,)), "widths_mhz"),
    "one width and several": (lambda: PickProblem((5658,), 1, 37, width_mhz=18, widths_mhz=(20,)), "widths_mhz"),
    "a width that can't be": (lambda: PickProblem((5658,), 1, 37, widths_mhz=(0,)), "width_mhz"),
    "room for the wide one only": (
        lambda: PickProblem((5658, 5695), 2, 37, widths_mhz=(20, 40), room_mhz=((20, (5658,)),)),
        "room_mhz",
    ),
}


@pytest.mark.parametrize(("problem", "field"), BAD.values(), ids=BAD)
def test_widths_that_can_not_be_meant_are_refused(problem: type[PickProblem], field: str) -> None:
    with pytest.raises(BadProblem) as refused:
        problem()
    assert refused.value.field == field
