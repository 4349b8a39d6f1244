"""The meet flown again with other tokens, where a token would lie better, and what turns up at several meets."""

from dataclasses import replace

from meetapp.review.causes import Cause, Weighed
from meetapp.review.evidence import SetToken, Stay
from meetapp.review.explaining import MeetExplained, explain
from meetapp.review.moving import better_mhz
from meetapp.review.replay import FlownDay
from meetapp.review.set_advice import changed_set_text
from meetapp.review.silent_transmitters import MayBe, SilentTransmitter
from meetapp.review.turning_up import turning_up
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.products import measure
from tests.review.scenes import SET_MHZ, SILENT_KIND, flight, record_of, report, scene


def test_the_wait_seen_runs_from_joining_the_line_to_the_loan() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5765, 6, 10)], [], stays=(Stay(2, 0, 361, True),))
    assert FlownDay(record).seen.longest_wait_s == 360


def test_more_tokens_never_make_the_line_slower_where_all_fit_all() -> None:
    record = scene(1, silent=0, wrong=0, own=0).record
    day = FlownDay(record)
    waits = [day.again(SET_MHZ[:count], record.floors).mean_wait_s for count in range(2, 7)]
    assert waits == sorted(waits, reverse=True)
    assert waits[0] > waits[-1]


def test_every_flight_is_flown_again() -> None:
    record = scene(1, silent=0, wrong=0, own=0).record
    assert FlownDay(record).again(SET_MHZ, record.floors).flights == len(record.airings)


def test_who_can_use_none_of_the_tokens_is_counted() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5805, 0, 6)], [])
    assert FlownDay(record).again((5999,), record.floors).cant_fly == 2


def test_a_changed_set_is_told_beside_the_one_flown() -> None:
    told = changed_set_text(FlownDay(scene(1, silent=0, wrong=0, own=0).record), SET_MHZ[:5])
    assert told.startswith("With 5 tokens instead of 6: no product nearer than ")
    assert "mean wait" in told


def test_a_pause_is_no_waiting() -> None:
    airings = [flight(1, 5765, 0, 6), flight(2, 5765, 30, 36)]
    paused = record_of(airings, [], stays=(Stay(2, 0, 1800, True),), pauses=((360, 1680),))
    assert FlownDay(paused).seen.longest_wait_s == 480
    assert FlownDay(paused).again(SET_MHZ[2:3], paused.floors).longest_wait_s == 360


def test_a_token_that_would_break_a_floor_waits_until_the_other_is_back() -> None:
    record = record_of([flight(1, 5765, 0, 6), flight(2, 5805, 0, 6)], [], floors=Floors(37, None))
    assert FlownDay(record).again((5765, 5805), record.floors).longest_wait_s == 0
    assert FlownDay(record).again((5765, 5785), record.floors).longest_wait_s == 360
    assert FlownDay(record).again((5765, 5785), None).longest_wait_s == 0


def test_a_token_in_the_middle_of_two_is_moved_to_where_it_is_clear_of_them() -> None:
    tokens = (SetToken(1, "T1", 5740), SetToken(2, "T2", 5765), SetToken(3, "T3", 5785))
    record = replace(record_of([flight(1, 5765, 0, 6)], []), tokens=tokens, allowed_mhz=((5650, 5950),))
    moved = better_mhz(FlownDay(record), tokens[1])
    assert moved is not None
    before, after = (measure([Carrier(5740), Carrier(mhz), Carrier(5785)]) for mhz in (5765, moved))
    assert (after.clearance_mhz or 0) > (before.clearance_mhz or 0)
    assert 5660 <= moved <= 5940
    assert better_mhz(FlownDay(replace(record, allowed_mhz=((5755, 5775),))), tokens[1]) is None
    apart = better_mhz(FlownDay(replace(record, floors=Floors(60, None))), tokens[1])
    assert apart is not None
    assert min(abs(apart - 5740), abs(apart - 5785)) >= 60


def test_a_token_is_not_moved_into_a_neighbour() -> None:
    tokens = (SetToken(1, "T1", 5740), SetToken(2, "T2", 5765), SetToken(3, "T3", 5785))
    record = replace(record_of([flight(1, 5765, 0, 6)], []), tokens=tokens)
    free = better_mhz(FlownDay(record), tokens[1])
    assert free is not None
    beside = replace(record, neighbours=(Neighbour("Wi-Fi", free, 40),))
    assert abs((better_mhz(FlownDay(beside), tokens[1]) or 0) - free) >= 30


BESIDE = explain(record_of([flight(1, 5765, 0, 6), flight(2, 5865, 0, 6)], [report(1, 2, 3)]))
"""Pilot 2 tells of a flight beside pilot 1, both with the usual kind."""


def test_the_same_pilot_and_kind_turn_up_over_several_meets_only() -> None:
    meet = _blaming(Cause("wrong_channel", 5865, (1,)))
    assert turning_up([meet]) == ()
    assert _found([meet, meet]) == {
        ("pilot", "pilot 1", "wrong_channel"),
        ("kind", "usual", "wrong_channel"),
        ("channel", "5865 MHz", None),
    }


def test_whose_own_kit_fails_at_several_meets_turns_up_and_the_kind_only_where_it_fails_more_than_others() -> None:
    meet = _blaming(Cause("own_receiver"))
    assert _found([meet, meet]) == {("pilot", "pilot 2", "own_receiver")}
    other = replace(meet.record.airings[0], kind=SILENT_KIND)
    rarer = replace(meet, record=replace(meet.record, airings=(other, meet.record.airings[1])))
    assert _found([rarer, rarer]) == {("pilot", "pilot 2", "own_receiver"), ("kind", "usual", "own_receiver")}
    assert {each.flights for each in turning_up([rarer, rarer])} == {2}


def test_who_may_have_been_on_air_without_a_token_again_turns_up() -> None:
    whose = (MayBe(1, 5865, 0.6), MayBe(2, 5865, 0.3))
    silent = SilentTransmitter(5865, 5860, 5870, 0.9, 0, 600, ((5865, 1.0),), (0,), whose)
    meet = replace(_blaming(Cause("no_token", 5865)), silent=(silent,))
    assert _found([meet, meet]) == {("pilot", "pilot 1", "no_token"), ("channel", "5865 MHz", None)}


def _blaming(cause: Cause) -> MeetExplained:
    blamed = (Weighed(cause, 0.9, 0.9), Weighed(Cause("unknown"), 0.1, 0.1))
    return MeetExplained(BESIDE.record, (replace(BESIDE.reports[0], causes=blamed),), ())


def _found(meets: list[MeetExplained]) -> set[tuple[str, str, str | None]]:
    return {(each.what, each.name, each.cause) for each in turning_up(meets)}
