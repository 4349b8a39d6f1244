"""The search for one order: sound histories have one, wrong ones don't, and it says what can't be placed."""

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import permutations
from typing import Any

import pytest

from tests.history.made_up import BEGIN, DONE, NOTHING_SEEN, board, check_is_wrong, lent, numbered, op
from tests.history.order import Found, NoOrder, Op, one_order

WRONG = {
    "a token handed to two": (
        [lent("Mo", "Ana R1", (0, 3), 1), lent("Lu", "Bo R1", (1, 2), 2)],
        "hand out (Ana|Bo) R1 was answered 'done'; .* it would have been 'refused out with R1 (Ana|Bo)'",
    ),
    "two tokens that break a floor together": (
        [lent("Mo", "Ana R1", (0, 3), 1), lent("Lu", "Bo F1", (1, 2), 2)],
        "hand out .* it would have been 'refused floor",
    ),
    "two tokens for one pilot": (
        [lent("Mo", "Ana R1", (0, 3), 1), lent("Lu", "Ana R8", (1, 2), 2)],
        "it would have been 'refused holds Ana",
    ),
    "an answered hand-out that is lost": (
        [lent("Mo", "Ana R1", (0, 1), 1), lent("Lu", "Bo R1", (2, 3), 2)],
        "operation 1, Lu: hand out Bo R1 was answered 'done'; .* 'refused out with R1 Ana'",
    ),
    "a page that is older than an answer before it": (
        [op("Mo", "missing: R1", (0, 1), ("done", "R1", "")), board({}, (2, 3))],
        "operation 1, somebody: board was answered",
    ),
    "a page that shows what comes only later": (
        [board({}, (0, 1), line=("Ana",)), op("Ana", "join: Ana", (2, 3), ("done", "Ana", 1))],
        "operation 0, somebody: board",
    ),
    "two pages that saw two orders": (
        [
            op("Ana", "join: Ana", (0, 9), ("done", "Ana", 1)),
            board({}, (1, 2), line=("Ana",)),
            board({}, (3, 4)),
        ],
        "operation 2, somebody: board",
    ),
    "a refusal though it is free": (
        [op("Mo", "hand out: Ana R1", (0, 1), ("refused", "out with", "R1", "Bo"))],
        "operation 0, Mo: hand out Ana R1 was answered 'refused out with R1 Bo'; .* it would have been 'done'",
    ),
    "one key done twice": (
        [
            lent("Mo", "Ana R1", (0, 1), 1, key="once", is_sent_twice=True),
            op("Mo", "take back: 1", (2, 3), ("done", "R1", "Ana")),
            lent("Mo", "Ana R1", (4, 5), 1, key="once", is_sent_twice=True),
            board({"R1": "Ana"}, (6, 7)),
        ],
        "operation 3, somebody: board",
    ),
    "one key answered in two ways": (
        [
            op("Ana", "join: Ana", (0, 2), ("done", "Ana", 1), key="once", is_sent_twice=True),
            op("Ana", "join: Ana", (1, 3), ("stands already", "Ana", 1), key="once", is_sent_twice=True),
        ],
        "operation 1, Ana: join Ana was answered 'stands already Ana 1'; .* it would have been 'done Ana 1'",
    ),
    "an order against real time": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            lent("Lu", "Bo R1", (2, 3), 2),
            op("Mo", "take back: 1", (4, 5), ("done", "R1", "Ana")),
        ],
        "operation 1, Lu: hand out Bo R1",
    ),
    "two that stand in the line at the same place": (
        [op("Ana", "join: Ana", (0, 3), ("done", "Ana", 1)), op("Bo", "join: Bo", (1, 2), ("done", "Bo", 1))],
        "it would have been 'done (Ana|Bo) 2'",
    ),
    "an undo of what somebody else did": (
        [op("Mo", "join: Ana", (0, 1), ("done", "Ana", 1)), op("Lu", "undo: Mo0", (2, 3), DONE)],
        "operation 1, Lu: undo Mo0 was answered 'done'",
    ),
    "an undo of what something rests on": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Lu", "take back: 1", (2, 3), ("done", "R1", "Ana")),
            op("Mo", "undo: Mo0", (4, 5), DONE),
        ],
        "operation 2, Mo: undo Mo0 was answered 'done'",
    ),
}


