"""What can't be true of a meet at one moment."""

from datetime import UTC, datetime

import pytest

from meetapp.rules.contradictions import Contradiction, contradictions
from meetapp.rules.loans import Field, Held
from meetapp.rules.waiting_line import Stand

AT = datetime(2026, 6, 14, 12, tzinfo=UTC)
TOKENS = {1: "usable", 2: "usable", 3: "missing"}
HERE = frozenset({7, 8, 9})


def held(*pairs: tuple[int | None, int | None]) -> tuple[Held, ...]:
    return tuple(Held(number, token, pilot, AT) for number, (token, pilot) in enumerate(pairs, start=1))


def standing(*pilots: int) -> list[Stand]:
    return [Stand(number, pilot, AT) for number, pilot in enumerate(pilots, start=1)]


def test_a_meet_in_order_has_none() -> None:
    state = Field(TOKENS, HERE, held((1, 7), (None, None), (None, None)))
    assert contradictions(state, standing(9), {1: (7, 8)}) == ()


@pytest.mark.parametrize(
    ("loans", "line", "turns", "found"),
    [
        ([(1, 7), (1, 8)], [], {}, Contradiction("token_twice", token_id=1)),
        ([(1, 7), (2, 7)], [], {}, Contradiction("pilot_twice", 7)),
        ([(3, 7)], [], {}, Contradiction("token_not_usable", token_id=3)),
        ([(1, 5)], [], {}, Contradiction("holder_absent", 5)),
        ([(1, 7)], [7], {}, Contradiction("holder_in_line", 7)),
        ([], [7, 7], {}, Contradiction("waiting_twice", 7)),
        ([], [5], {}, Contradiction("waiting_absent", 5)),
        ([(2, 7)], [], {1: (7, 8)}, Contradiction("turns_without_loan", 7, 1)),
        ([(1, 7), (2, 8)], [], {1: (7, 8)}, Contradiction("partner_holds", 8, 1)),
        ([(1, 7)], [8], {1: (7, 8)}, Contradiction("partner_in_line", 8, 1)),
        ([(1, 7)], [], {1: (7, 5)}, Contradiction("partner_absent", 5, 1)),
    ],
    ids=lambda value: value.reason if isinstance(value, Contradiction) else "",
)
def test_each_contradiction_is_found(
    loans: list[tuple[int, int]], line: list[int], turns: dict[int, tuple[int, int]], found: Contradiction
) -> None:
    assert contradictions(Field(TOKENS, HERE, held(*loans)), standing(*line), turns) == (found,)
