"""Small cases with the odds worked out by hand: when reports agree, what is near, and what is not there at all."""

from dataclasses import replace

import pytest

from meetapp.review.case import cases
from meetapp.review.cause_sentences import Names, cause_sentence
from meetapp.review.causes import CauseKind
from meetapp.review.evidence import Airing, Look, MeetRecord, Reported, Suspicion
from meetapp.review.explaining import MeetExplained, explain
from meetapp.review.silent import SilentAir
from meetapp.review.wrong_channels import candidates_mhz
from meetapp.spectrum.carriers import Neighbour
from tests.review.scenes import SET_MHZ, flight, record_of, report


def odds(explained: MeetExplained, kind: CauseKind, number: int = 0) -> float:
    return sum(each.probability for each in explained.reports[number].causes if each.cause.kind == kind)


def a_usual_day(*more: Airing | Reported, **others: object) -> MeetRecord:
    """Thirty flights of five minutes on each token, all together, before `more`; they woke on what they were given."""
    airings = [
        replace(flight(1000 + 6 * turn + slot, mhz, 10 * turn, 10 * turn + 5), wake_before_mhz=mhz)
        for turn in range(30)
        for slot, mhz in enumerate(SET_MHZ)
    ]
    airings += [each for each in more if isinstance(each, Airing)]
    return record_of(airings, [each for each in more if isinstance(each, Reported)], **others)


def agreeing(count: int, apart_min: float = 3, look: Look = "other_picture") -> MeetExplained:
    """So many different pilots on one channel, one after the other, each of whom reports."""
    flights = [flight(n + 1, 5765, 400 + n * apart_min, 402.8 + n * apart_min) for n in range(count)]
    told = [report(n + 1, n + 1, 401 + n * apart_min, look) for n in range(count)]
    return explain(a_usual_day(*flights, *told))


def test_one_report_alone_is_most_likely_nobody_elses_doing() -> None:
    # a flight breaks by itself and is told in 1 of 230; of somebody without a token 0.35 an hour, 1/8 of them here
    assert odds(agreeing(1), "own_receiver") + odds(agreeing(1), "unknown") > 0.3
    assert agreeing(1).reports[0].causes[0].probability < 0.8


@pytest.mark.parametrize(("count", "least"), [(2, 0.6), (3, 0.85), (4, 0.9)])
def test_agreeing_reports_within_minutes_are_no_coincidence(count: int, least: float) -> None:
    # two own faults within minutes on one channel: (1/100)^2, against one that hides in 1 of 300 such spans
    explained = agreeing(count)
    assert all(odds(explained, "no_token", number) > least for number in range(count))


def test_the_same_reports_hours_apart_are_coincidence() -> None:
    explained = agreeing(3, apart_min=90, look="gone")
    assert all(odds(explained, "no_token", number) < 0.3 for number in range(3))


def test_another_picture_in_flight_hardly_comes_from_ones_own_goggles_and_agreeing_makes_it_surer() -> None:
    apart, together = agreeing(3, apart_min=90), agreeing(3)
    for number in range(3):
        assert odds(apart, "own_receiver", number) < 0.3
        assert odds(together, "no_token", number) > odds(apart, "no_token", number) + 0.2


def test_a_pilot_who_reports_again_and_again_has_kit_of_their_own_to_look_at() -> None:
    def own(pilots: tuple[int, int, int]) -> float:
        flights = [
            replace(flight(n + 1, SET_MHZ[n], 400 + 60 * n, 405 + 60 * n), pilot=pilot)
            for n, pilot in enumerate(pilots)
        ]
        told = [replace(report(n + 1, n + 1, 402 + 60 * n, "gone"), pilot=pilot) for n, pilot in enumerate(pilots)]
        return odds(explain(a_usual_day(*flights, *told)), "own_receiver", 2)

    assert own((1, 1, 1)) > own((1, 2, 3))


def test_gone_right_after_the_hand_out_speaks_for_the_pilots_own_transmitter_on_its_wake_channel() -> None:
    def wrong(at_min: float, wake_mhz: int) -> float:
        own = replace(flight(1, 5695, 400, 406), wake_before_mhz=wake_mhz)
        return odds(explain(a_usual_day(own, report(1, 1, at_min, "gone"))), "wrong_channel")

    assert wrong(400.8, 5865) > 1.5 * wrong(405, 5865)
    assert wrong(400.8, 5865) > 2 * wrong(400.8, 5695)


