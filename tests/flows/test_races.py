"""Two hands at the same moment: exactly one wins, the floors are never broken together, the loser gets a sentence."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import partial
from threading import Barrier

import pytest

from meetapp.flows.deeds import Answer, Deed
from meetapp.flows.errors import MeetError
from meetapp.flows.heats import calling
from meetapp.flows.loans import loans
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import LU, MO, Desk
from tests.heat_desk import HeatDesk

ROUNDS = int(os.environ.get("RACE_ROUNDS", "10"))

Outcome = Answer | MeetError


@pytest.fixture
def hands(any_desk: Desk) -> Iterator[tuple[Desk, Desk]]:
    """Mo and Lu, each with a store of their own, as two server processes would have: they share only the database."""
    other = Store(any_desk.store.url)
    yield any_desk.acting(MO), replace(any_desk.acting(LU), store=other)
    other.close()


@pytest.fixture(scope="module")
def pool() -> ThreadPoolExecutor:
    return ThreadPoolExecutor(2)


def at_once(pool: ThreadPoolExecutor, *deeds: Callable[[], Answer]) -> list[Outcome]:
    """Do these at the same moment; what each gave or refused."""
    start = Barrier(len(deeds))

    def run(deed: Callable[[], Answer]) -> Outcome:
        start.wait()
        try:
            return deed()
        except MeetError as error:
            return error

    return [each.result() for each in [pool.submit(run, deed) for deed in deeds]]


def hand_out(desk: Desk, who: str, label: str, key: str | None = None) -> Callable[[], Answer]:
    order = loans.HandOut(desk.world.meet, desk.world.pilots[who], desk.world.tokens[label])
    deed = desk.deed(key)
    return lambda: loans.hand_out(desk.store, deed, order)


def sorted_out(outcomes: list[Outcome]) -> tuple[list[Answer], list[MeetError]]:
    answers = [outcome for outcome in outcomes if isinstance(outcome, Answer)]
    return answers, [outcome for outcome in outcomes if isinstance(outcome, MeetError)]


def test_the_same_token_goes_to_exactly_one(
    any_desk: Desk, hands: tuple[Desk, Desk], pool: ThreadPoolExecutor
) -> None:
    mo, lu = hands
    for _round in range(ROUNDS):
        answers, refusals = sorted_out(at_once(pool, hand_out(mo, "Ana", "R1"), hand_out(lu, "Bo", "R1")))
        assert len(answers) == len(refusals) == 1
        ((winner, _set),) = any_desk.on_air().items()
        since = any_desk.clock().astimezone(any_desk.snapshot().zone)
        assert refusals[0].message == f"R1 is out with {winner} since {since:%H:%M}."
        any_desk.clock.forward(minutes=1)
        any_desk.take_back(winner)
    assert any_desk.kinds() == ["handed_out", "taken_back"] * ROUNDS


def test_two_tokens_that_together_break_a_floor_never_go_out_both(
    any_desk: Desk, hands: tuple[Desk, Desk], pool: ThreadPoolExecutor
) -> None:
    any_desk.set_meet(spacing_floor_mhz=83)
    mo, lu = hands
    for _round in range(ROUNDS):
        answers, refusals = sorted_out(at_once(pool, hand_out(mo, "Ana", "R1"), hand_out(lu, "Bo", "F1")))
        assert len(answers) == len(refusals) == 1
        assert "82 MHz from" in refusals[0].message
        ((winner, _set),) = any_desk.on_air().items()
        any_desk.take_back(winner)
    assert any_desk.kinds() == ["handed_out", "taken_back"] * ROUNDS


def test_one_pilot_gets_one_token(
    any_desk: Desk, hands: tuple[Desk, Desk], pool: ThreadPoolExecutor
) -> None:
    mo, lu = hands
    for _round in range(20):
        answers, refusals = sorted_out(at_once(pool, hand_out(mo, "Ana", "R1"), hand_out(lu, "Ana", "R8")))
        assert len(answers) == len(refusals) == 1
        assert refusals[0].message.startswith("Ana holds R")
        any_desk.take_back("Ana")


def test_the_same_request_sent_twice_at_once_is_done_once(
    any_desk: Desk, hands: tuple[Desk, Desk], pool: ThreadPoolExecutor
) -> None:
    for number in range(50):
        twice = [hand_out(desk, "Ana", "R1", key=f"twice-{number}") for desk in hands]
        answers, refusals = sorted_out(at_once(pool, *twice))
        assert refusals == []
        assert answers[0] == answers[1]
        any_desk.take_back("Ana")
    assert any_desk.kinds() == ["handed_out", "taken_back"] * 50


def test_two_take_backs_write_one_line(any_desk: Desk, pool: ThreadPoolExecutor) -> None:
    for _round in range(20):
        loan_id = any_desk.hand_out("Ana", "R1").made_id or 0
        deeds: list[Deed] = [any_desk.deed(), any_desk.deed()]
        backs = [
            lambda deed=deed, loan_id=loan_id: loans.take_back(any_desk.store, deed, any_desk.world.meet, loan_id)
            for deed in deeds
        ]
        _answers, refusals = sorted_out(at_once(pool, *backs))
        assert refusals == []
    assert any_desk.kinds() == ["handed_out", "taken_back"] * 20
    assert all(loan.in_at is not None for loan in any_desk.rows(t.Loan))


def test_two_calls_at_once_are_one(any_desk: Desk, hands: tuple[Desk, Desk], pool: ThreadPoolExecutor) -> None:
    """The first heat and, landing it, the second; both calls are undone then, so that every round costs the same."""
    heats = HeatDesk(any_desk)
    heats.plan({"Cy": "R1", "Di": "R8"}, {"Ana": "R1", "Bo": "F1"})
    called: list[tuple[Desk, Answer]] = []
    for number in range(ROUNDS):
        any_desk.clock.forward(minutes=1)
        calls = [partial(calling.call_heat, desk.store, desk.deed(), heats.order()) for desk in hands]
        outcomes = at_once(pool, *calls)
        (answer,), (refusal,) = sorted_out(outcomes)
        assert refusal.message.startswith(f"Round 1, heat {number % 2 + 1} is called since ")
        assert len(any_desk.on_air()) == 2
        called.append((hands[outcomes.index(answer)], answer))
        while number % 2 and called:
            desk, answer = called.pop()
            desk.undo(answer)
    assert any_desk.kinds().count("heat_called") == ROUNDS
