"""Tokens that are missing, found and withdrawn, during a meet and outside one."""

import pytest

from meetapp.flows import journal
from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.flows.loans import token_states
from meetapp.store import tables as t
from tests.desk import ORGANISER, Desk


def state(desk: Desk, label: str) -> str:
    return str(desk.row(t.Token, desk.world.tokens[label]).state)


def test_missing_closes_the_loan_and_says_who_had_it(any_desk: Desk) -> None:
    loan = any_desk.hand_out("Ana", "R1").made_id or 0
    any_desk.clock.forward(minutes=10)
    answer = any_desk.missing("R1")
    assert answer.notice == "R1 is missing. Ana had it, since 14:00."
    assert answer.location == f"/desk/tokens/{any_desk.world.tokens['R1']}"
    row = any_desk.row(t.Loan, loan)
    assert row.ended_missing
    assert row.in_at == any_desk.clock()
    assert state(any_desk, "R1") == "missing"
    assert any_desk.on_air() == {}


def test_missing_from_the_board_says_who_had_it_last(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.clock.forward(minutes=10)
    desk.take_back("Ana")
    assert desk.missing("R1").notice == "R1 is missing. Ana had it last, from 14:00 to 14:10."
    assert desk.missing("F5").notice == "F5 is missing."


def test_missing_with_a_ground_transmitter_says_so(desk: Desk) -> None:
    desk.lend_ground("finish camera", 5658, token_id=desk.world.tokens["R1"])
    answer = desk.missing("R1")
    assert answer.notice == "R1 is missing. finish camera had it, since 14:00."
    assert journal.lines(desk.store, desk.world.meet)[-1].sentence == "R1 is missing; it was with finish camera"
    assert desk.undo(answer).notice == (
        "Undone. R1 is not missing: it counts as out with finish camera without a break."
    )


def test_found_can_be_handed_out_again(any_desk: Desk) -> None:
    any_desk.missing("R1")
    assert any_desk.found("R1").notice == "R1 is found: it hangs on the board."
    any_desk.hand_out("Bo", "R1")
    assert any_desk.on_air() == {"Bo": ("R1", 5658)}


def test_withdrawn_comes_back_in_use(desk: Desk) -> None:
    desk.withdraw("R1")
    assert state(desk, "R1") == "withdrawn"
    assert desk.found("R1").notice == "R1 is in use again."
    assert desk.kinds() == ["token_withdrawn", "token_in_use_again"]


def test_a_token_that_is_out_is_not_withdrawn(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    with pytest.raises(Refused, match="R1 is out with Ana since 14:00"):
        desk.withdraw("R1")


def test_a_withdrawn_token_does_not_go_missing(desk: Desk) -> None:
    desk.withdraw("R1")
    with pytest.raises(Refused, match="R1 is withdrawn"):
        desk.missing("R1")


@pytest.mark.parametrize(
    ("steps", "notice"),
    [
        (("missing", "missing"), "R1 is missing already."),
        (("withdraw", "withdraw"), "R1 is withdrawn already."),
        (("found",), "R1 is in use already."),
    ],
    ids=["missing", "withdrawn", "found"],
)
def test_saying_it_again_writes_nothing(desk: Desk, steps: tuple[str, ...], notice: str) -> None:
    for step in steps[:-1]:
        getattr(desk, step)("R1")
    before = desk.kinds()
    assert getattr(desk, steps[-1])("R1").notice == notice
    assert desk.kinds() == before


def test_pilots_do_not_say_so(desk: Desk) -> None:
    desk.set_meet(is_self_service=True)
    for step in ("missing", "found", "withdraw"):
        with pytest.raises(Forbidden):
            getattr(desk.as_pilot("Ana"), step)("R1")


def test_a_token_of_another_meet_is_not_found(desk: Desk) -> None:
    desk.world.tokens["X9"] = 999
    with pytest.raises(NotFound, match="doesn't belong to this meet"):
        desk.missing("X9")


def test_the_organiser_says_it_outside_a_meet_too(any_desk: Desk) -> None:
    any_desk.set_meet(state="closed", closed_at=any_desk.clock())
    organiser = any_desk.acting(ORGANISER)
    token_id = any_desk.world.tokens["R1"]
    answer = token_states.mark_missing(organiser.store, organiser.deed(), None, token_id)
    assert answer.location == f"/organiser/tokens/{token_id}"
    assert state(any_desk, "R1") == "missing"
    assert any_desk.rows(t.JournalLine)[-1].meet_id is None
    organiser.undo(answer)
    assert state(any_desk, "R1") == "usable"


def test_from_the_kitchen_table_an_open_meet_is_told(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    organiser = desk.acting(ORGANISER)
    token_states.mark_missing(organiser.store, organiser.deed(), None, desk.world.tokens["R1"])
    assert desk.on_air() == {}
    assert desk.rows(t.JournalLine)[-1].meet_id == desk.world.meet


def test_an_unknown_token_is_not_found(desk: Desk) -> None:
    organiser = desk.acting(ORGANISER)
    with pytest.raises(NotFound):
        token_states.withdraw(organiser.store, organiser.deed(), None, 999)