def test_the_one_whose_channel_it_wakes_on_and_its_own_pilot_together_tell_a_wrong_channel() -> None:
    wrong = replace(flight(1, 5695, 400, 406), wake_before_mhz=5865)
    told = (report(1, 2, 400.7, "other_picture"), report(2, 1, 400.9, "gone"))
    explained = explain(a_usual_day(wrong, flight(2, 5865, 398, 404), *told))
    for each in explained.reports:
        assert (each.causes[0].cause.kind, each.causes[0].cause.sources) == ("wrong_channel", (1,))
        assert each.causes[0].cause.mhz == 5865


@pytest.mark.parametrize(("off_mhz", "low", "high"), [(0, 0.2, 1), (5, 0.15, 1), (15, 0.01, 0.15), (30, 0, 0.03)])
def test_a_product_counts_by_how_far_off_it_falls(off_mhz: int, low: float, high: float) -> None:
    # 2 x 5805 - 5865 = 5745; neither flew beside this channel before, but those of the set were still all day
    airings = [flight(1, 5745 + off_mhz, 400, 406), flight(2, 5805, 400.5, 406), flight(3, 5865, 401.5, 406)]
    assert low <= odds(explain(a_usual_day(*airings, report(1, 1, 402))), "product") <= high


def test_a_foreign_signal_counts_by_its_edge() -> None:
    def chance(centre_mhz: int) -> float:
        record = record_of([flight(1, 5785, 0, 6)], [report(1, 1, 3)], neighbours=(Neighbour("Wi-Fi", centre_mhz, 80),))
        return odds(explain(record), "neighbour")

    assert chance(5775) > chance(5840) > chance(5860)
    assert chance(5860) < 0.1


def test_what_is_not_there_is_not_said() -> None:
    explained = explain(record_of([flight(1, 5765, 0, 6)], [report(1, 1, 3)]))
    assert {each.cause.kind for each in explained.reports[0].causes} <= {
        "own_receiver",
        "unknown",
        "no_token",
        "wrong_channel",
    }


def test_reports_on_far_channels_say_nothing_of_each_other() -> None:
    airings = (flight(1, 5645, 400, 405), flight(2, 5945, 400, 405))
    assert odds(explain(a_usual_day(*airings, report(1, 1, 402), report(2, 2, 402))), "no_token") < 0.4


def test_a_called_stray_makes_one_without_a_token_likelier() -> None:
    told = (flight(1, 5765, 400, 405), report(1, 1, 402, "other_picture"))
    called = explain(a_usual_day(*told, suspicions=(Suspicion(400 * 60, 410 * 60),)))
    assert odds(called, "no_token") > odds(explain(a_usual_day(*told)), "no_token") + 0.1


def test_a_missing_tags_holder_may_be_on_its_channel() -> None:
    record = record_of([flight(1, 5805, 0, 5), flight(2, 5765, 30, 35)], [])
    missing = replace(record, suspicions=(Suspicion(30 * 60, 40 * 60, 1, 5805),))
    before, after = (SilentAir(each).shares_mhz(31 * 60, 36 * 60)[5805] for each in (record, missing))
    assert after > before


def test_a_slip_away_is_looked_at_first_where_no_wake_channel_is_known() -> None:
    slipped = replace(flight(1, 5765, 0, 5), step_beside_mhz=(5732, 5806), same_number_mhz=(5780,))
    shares = candidates_mhz(slipped, record_of([slipped], []))
    assert sorted(shares, key=lambda mhz: -shares[mhz])[:3] == [5780, 5732, 5806]
    assert sum(shares.values()) == pytest.approx(1)


def test_several_of_one_kind_that_cant_be_told_apart_stand_there_once_and_name_nobody() -> None:
    airings = [flight(1, 5765, 400, 406), flight(2, 5772, 400, 406), flight(3, 5758, 400, 406)]
    first = explain(a_usual_day(*airings, report(1, 1, 402))).reports[0].causes[0]
    assert (first.cause.kind, first.cause.sources) == ("too_close", ())
    assert first.probability > 0.6


def test_a_minute_or_more_speaks_for_a_steady_source() -> None:
    def shared(lasted_s: float) -> float:
        airings = (flight(1, 5765, 400, 406), flight(2, 5777, 401, 406))
        told = replace(report(1, 1, 402), lasted_s=lasted_s)
        return odds(explain(a_usual_day(*airings, told)), "product") + odds(
            explain(a_usual_day(*airings, told)), "own_receiver"
        )

    assert shared(60) < shared(2)


