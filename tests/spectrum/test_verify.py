"""The second opinion accepts right answers and finds each planted mistake."""

from dataclasses import replace

import pytest

from meetapp.spectrum.problem import PickProblem
from meetapp.spectrum.products import Measures
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Result, Undecided
from meetapp.spectrum.search import best_set, next_best
from meetapp.spectrum.verify import check_ranking, check_set

POOL = (5645, 5685, 5695, 5740, 5745, 5760, 5825, 5880, 5945)
PROBLEM = PickProblem(POOL, 5, 37)
RIGHT = Optimal((5645, 5685, 5745, 5825, 5945), Measures(40, 20, 20), nodes=9)

WRONG_SETS: dict[str, tuple[Result, str]] = {
    "too few carriers": (replace(RIGHT, mhz=RIGHT.mhz[:4]), "5 carriers were asked for, not 4."),
    "too many carriers": (replace(RIGHT, mhz=(*RIGHT.mhz, 5985)), "5 carriers were asked for, not 6."),
    "not ascending": (replace(RIGHT, mhz=RIGHT.mhz[::-1]), "The list does not ascend."),
    "a carrier twice": (replace(RIGHT, mhz=(5645, 5645, 5745, 5825, 5945)), "The list does not ascend."),
    "a carrier from outside": (replace(RIGHT, mhz=(5645, 5685, 5746, 5825, 5945)), "5746 MHz is not in the pool."),
    "too close together": (
        replace(RIGHT, mhz=(5645, 5685, 5695, 5825, 5945)),
        "The spacing is 10 MHz; 37 MHz were asked for.",
    ),
    "a spacing that is off": (
        replace(RIGHT, measures=Measures(41, 20, 20)),
        "The spacing is 40 MHz, not 41 MHz.",
    ),
    "a two-signal clearance that is off": (
        replace(RIGHT, measures=Measures(40, 21, 20)),
        "The two-signal clearance is 20 MHz, not 21 MHz.",
    ),
    "a three-signal clearance that is off": (
        replace(RIGHT, measures=Measures(40, 20, 19)),
        "The three-signal clearance is 20 MHz, not 19 MHz.",
    ),
    "a clearance left out": (
        replace(RIGHT, measures=Measures(40, 20, None)),
        "The three-signal clearance is 20 MHz, not none.",
    ),
    "a set that is not the best": (
        Optimal((5645, 5685, 5740, 5825, 5945), Measures(40, 15, 5), nodes=9),
        "5645 5685 5745 5825 5945 is better.",
    ),
    "a bound below what is reached": (
        BestFound(RIGHT.mhz, RIGHT.measures, bound_mhz=19, nodes=9),
        "The set reaches 20 MHz, above the bound of 19 MHz.",
    ),
    "no bound": (
        BestFound(RIGHT.mhz, RIGHT.measures, bound_mhz=None, nodes=9),
        "The set reaches 20 MHz, above the bound of none.",
    ),
    "impossible though possible": (Impossible(5, 40), "5 carriers do fit."),
    "a largest count that is off": (Impossible(4, 40), "6 carriers fit at this spacing, not 4."),
    "a widest spacing that is off": (Impossible(6, 41), "The widest spacing is 55 MHz, not 41 MHz."),
    "no widest spacing": (Impossible(6, None), "The widest spacing is 55 MHz, not none."),
}


def test_a_right_answer_brings_no_complaint() -> None:
    assert check_set(PROBLEM, RIGHT, rivals=[RIGHT.mhz, (5645, 5685, 5760, 5825, 5945)]) == []
    assert best_set(PROBLEM) == replace(RIGHT, nodes=best_set(PROBLEM).nodes)  # type: ignore[union-attr]


@pytest.mark.parametrize(("wrong", "complaint"), WRONG_SETS.values(), ids=WRONG_SETS)
def test_a_planted_mistake_is_found(wrong: Result, complaint: str) -> None:
    assert complaint in check_set(PROBLEM, wrong, rivals=[RIGHT.mhz])


def test_a_rival_that_does_not_fit_the_problem_is_no_rival() -> None:
    narrower = (5645, 5685, 5695, 5825, 5945)
    outside = (5645, 5705, 5765, 5865, 5985)
    assert check_set(PROBLEM, RIGHT, rivals=[narrower, outside, RIGHT.mhz[:3]]) == []


def test_impossible_and_undecided_answers_are_accepted_where_they_are_true() -> None:
    assert check_set(replace(PROBLEM, count=7), Impossible(6, 20)) == []
    assert check_set(PickProblem((5658,), 2, 37), Impossible(1, None)) == []
    assert check_set(PickProblem((), 1, 37), Impossible(0, None)) == []
    assert check_set(PROBLEM, Undecided(0)) == []


def test_there_is_no_bound_where_there_is_no_clearance() -> None:
    pair = PickProblem(POOL, 2, 37)
    found = BestFound((5645, 5945), Measures(300, None, None), bound_mhz=None, nodes=3)
    assert check_set(pair, found) == []
    assert check_set(pair, replace(found, bound_mhz=35)) == ["There is no clearance to bound."]


def test_widths_count_in_the_second_opinion_too() -> None:
    wide = replace(PROBLEM, width_mhz=22)
    assert check_set(wide, replace(RIGHT, measures=Measures(38, 16, 16))) == []
    assert len(check_set(wide, RIGHT)) == 3


@pytest.mark.parametrize("signals", ["both", "two"])
def test_a_list_of_next_best_sets_in_the_wrong_order_is_found(signals: str) -> None:
    problem = replace(PROBLEM, signals=signals, count=4)  # type: ignore[arg-type]
    first, second, third = next_best(problem, 3)
    assert check_ranking(problem, (first, second, third)) == []
    assert len(check_ranking(problem, (second, first, third))) == 1
    assert len(check_ranking(problem, (first, first, second))) == 1
