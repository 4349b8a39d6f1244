"""The waiting line at the desk and from a pilot's own phone."""

import pytest

from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.store import tables as t
from tests.desk import STRANGER, Desk


def test_pilots_stand_in_order_of_arrival(any_desk: Desk) -> None:
    answer = any_desk.join("Ana", "Bo", "Cy")
    assert any_desk.in_line() == ["Ana", "Bo", "Cy"]
    assert answer.notice == "Cy stands in the line as number 3."
    assert [stand.head_since is not None for stand in any_desk.snapshot().line] == [True, False, False]


def test_joining_twice_keeps_the_place_and_writes_nothing(any_desk: Desk) -> None:
    any_desk.join("Ana", "Bo")
    assert any_desk.join("Ana").notice == "Ana stands in the line already, as number 1."
    assert any_desk.kinds() == ["line_joined", "line_joined"]


def test_leaving_lets_the_next_come_to_the_head(any_desk: Desk) -> None:
    any_desk.join("Ana", "Bo")
    any_desk.leave("Ana")
    assert any_desk.in_line() == ["Bo"]
    assert any_desk.snapshot().line[0].head_since == any_desk.clock()
    (anas,) = any_desk.rows(t.LineEntry, pilot_id=any_desk.world.pilots["Ana"])
    assert not anas.was_served


def test_leaving_a_line_one_is_not_in_changes_nothing(desk: Desk) -> None:
    assert desk.leave("Ana").notice == "Ana isn't in the line."
    assert desk.kinds() == []


def test_not_ready_keeps_the_place_and_lets_the_next_to_the_head(any_desk: Desk) -> None:
    any_desk.join("Ana", "Bo")
    any_desk.not_ready("Ana")
    assert any_desk.in_line() == ["Ana*", "Bo"]
    assert [stand.head_since is not None for stand in any_desk.snapshot().line] == [False, True]
    any_desk.ready_again("Ana")
    assert any_desk.in_line() == ["Ana", "Bo"]
    assert [stand.head_since is not None for stand in any_desk.snapshot().line] == [True, False]


@pytest.mark.parametrize(
    ("step", "notice"),
    [("not_ready", "Ana is passed once already."), ("ready_again", "Bo is ready already.")],
    ids=["passed twice", "ready twice"],
)
def test_saying_it_twice_writes_nothing(desk: Desk, step: str, notice: str) -> None:
    desk.join("Ana", "Bo")
    desk.not_ready("Ana")
    before = desk.kinds()
    assert getattr(desk, step)(notice.split()[0]).notice == notice
    assert desk.kinds() == before


@pytest.mark.parametrize("step", ["not_ready", "ready_again"])
def test_who_is_not_in_the_line_is_not_passed(desk: Desk, step: str) -> None:
    assert getattr(desk, step)("Ana").notice == "Ana isn't in the line."


def test_who_holds_a_token_does_not_wait(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    with pytest.raises(Refused, match="Ana holds R1 since 14:00"):
        desk.join("Ana")


def test_who_uses_a_token_by_turns_does_not_wait(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.share("Ana", "Bo")
    with pytest.raises(Refused, match="Bo uses R1 by turns with Ana"):
        desk.join("Bo")


def test_who_is_not_there_does_not_wait(desk: Desk) -> None:
    (row,) = desk.rows(t.Attendance, pilot_id=desk.world.pilots["Ana"])
    desk.set_row(t.Attendance, row.id, checked_in_at=None)
    with pytest.raises(Refused, match="Ana isn't checked in"):
        desk.join("Ana")


def test_an_unknown_pilot_is_not_found(desk: Desk) -> None:
    desk.world.pilots["nobody"] = 999
    with pytest.raises(NotFound):
        desk.join("nobody")


def test_pilots_stand_in_line_for_themselves_at_every_meet(desk: Desk) -> None:
    ana = desk.as_pilot("Ana")
    assert ana.join("Ana").location == "/my"
    ana.not_ready("Ana")
    ana.ready_again("Ana")
    ana.leave("Ana")
    with pytest.raises(Forbidden, match="You can do this for yourself only"):
        ana.join("Bo")
    with pytest.raises(Forbidden):
        desk.acting(STRANGER).join("Bo")
    assert desk.in_line() == []