@pytest.mark.parametrize(("ops", "why"), WRONG.values(), ids=WRONG)
def test_a_wrong_history_has_no_order_and_what_cannot_be_placed_is_named(ops: list[Op], why: str) -> None:
    check_is_wrong(ops, why)


def test_answers_that_overlap_are_put_in_the_order_that_explains_them() -> None:
    ops = [
        lent("Lu", "Bo R1", (2, 6), 2),
        op("Mo", "take back: 1", (3, 5), ("done", "R1", "Ana")),
        lent("Mo", "Ana R1", (0, 1), 1),
        board({"R1": "Ana"}, (4, 7)),
        board({"R1": "Bo"}, (4, 7)),
    ]
    found = one_order(numbered(ops), BEGIN)
    assert found == Found((2, 3, 1, 0, 4), taken_back=0)


def test_a_wrong_hint_costs_time_and_changes_nothing() -> None:
    ops = [
        lent("Mo", "Ana R1", (0, 9), 1),
        op("Lu", "take back: 1", (0, 9), ("done", "R1", "Ana")),
        op("Ana", "join: Ana", (0, 9), ("done", "Ana", 1)),
        lent("Kim", "Bo R1", (0, 9), 2),
        op("Bo", "join: Bo", (0, 9), ("refused", "holds", "Bo", "R1")),
        board({"R1": "Ana"}, (0, 9), line=()),
    ]
    hint = {each.key: -number for number, each in enumerate(ops)}
    assert isinstance(one_order(numbered(ops), BEGIN), Found)
    assert isinstance(one_order(numbered(ops), BEGIN, hint), Found)


@pytest.mark.parametrize(("shown", "is_done"), [({"R1": "Ana"}, True), ({}, False)], ids=["done", "not done"])
def test_what_was_never_answered_may_have_been_done_or_not(shown: dict[str, str], is_done: bool) -> None:
    cut_off = replace(lent("Mo", "Ana R1", (0, None), 1), answer=None)
    found = one_order(numbered([cut_off, board(shown, (5, 6))]), BEGIN)
    assert isinstance(found, Found)
    assert (0 in found.order) == is_done


def test_what_was_never_answered_is_not_done_before_it_was_asked() -> None:
    cut_off = replace(lent("Mo", "Ana R1", (3, None), 1), answer=None)
    assert isinstance(one_order(numbered([board({"R1": "Ana"}, (0, 1)), cut_off]), BEGIN), NoOrder)


def test_the_search_agrees_with_every_order_tried() -> None:
    """Small histories by chance, half of them with an answer that another moment would have given."""
    dice, orders = random.Random(7), 0
    for _number in range(120):
        ops = numbered(_by_chance(dice))
        has_one = any(_explains(order) for order in permutations(ops) if _keeps_real_time(order))
        found = one_order(ops, BEGIN)
        assert isinstance(found, Found) == has_one
        if isinstance(found, Found):
            by_number = {each.number: each for each in ops}
            order = [by_number[number] for number in found.order]
            assert _explains(order)
            assert _keeps_real_time(order)
            orders += 1
    assert 20 < orders < 100


def _by_chance(dice: random.Random) -> list[Op]:
    state, ops = BEGIN, []
    asked = ["hand out: Ana R1", "hand out: Bo R1", "hand out: Ana F1", "take back: 1", "join: Ana", "join: Bo",
             "leave: Ana", "missing: R1", "found: R1", "board"]  # fmt: skip
    for number in range(5):
        start = number + dice.uniform(-2, 0)
        made = {"R1": 1, "F1": 2} if number == 0 else {"R1": 10 + number, "F1": 20 + number}
        each = op(dice.choice("MLK"), dice.choice(asked), (start, number + dice.uniform(0, 2)), DONE, key=str(number),
                  made=made)  # fmt: skip
        answer, after = state.step(each)
        if dice.random() < 0.15:
            answer = dice.choice([DONE, ("refused", "out with", "R1", "Ana"), NOTHING_SEEN, ("done", "Ana", 1)])
        ops.append(replace(each, answer=answer))
        state = after  # type: ignore[assignment]
    return ops


def _keeps_real_time(order: Sequence[Op]) -> bool:
    return not any(
        later.answered is not None and later.answered < earlier.called
        for place, earlier in enumerate(order)
        for later in order[place + 1 :]
    )


def _explains(order: Sequence[Op]) -> bool:
    state: Any = BEGIN
    for each in order:
        answer, state = state.step(each)
        if answer != each.answer:
            return False
    return True
