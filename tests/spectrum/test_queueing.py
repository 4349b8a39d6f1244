"""Waiting for a token: the formula against textbook values and a solved chain, the simulation against the formula."""

from fractions import Fraction
from math import comb, factorial
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.queue_simulation import simulated_wait
from meetapp.spectrum.queueing import MeanTimes, QueueFigures, finite_source_queue

times = st.builds(MeanTimes, st.floats(0.5, 60), st.floats(0.5, 200))


def solved(pilots: int, tokens: int, flight_min: Fraction, ground_min: Fraction) -> QueueFigures:
    """The same chain solved as what it is: as many steps up as down between any two neighbouring states."""
    chances = [Fraction(1)]
    for n in range(pilots):
        asks_per_min = (pilots - n) / ground_min
        returns_per_min = min(n + 1, tokens) / flight_min
        chances.append(chances[-1] * asks_per_min / returns_per_min)
    total = sum(chances)
    chances = [chance / total for chance in chances]
    asks = [chance * (pilots - n) / ground_min for n, chance in enumerate(chances)]
    waiting = sum(chance * max(0, n - tokens) for n, chance in enumerate(chances))
    flying = sum(chance * min(n, tokens) for n, chance in enumerate(chances))
    must_wait = sum(asks[tokens:pilots]) / sum(asks)
    return QueueFigures(pilots, tokens, float(waiting / sum(asks)), float(waiting), float(flying), float(must_wait))


def by_the_printed_formula(pilots: int, tokens: int, load: float) -> list[float]:
    """p(n) as textbooks print it."""
    weights = []
    for n in range(pilots + 1):
        beyond = factorial(n) / (factorial(tokens) * tokens ** (n - tokens)) if n > tokens else 1
        weights.append(comb(pilots, n) * load**n * beyond)
    return [weight / sum(weights) for weight in weights]


# Five printers that fail after 20 hours on average, repaired in 2 hours: an operations-management textbook's example
# (limited population, module on waiting lines; its slides print .64 down with one technician and .46 with two, and
# chances to wait of .350 and .044 read at the nearest line of a table). The further digits: the same chain in exact
# fractions.
@pytest.mark.parametrize(
    ("technicians", "down", "must_wait", "waiting", "wait"),
    [(1, 0.64, 0.350, 0.20347, 0.9333), (2, 0.46, 0.044, 0.01127, 0.0497)],
)
def test_the_textbook_s_five_printers(
    technicians: int, down: float, must_wait: float, waiting: float, wait: float
) -> None:
    found = finite_source_queue(5, technicians, MeanTimes(2, 20))
    assert found.flying + found.waiting == pytest.approx(down, abs=0.005)
    assert found.wait_chance == pytest.approx(must_wait, abs=0.004)
    assert found.waiting == pytest.approx(waiting, abs=5e-6)
    assert found.wait_min == pytest.approx(wait, abs=5e-5)


# Worked with the general-purpose queueing simulator ciw 3.2.7 (a node of thinkers, a node of c servers): the range of
# four seeds over 60,000 units of time. The first is the printers again.
@pytest.mark.parametrize(
    ("tokens", "pilots", "ground", "flight", "low", "high"),
    [(1, 5, 20, 2, 0.916, 0.956), (2, 6, 10, 2, 0.270, 0.294), (6, 20, 20, 8, 2.17, 2.27)],
)
def test_the_wait_is_what_a_general_purpose_simulator_finds(
    tokens: int, pilots: int, ground: float, flight: float, low: float, high: float
) -> None:
    assert low <= finite_source_queue(pilots, tokens, MeanTimes(flight, ground)).wait_min <= high


@pytest.mark.parametrize("tokens", [1, 2, 3, 7, 12])
@pytest.mark.parametrize(("flight", "ground"), [(8, 20), (10, 5), (1, 90)])
@pytest.mark.parametrize("pilots", [1, 2, 7, 12, 40])
def test_the_formula_is_the_chain_solved_in_fractions(pilots: int, tokens: int, flight: int, ground: int) -> None:
    found = finite_source_queue(pilots, tokens, MeanTimes(flight, ground))
    exact = solved(pilots, tokens, Fraction(flight), Fraction(ground))
    for name in ("wait_min", "waiting", "flying", "wait_chance"):
        assert getattr(found, name) == pytest.approx(getattr(exact, name), rel=1e-9, abs=1e-12)
    printed = by_the_printed_formula(pilots, tokens, flight / ground)
    assert found.waiting == pytest.approx(sum(max(0, n - tokens) * p for n, p in enumerate(printed)), abs=1e-9)


@given(st.integers(1, 60), st.integers(1, 12), times)
def test_more_tokens_never_wait_longer_and_more_pilots_never_shorter(
    pilots: int, tokens: int, times: MeanTimes
) -> None:
    here, more = (finite_source_queue(pilots, count, times) for count in (tokens, tokens + 1))
    assert more.wait_min <= here.wait_min + 1e-9
    assert more.air_share >= here.air_share - 1e-9
    assert finite_source_queue(pilots + 1, tokens, times).wait_min >= here.wait_min - 1e-9
    assert 0 <= here.air_share <= 1 + 1e-9
    assert 0 <= here.wait_chance <= 1


