"""The rules of tokens and people, without floors and without a database."""

from datetime import UTC, datetime, timedelta

import pytest

from meetapp.rules.loans import Field, Held, Refusal, hand_out, hand_over, take_back

AT = datetime(2026, 6, 14, 12, tzinfo=UTC)
ANAS = Held(1, 1, 7, AT)
FIELD = Field({1: "usable", 2: "usable", 3: "missing", 4: "withdrawn"}, frozenset({7, 8}), (ANAS,))


def test_a_hand_out_adds_the_loan() -> None:
    loan = Held(2, 2, 8, AT)
    assert hand_out(FIELD, loan) == Field(FIELD.token_states, FIELD.present, (ANAS, loan))


@pytest.mark.parametrize(
    ("token", "pilot", "refusal"),
    [
        (1, 8, Refusal("token_out", ANAS)),
        (3, 8, Refusal("token_missing")),
        (4, 8, Refusal("token_withdrawn")),
        (5, 8, Refusal("token_unknown")),
        (2, 7, Refusal("pilot_holds", ANAS)),
        (2, 9, Refusal("pilot_absent")),
    ],
    ids=["out", "missing", "withdrawn", "unknown token", "holds one", "not there"],
)
def test_a_hand_out_is_refused(token: int, pilot: int, refusal: Refusal) -> None:
    assert hand_out(FIELD, Held(2, token, pilot, AT)) == refusal


def test_a_ground_transmitter_needs_neither_token_nor_pilot() -> None:
    assert isinstance(hand_out(FIELD, Held(2, None, None, AT)), Field)
    assert hand_out(FIELD, Held(2, 1, None, AT)) == Refusal("token_out", ANAS)


def test_a_take_back_removes_the_loan_once() -> None:
    after = take_back(FIELD, 1, AT + timedelta(minutes=1))
    assert isinstance(after, Field)
    assert after.held == ()
    assert take_back(after, 1, AT) == Refusal("loan_closed")


def test_a_take_back_before_it_went_out_is_refused() -> None:
    assert take_back(FIELD, 1, AT - timedelta(seconds=1)) == Refusal("before_out", ANAS)


def test_a_hand_over_moves_the_token() -> None:
    loan = Held(2, 1, 8, AT)
    after = hand_over(FIELD, 1, loan)
    assert isinstance(after, Field)
    assert after.held == (loan,)


@pytest.mark.parametrize(
    ("loan_id", "pilot", "refusal"),
    [
        (1, 7, Refusal("same_pilot", ANAS)),
        (9, 8, Refusal("loan_closed")),
        (1, 9, Refusal("pilot_absent")),
    ],
    ids=["to themself", "over already", "not there"],
)
def test_a_hand_over_is_refused(loan_id: int, pilot: int, refusal: Refusal) -> None:
    assert hand_over(FIELD, loan_id, Held(2, 1, pilot, AT)) == refusal
