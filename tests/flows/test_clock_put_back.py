"""The machine's clock is put back in mid-meet: order, waits and durations stay right, and nobody is stuck."""

from datetime import timedelta

import pytest

from meetapp.flows.errors import Refused
from meetapp.flows.review.review import review_facts
from meetapp.store import tables as t
from tests.desk import LU, Desk
from tests.heat_desk import HeatDesk


def test_a_token_goes_back_and_over_though_the_clock_was_put_back(any_desk: Desk) -> None:
    any_desk.hand_out("Ana", "R1")
    any_desk.join("Bo")
    any_desk.clock.forward(hours=-2)
    any_desk.take_back("Ana")
    any_desk.hand_out("Ana", "R1")
    any_desk.undo(any_desk.hand_over("Ana", "Cy"))
    loans = any_desk.rows(t.Loan)
    assert all(loan.in_at is None or loan.in_at >= loan.out_at for loan in loans)
    entered = [line.entered_at for line in any_desk.rows(t.JournalLine)]
    assert entered == sorted(entered)


def test_who_joins_after_the_clock_was_put_back_stands_behind(desk: Desk) -> None:
    desk.join("Bo")
    desk.clock.forward(hours=-2)
    desk.join("Cy")
    assert desk.in_line() == ["Bo", "Cy"]


def test_nothing_has_lasted_less_than_no_time_while_the_clock_catches_up(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.clock.forward(hours=-2)
    snapshot = desk.snapshot()
    assert [snapshot.now - loan.out_at for loan in snapshot.on_air] == [timedelta(0)]
    facts = review_facts(desk.store, desk.world.meet, desk.clock())
    assert all(loan.lasted is None or loan.lasted >= timedelta(0) for loan in facts.loans)


def test_no_two_deeds_share_an_instant(any_desk: Desk) -> None:
    any_desk.hand_out("Ana", "R1")
    any_desk.take_back("Ana")
    any_desk.clock.forward(hours=-2)
    any_desk.undo(any_desk.hand_out("Bo", "R1"))
    entered = [line.entered_at for line in any_desk.rows(t.JournalLine)]
    assert entered == sorted(set(entered))
    assert len(entered) == 4


def test_a_token_that_went_out_before_the_call_is_none_of_the_heat(any_desk: Desk) -> None:
    heats = HeatDesk(any_desk)
    heats.plan({"Ana": "F1", "Bo": "R8"}, {"Cy": "F5"})
    any_desk.hand_out("Ana", "R1")
    any_desk.clock.forward(hours=-2)
    heats.call()
    assert [loan.who for loan in heats.field().out] == ["Bo"]
    heats.down(1)
    assert any_desk.on_air() == {"Ana": ("R1", 5658)}
    assert [gap.seat.pilot_id for gap in heats.heat(1).gaps] == [any_desk.world.pilots["Ana"]]


def test_a_gap_is_not_undone_after_its_heat_was_flown(desk: Desk) -> None:
    heats = HeatDesk(desk)
    heats.plan({"Ana": "R1", "Bo": "R8"})
    heats.call()
    desk.clock.forward(hours=-2)
    gap = heats.miss(1, "Ana")
    HeatDesk(desk.acting(LU)).down(1)
    with pytest.raises(Refused, match="Something rests on this"):
        desk.undo(gap)
