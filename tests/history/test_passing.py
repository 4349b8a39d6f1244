"""Wrong histories of what is handed on and of alarms are caught too, and of what was cut off and sent again."""

from dataclasses import replace

import pytest

from tests.history.made_up import DONE, board, called, check_is_wrong, lent, offered, op
from tests.history.order import Op

WRONG = {
    "a token handed over after it came back": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "take back: 1", (2, 3), ("done", "R1", "Ana")),
            op("Lu", "hand over: 1 Bo", (4, 5), DONE, made={"R1": 2}),
        ],
        "operation 2, Lu: hand over 1 Bo was answered 'done'; .* it would have been 'refused over'",
    ),
    "a token handed over to two": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "hand over: 1 Bo", (2, 5), DONE, made={"R1": 2}),
            op("Lu", "hand over: 1 Cy", (3, 4), DONE, made={"R1": 3}),
        ],
        "hand over 1 (Bo|Cy) was answered 'done'; .* it would have been 'refused over'",
    ),
    "a token taken over by somebody to whom it wasn't offered": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 3), 5),
            op("Cy", "take over: 1 Cy", (4, 5), DONE, made={"R1": 2}),
        ],
        "operation 2, Cy: take over 1 Cy was answered 'done'; .* it would have been 'refused not offered'",
    ),
    "an offer taken that was taken back": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 3), 5),
            op("Ana", "take offer back: Ana 5", (4, 5), ("done", "R1", "Bo")),
            op("Bo", "take over: 1 Bo", (6, 7), DONE, made={"R1": 2}),
        ],
        "operation 3, Bo: take over 1 Bo was answered 'done'",
    ),
    "an offer that is taken and refused": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 3), 5),
            op("Bo", "take over: 1 Bo", (4, 7), DONE, made={"R1": 2}),
            op("Bo", "say no: Bo 5", (5, 6), ("done", "R1", "Ana")),
        ],
        "it would have been 'refused (offer over|not offered)'",
    ),
    "one token offered to two": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 5), 5),
            offered("Ana", "Cy", (3, 4), 6),
        ],
        "it would have been 'refused offered R1 (Bo|Cy)'",
    ),
    "an offer shown after its token came back": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 3), 5),
            op("Mo", "take back: 1", (4, 5), ("done", "R1", "Ana")),
            op("Bo", "offers: Bo", (6, 7), ("seen", frozenset({5}), None)),
        ],
        "operation 3, Bo: offers Bo was answered",
    ),
    "an undo of a loan of which something was offered": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            offered("Ana", "Bo", (2, 3), 5),
            op("Ana", "take offer back: Ana 5", (4, 5), ("done", "R1", "Bo")),
            op("Mo", "undo: Mo0", (6, 7), DONE),
        ],
        "operation 3, Mo: undo Mo0 was answered 'done'",
    ),
    "a turn given that was over": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "share: 1 Bo", (2, 3), ("done", "R1", "Ana")),
            op("Lu", "end turns: R1", (4, 5), ("done", "R1", "Ana")),
            op("Mo", "swap: R1", (6, 7), DONE, made={"R1": 2}),
        ],
        "operation 3, Mo: swap R1 was answered 'done'; .* it would have been 'refused no turns R1'",
    ),
    "one token shared with two": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "share: 1 Bo", (2, 5), ("done", "R1", "Ana")),
            op("Lu", "share: 1 Cy", (3, 4), ("done", "R1", "Ana")),
        ],
        "it would have been 'refused is shared R1'",
    ),
    "turns that outlive the loan": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "share: 1 Bo", (2, 3), ("done", "R1", "Ana")),
            op("Mo", "take back: 1", (4, 5), ("done", "R1", "Ana")),
            op("Lu", "end turns: R1", (6, 7), ("done", "R1", "Ana")),
        ],
        "operation 3, Lu: end turns R1 was answered 'done R1 Ana'; .* it would have been 'no turns R1'",
    ),
    "in the line and by turns": (
        [
            lent("Mo", "Ana R1", (0, 1), 1),
            op("Mo", "share: 1 Bo", (2, 3), ("done", "R1", "Ana")),
            op("Bo", "join: Bo", (4, 5), ("done", "Bo", 1)),
        ],
        "operation 2, Bo: join Bo was answered 'done Bo 1'; .* it would have been 'refused by turns Bo R1'",
    ),
    "a heat called while an alarm is on": (
        [op("Mo", "raise: stray", (0, 1), DONE), called((2, 3))],
        "operation 1, Lu: call .* was answered 'done 2'; .* it would have been 'refused alarm'",
    ),
    "an alarm that a page doesn't show": (
        [op("Ana", "raise: down", (0, 1), DONE), op("Mo", "alarms", (2, 3), ("seen", frozenset()))],
        "operation 1, Mo: alarms",
    ),
    "an alarm shown after its end": (
        [
            op("Ana", "raise: down", (0, 1), DONE),
            op("Mo", "end alarm: down 1", (2, 3), DONE),
            op("Mo", "alarms", (4, 5), ("seen", frozenset({"down"}))),
        ],
        "operation 2, Mo: alarms",
    ),
    "an alarm ended by whoever saw the one before": (
        [
            op("Ana", "raise: down", (0, 1), DONE),
            op("Mo", "end alarm: down 1", (2, 3), DONE),
            op("Ana", "raise: down", (4, 5), DONE),
            op("Lu", "end alarm: down 1", (6, 7), DONE),
            op("Mo", "alarms", (8, 9), ("seen", frozenset())),
        ],
        "operation 4, Mo: alarms",
    ),
    "what was cut off and is done once more when it is sent again": (
        [
            replace(lent("Mo", "Ana R1", (0, None), 1, key="once", is_sent_twice=True), answer=None),
            board({"R1": "Ana"}, (1, 2)),
            op("Lu", "take back: 1", (3, 4), ("done", "R1", "Ana")),
            lent("Mo", "Ana R1", (5, 6), 1, key="once", is_sent_twice=True),
            board({"R1": "Ana"}, (7, 8)),
        ],
        "operation 4, somebody: board",
    ),
}


@pytest.mark.parametrize(("ops", "why"), WRONG.values(), ids=WRONG)
def test_a_wrong_history_has_no_order_and_what_cannot_be_placed_is_named(ops: list[Op], why: str) -> None:
    check_is_wrong(ops, why)