@given(st.integers(1, 60), st.integers(1, 12), times)
def test_a_pilot_s_round_adds_up(pilots: int, tokens: int, times: MeanTimes) -> None:
    """Flight, wait and ground make a round; the share in the air is the flight's part of it (Little's law)."""
    found = finite_source_queue(pilots, tokens, times)
    round_min = times.flight_min + times.ground_min + found.wait_min
    assert found.air_share == pytest.approx(times.flight_min / round_min)
    assert found.flying <= tokens + 1e-9


@given(st.integers(1, 12), times)
def test_a_token_for_each_pilot_is_no_wait(pilots: int, times: MeanTimes) -> None:
    found = finite_source_queue(pilots, pilots, times)
    assert (found.wait_min, found.waiting, found.wait_chance) == (0, 0, 0)
    assert found.air_share == pytest.approx(times.flight_min / (times.flight_min + times.ground_min))


def test_hundreds_of_pilots_stay_within_the_range_of_numbers() -> None:
    found = finite_source_queue(500, 1, MeanTimes(1000, 0.1))
    assert found.air_share == pytest.approx(1 / 500)
    assert found.waiting == pytest.approx(499, abs=0.001)


@pytest.mark.parametrize(
    ("pilots", "tokens", "flight", "ground"),
    [(5, 1, 2, 20), (6, 2, 2, 10), (20, 6, 8, 20), (12, 4, 8, 20)],
)
def test_with_equal_kit_the_simulation_agrees_with_the_formula(
    pilots: int, tokens: int, flight: float, ground: float
) -> None:
    """One fixed seed: the formula lies within one and a half times the 95 % confidence that the simulation states."""
    day = MeanTimes(flight, ground)
    found = simulated_wait([frozenset(range(tokens))] * pilots, day, Random(5).random, waits=8000)
    exact = finite_source_queue(pilots, tokens, day).wait_min
    assert abs(found.wait_min - exact) <= 1.5 * found.within_min
    assert found.within_min < 0.15 * exact


def test_a_group_with_a_token_of_its_own_is_a_queue_of_its_own() -> None:
    """Two groups that share nothing: the mean wait is that of the two formulas, though there are two tokens."""
    day = MeanTimes(2, 20)
    mixed = simulated_wait([frozenset([1])] * 5 + [frozenset([2])] * 5, day, Random(11).random, waits=8000)
    assert mixed.wait_min == pytest.approx(finite_source_queue(5, 1, day).wait_min, abs=1.5 * mixed.within_min)
    assert mixed.wait_min > finite_source_queue(10, 2, day).wait_min + mixed.within_min


def test_who_asks_leaves_the_token_that_others_need() -> None:
    """Whoever can use both takes the one that nobody else can use, so these two never wait for each other."""
    found = simulated_wait([frozenset([1, 2]), frozenset([1])], MeanTimes(60, 1), Random(3).random, waits=400)
    assert found.wait_min == 0


def test_the_same_seed_gives_the_same_answer() -> None:
    can_use = [frozenset([1]), frozenset([1, 2]), frozenset([2, 3])] * 4
    answers = {simulated_wait(can_use, MeanTimes(8, 20), Random(7).random, waits=1000) for _ in range(2)}
    assert len(answers) == 1
    assert simulated_wait(can_use, MeanTimes(8, 20), Random(8).random, waits=1000) not in answers


@pytest.mark.parametrize(
    ("call", "field"),
    [
        pytest.param(lambda: MeanTimes(0, 20), "flight_min", id="no flight"),
        pytest.param(lambda: MeanTimes(8, float("inf")), "ground_min", id="for ever on the ground"),
        pytest.param(lambda: finite_source_queue(0, 1, MeanTimes(8, 20)), "pilots", id="nobody"),
        pytest.param(lambda: finite_source_queue(501, 1, MeanTimes(8, 20)), "pilots", id="a crowd"),
        pytest.param(lambda: finite_source_queue(5, 0, MeanTimes(8, 20)), "tokens", id="no token"),
        pytest.param(lambda: simulated_wait([], MeanTimes(8, 20), Random(1).random), "can_use", id="nobody there"),
        pytest.param(
            lambda: simulated_wait([frozenset()], MeanTimes(8, 20), Random(1).random), "can_use", id="can use none"
        ),
        pytest.param(
            lambda: simulated_wait([frozenset([1])], MeanTimes(8, 20), Random(1).random, 100), "waits", id="too short"
        ),
    ],
)
def test_what_no_sum_can_be_done_with_is_refused(call, field: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(BadProblem) as refused:
        call()
    assert refused.value.field == field
