"""The machine's clock is put back in mid-meet: order, waits and durations stay right, and nobody is stuck."""

from datetime import timedelta

from meetapp.flows.review.review import review_facts
from meetapp.store import tables as t
from tests.desk import Desk


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
