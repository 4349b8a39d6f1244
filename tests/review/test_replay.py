"""The meet flown again with other tokens, what it suggests to change, and what turns up at several meets."""

from dataclasses import replace

from meetapp.review.advice import advise, replay_text
from meetapp.review.causes import Cause, Weighed
from meetapp.review.evidence import Stay
from meetapp.review.explaining import MeetExplained, explain
from meetapp.review.replay import replay, seen
from meetapp.review.turning_up import turning_up
from tests.review.scenes import SET_MHZ, flight, record_of, report, scene


def test_the_wait_seen_runs_from_joining_the_line_to_the_loan() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5765, 6, 10)], [], stays=(Stay(2, 0, 361, True),))
    assert seen(record).longest_wait_s == 360


def test_more_tokens_never_make_the_line_slower_where_all_fit_all() -> None:
    record = scene(1, silent=0, wrong=0, own=0).record
    waits = [replay(record, SET_MHZ[:count]).mean_wait_s for count in range(2, 7)]
    assert waits == sorted(waits, reverse=True)
    assert waits[0] > waits[-1]


def test_every_flight_is_flown_again() -> None:
    record = scene(1, silent=0, wrong=0, own=0).record
    assert replay(record, SET_MHZ).flights == len(record.airings)


def test_who_can_use_none_of_the_tokens_is_counted() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5805, 0, 6)], [])
    assert replay(record, (5999,)).cant_fly == 2


def test_a_changed_set_is_told_beside_the_one_flown() -> None:
    told = replay_text(explain(scene(1, silent=0, wrong=0, own=0).record), SET_MHZ[:5])
    assert told.startswith("With 5 tokens instead of 6: no product nearer than ")
    assert "mean wait" in told


def test_loans_too_close_lead_to_a_token_and_a_floor() -> None:
    airings, told = [], []
    for number in range(5):
        first, second = 2 * number + 1, 2 * number + 2
        start = 20 * number
        airings.append(flight(first, 5765, start, start + 6))
        airings.append(replace(flight(second, 5772, start + 1, start + 6), token=3))
        told.append(report(number + 1, first, start + 1.5))
    kinds = {each.kind for each in advise(explain(record_of(airings, told)))}
    assert {"leave_out_token", "raise_floor"} <= kinds


def test_a_quiet_meet_asks_for_nothing() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5865, 0, 6)], [])
    assert [each.kind for each in advise(explain(record))] == ["nothing"]


def test_the_same_pilot_and_kind_turn_up_over_several_meets_only() -> None:
    explained = explain(record_of([flight(1, 5765, 0, 6), flight(2, 5865, 0, 6)], [report(1, 2, 3)]))
    blamed = (Weighed(Cause("wrong_channel", 5865, (1,)), 0.9), Weighed(Cause("unknown"), 0.1))
    meet = MeetExplained(explained.record, (replace(explained.reports[0], causes=blamed),), ())
    assert turning_up([meet]) == ()
    assert {(each.what, each.name) for each in turning_up([meet, meet])} == {
        ("pilot", "pilot 1"),
        ("kind", "usual"),
        ("channel", "5865 MHz"),
    }