def test_a_name_says_how_much_of_its_kind_it_has() -> None:
    airings = [flight(1, 5765, 400, 406), flight(2, 5769, 400, 406), flight(3, 5753, 400, 406)]
    explained = explain(a_usual_day(*airings, report(1, 1, 402, "other_picture")))
    report_told = explained.reports[0]
    [first] = [each for each in report_told.causes if each.cause.kind == "too_close"]
    assert first.cause.sources == (2,)
    assert first.probability / 2 < first.named < 0.95 * first.probability
    sentence = cause_sentence(first, report_told.case, Names(explained.record))
    assert f"this is the likeliest of them ({10 * first.named / first.probability:.0f} in 10)" in sentence


def left_on_its_wake_channel(*told: Reported) -> MeetExplained:
    """Loan 1 is given 5695 and wakes on 5865, where loan 2 flies already."""
    wrong = replace(flight(1, 5695, 400, 406), wake_before_mhz=5865)
    return explain(a_usual_day(wrong, flight(2, 5865, 398, 404), *told))


def test_a_report_without_a_name_counts_as_told_by_one_of_those_who_flew_then() -> None:
    gone = replace(report(1, 1, 400.8, "gone"), place="line")
    somebody = replace(report(2, 2, 401.5), pilot=None, loan=None)
    alone, together = left_on_its_wake_channel(gone), left_on_its_wake_channel(gone, somebody)
    assert odds(together, "wrong_channel") > odds(alone, "wrong_channel") + 0.1
    assert odds(together, "wrong_channel", 1) > 0.5
    assert together.reports[1].case is None


@pytest.mark.parametrize("told_min", [397.8, 398.5, 399.6])
def test_a_time_told_minutes_before_the_hand_out_is_of_its_first_minutes(told_min: float) -> None:
    # told when it was, by a clock that is behind, or rounded down
    early = replace(report(1, 1, told_min, "gone"), place="line", entered_s=told_min * 60)
    explained = left_on_its_wake_channel(early, report(2, 2, 401.5))
    assert all(odds(explained, "wrong_channel", number) > 0.6 for number in range(2))


def test_of_two_loans_of_one_pilot_a_report_between_may_be_of_either() -> None:
    flights = (replace(flight(1, 5695, 390, 399), pilot=1), replace(flight(2, 5865, 402, 408), pilot=1))
    told = replace(report(1, 1, 400.5), loan=None)
    shares = {each.victim.loan: each.share for each in cases(a_usual_day(*flights, told))[0]}
    assert shares.keys() == {1, 2}
    assert sum(shares.values()) == pytest.approx(1)
    assert all(0.15 < share < 0.85 for share in shares.values())


def test_what_the_set_did_in_silence_says_little_of_what_was_handed_out_in_spite_of_a_warning() -> None:
    # the set, 18 MHz apart, was quiet all day; 12 MHz is what the desk was warned of
    pairs = [flight(100 * turn + n, 5765 + n * 18, 10 * turn, 10 * turn + 6) for turn in range(40) for n in (0, 1)]
    concerned = (flight(1, 5765, 400, 406), flight(2, 5777, 401, 406))

    def chance(*, override: bool) -> float:
        nearer = replace(concerned[1], is_override=override)
        return odds(explain(record_of([*pairs, concerned[0], nearer], [report(1, 1, 402)])), "too_close")

    assert chance(override=True) > chance(override=False) + 0.05
    assert chance(override=True) > 0.6


def test_overrides_that_harmed_nobody_all_day_make_the_next_one_less_suspect() -> None:
    def chance(*, all_day: bool) -> float:
        others = [
            replace(flight(100 + 2 * turn + n, 5645 + 9 * n, 10 * turn, 10 * turn + 6), is_override=n == 1)
            for turn in range(20)
            for n in (0, 1)
        ]
        concerned = [flight(1, 5765, 400, 406), replace(flight(2, 5774, 401, 406), is_override=True)]
        day = a_usual_day(*concerned, *(others if all_day else ()), report(1, 1, 402))
        return odds(explain(day), "too_close")

    assert chance(all_day=True) < chance(all_day=False) - 0.05


def test_a_product_by_override_on_the_channel_is_the_suspect_and_one_far_off_isnt() -> None:
    def chance(mhz: int, *, override: bool) -> float:
        # 2 x 5805 - 5865 = 5745
        airings = [flight(1, mhz, 400, 406), flight(2, 5805, 400.5, 406)]
        third = replace(flight(3, 5865, 401.5, 406), is_override=override)
        return odds(explain(a_usual_day(*airings, third, report(1, 1, 402))), "product")

    assert chance(5747, override=True) > chance(5747, override=False) + 0.1
    assert chance(5760, override=True) == pytest.approx(chance(5760, override=False), abs=0.02)
