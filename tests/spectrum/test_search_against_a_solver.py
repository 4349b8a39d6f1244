"""The search against a general-purpose constraint solver, on pools too large for brute force."""

from random import Random

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.result import Impossible, Optimal
from meetapp.spectrum.search import best_set
from meetapp.spectrum.serving import ServingProblem, ServingSet, expected_pilot, serving_set
from meetapp.spectrum.tuning import parse_tuning
from tests.spectrum.solver import solved, solved_serving

PLANS = published_plans()


def pool_of(kind: str, seed: int) -> tuple[int, ...]:
    """A pool of 15 to 70 frequencies: scattered ones, or equal steps (every list can be moved and turned there)."""
    dice = Random(seed)
    if kind == "scattered":
        return tuple(dice.sample(range(5650, 5926), dice.randint(15, 40)))
    return tuple(range(5650, 5926, dice.choice([4, 5, 7, 11])))


CASES = [
    pytest.param(kind, seed, count, signals, id=f"{count} of pool {seed} of {kind}, {signals} first")
    for seed, (kind, count, signals) in enumerate(
        [
            ("scattered", 3, "both"),
            ("scattered", 4, "both"),
            ("scattered", 5, "both"),
            ("scattered", 6, "both"),
            ("scattered", 5, "two"),
            ("scattered", 6, "two"),
            ("scattered", 7, "both"),
            ("equal steps", 4, "both"),
            ("equal steps", 5, "both"),
            ("equal steps", 6, "both"),
            ("equal steps", 5, "two"),
            ("equal steps", 7, "two"),
        ]
    )
]


@pytest.mark.parametrize(("kind", "seed", "count", "signals"), CASES)
def test_the_proven_best_set_is_the_one_that_the_solver_proves(
    kind: str, seed: int, count: int, signals: Signals
) -> None:
    problem = PickProblem(pool_of(kind, seed), count, Random(seed).randint(10, 37), signals)
    result = best_set(problem)
    expected = solved(problem)
    if expected is None:
        assert isinstance(result, Impossible)
    else:
        assert isinstance(result, Optimal)
        assert result.mhz == tuple(carrier.mhz for carrier in expected)


MIXED: list[tuple[str, tuple[float, ...], Signals]] = [
    ("scattered", (20, 20, 40), "both"),
    ("scattered", (20, 20, 20, 40), "both"),
    ("scattered", (18, 18, 27, 40), "both"),
    ("scattered", (17.5, 20, 20, 40, 40), "two"),
    ("equal steps", (20, 20, 40, 40), "both"),
    ("equal steps", (20, 20, 20, 40), "two"),
    ("equal steps", (8, 20, 20, 20, 27), "both"),
]


@pytest.mark.parametrize(("kind", "widths", "signals"), MIXED, ids=str)
def test_the_proven_best_set_of_mixed_widths_is_the_one_that_the_solver_proves(
    kind: str, widths: tuple[float, ...], signals: Signals
) -> None:
    pool = pool_of(kind, len(widths))
    room = ((widths[-1], pool[2:-2]),)
    problem = PickProblem(pool, len(widths), 25, signals, widths_mhz=widths, room_mhz=room)
    result = best_set(problem)
    expected = solved(problem)
    assert isinstance(result, Optimal)
    assert expected == tuple(map(Carrier, result.mhz, result.widths_mhz))


KITS = ("R", "F R", "A", "E", "R1 R3 R6 R8", "B1 B4 B8", "5650-5925/15", "R2", "F4 A1")
SERVING: list[tuple[str, int, int, int, int]] = [
    ("plans", 4, 37, 6, 1),
    ("plans", 5, 30, 9, 2),
    ("plans", 6, 37, 14, 3),
    ("plans", 4, 50, 12, 4),
    ("scattered", 4, 25, 7, 5),
    ("scattered", 5, 20, 10, 6),
    ("equal steps", 4, 25, 8, 7),
    ("equal steps", 5, 30, 13, 8),
]


@pytest.mark.parametrize(("kind", "count", "spacing", "pilots", "seed"), SERVING, ids=str)
def test_the_proven_best_set_for_some_pilots_is_the_one_that_the_solver_proves(
    kind: str, count: int, spacing: int, pilots: int, seed: int
) -> None:
    dice = Random(seed)
    pool = pool_mhz(PLANS, "ABEFR") if kind == "plans" else pool_of(kind, seed)
    coming = tuple(expected_pilot(number, parse_tuning(dice.choice(KITS), PLANS)) for number in range(pilots))
    problem = ServingProblem(PickProblem(pool, count, spacing), coming, dice.randint(2, count))
    answer = serving_set(problem)
    expected = solved_serving(problem)
    assert isinstance(answer, ServingSet)
    assert isinstance(answer.found, Optimal)
    assert answer.is_most_proven
    assert expected == tuple(map(Carrier, answer.found.mhz))
