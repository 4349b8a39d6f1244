"""The review: numbers that agree with the day, who was on air at any minute, nothing that was undone."""

from datetime import UTC, date, datetime, timedelta

import pytest

from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.files import meet_csv
from meetapp.flows.review import review
from meetapp.flows.review.minute import MinuteView, minute_view
from meetapp.flows.review.review import ReviewFacts
from meetapp.spectrum.products import Measures
from meetapp.store import tables as t
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day
from tests.world import NOON


def facts_of(desk: Desk) -> ReviewFacts:
    return review.review_facts(desk.store, desk.world.meet, desk.clock())


def at(desk: Desk, written: str, day: date | None = None) -> MinuteView:
    return minute_view(desk.store, desk.world.meet, written, day, desk.clock())


def on_air(view: MinuteView) -> list[tuple[str, list[tuple[str, int]]]]:
    """Part by part: its times, and who was on what."""
    return [(part.times, [(each.who, each.setting.mhz) for each in part.on_air]) for part in view.parts]


def test_the_numbers_of_a_day(any_desk: Desk) -> None:
    desk = any_desk
    fly_a_day(desk)
    close_it(desk)
    numbers = facts_of(desk).numbers
    # Ana and then Cy on R1, Bo on F5, Cy on F1 once R1 was missing, the line camera; Cy's R8 was undone.
    assert (numbers.loans, numbers.flights, numbers.pilots_flown) == (5, 4, 3)
    # Ana 40 minutes and 3 seconds, Cy 1 and 5 minutes, Bo 16, the camera 5.
    assert numbers.on_air_min == pytest.approx(67, abs=0.1)
    assert (numbers.served, numbers.left_line) == (2, 1)
    assert (numbers.pauses, numbers.paused_min) == (1, 20)
    assert (numbers.alarms, numbers.reports, numbers.overrides, numbers.missing) == (2, 2, 1, 1)
    assert numbers.most_on_air == 3
    assert numbers.journal_lines == len(facts_of(desk).journal)


def test_waits_have_the_pauses_taken_out(desk: Desk) -> None:
    desk.join("Ana", "Bo")
    desk.clock.forward(minutes=10)
    desk.pause(desk.clock(), desk.clock.forward(minutes=30))
    desk.clock.forward(minutes=5)
    desk.hand_out("Ana", "R1")
    desk.clock.forward(minutes=5)
    desk.hand_out("Bo", "R8")
    numbers = facts_of(desk).numbers
    assert (numbers.mean_wait_min, numbers.longest_wait_min) == (
        pytest.approx(17.5, abs=0.1),
        pytest.approx(20, abs=0.1),
    )


def test_a_meet_without_anything_has_nothing_to_say(desk: Desk) -> None:
    numbers = facts_of(desk).numbers
    assert (numbers.loans, numbers.mean_wait_min, numbers.smallest_spacing_mhz, numbers.most_on_air) == (
        0,
        None,
        None,
        0,
    )


def test_spacing_and_clearance_are_those_that_were_on_air(desk: Desk) -> None:
    desk.hand_out("Ana", "R1")
    desk.clock.forward(minutes=10)
    desk.hand_out("Bo", "F1")
    desk.clock.forward(minutes=10)
    desk.hand_out("Cy", "F5")
    numbers = facts_of(desk).numbers
    # A moment has no length: only once time passes have all three been on air together.
    assert (numbers.smallest_spacing_mhz, numbers.smallest_clearance_mhz) == (82, None)
    desk.clock.forward(minutes=10)
    numbers = facts_of(desk).numbers
    # 5820 - 5740 = 80; 2 x 5740 - 5658 = 5822, which is 2 from 5820.
    assert (numbers.smallest_spacing_mhz, numbers.smallest_clearance_mhz) == (80, 2)
    assert numbers.below_floors_min == 0
    desk.set_meet(clearance_floor_mhz=10)
    assert facts_of(desk).numbers.below_floors_min == 10


class TestAMinute:
    def test_a_quiet_one_is_one_part(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        desk.hand_out("Bo", "F1")
        desk.clock.forward(minutes=30)
        view = at(desk, "14:10")
        assert on_air(view) == [("14:10:00 to 14:11:00", [("Ana", 5658), ("Bo", 5740)])]
        [part] = view.parts
        assert part.measures == Measures(82, None, None)
        assert not part.is_below_floors
        assert view.before == NOON + timedelta(minutes=9)

    def test_one_with_a_hand_over_shows_both_sets_and_no_third(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=4, seconds=20)
        desk.hand_over("Ana", "Bo")
        desk.clock.forward(seconds=25)
        desk.hand_out("Cy", "F1")
        desk.clock.forward(minutes=5)
        assert on_air(at(desk, "14:04")) == [
            ("14:04:00 to 14:04:20", [("Ana", 5658)]),
            ("14:04:20 to 14:04:45", [("Bo", 5658)]),
            ("14:04:45 to 14:05:00", [("Bo", 5658), ("Cy", 5740)]),
        ]

    def test_what_was_set_then_counts_and_not_what_is_set_now(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=10)
        desk.change("Ana", power_mw=200)
        desk.clock.forward(minutes=10)
        assert [part.on_air[0].setting.power_mw for part in at(desk, "14:05").parts] == [25]
        assert [part.on_air[0].setting.power_mw for part in at(desk, "14:15").parts] == [200]

    def test_nothing_that_was_undone_was_on_air(self, desk: Desk) -> None:
        given = desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=2)
        desk.undo(given)
        assert on_air(at(desk, "14:01")) == [("14:01:00 to 14:02:00", [])]
        assert facts_of(desk).numbers.loans == 0
        assert facts_of(desk).journal[0].is_undone

    def test_the_exact_second_of_coming_and_going(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=5)
        desk.take_back("Ana")
        assert on_air(at(desk, "13:59")) == [("13:59:00 to 14:00:00", [])]
        assert on_air(at(desk, "14:04")) == [("14:04:00 to 14:05:00", [("Ana", 5658)])]
        assert on_air(at(desk, "14:05")) == [("14:05:00 to 14:06:00", [])]

    def test_every_minute_agrees_with_the_rows_of_the_loans(self, desk: Desk) -> None:
        """The independent way: count the open loans' current settings from the tables at each whole second."""
        fly_a_day(desk)
        settings = [row for row in desk.rows(t.LoanSetting) if row.voided_at is None]
        for minute in range(48):
            start = NOON + timedelta(minutes=minute)
            written = start + timedelta(hours=2)
            for part in at(desk, f"{written:%H:%M}").parts:
                since, until = part.times.split(" to ")
                if since == until:
                    continue  # what was so within a second, between two deeds of that second
                hours, minutes, seconds = since.split(":")
                second = start.replace(hour=int(hours) - 2, minute=int(minutes), second=int(seconds), microsecond=999)
                then = [
                    row.mhz
                    for row in settings
                    if row.since_at <= second and (row.until_at is None or second < row.until_at)
                ]
                assert sorted(then) == [each.setting.mhz for each in part.on_air], (minute, part.times)

    @pytest.mark.parametrize(
        "written", ["", "99:00", "14:3", "noon", "١٤:٣٢x"], ids=["empty", "hour", "short", "word", "signs"]
    )
    def test_what_is_no_time_is_refused(self, desk: Desk, written: str) -> None:
        with pytest.raises(Refused, match="no time of day") as refused:
            at(desk, written)
        assert refused.value.field == "minute"

    def test_a_meet_over_midnight_has_two_days(self, desk: Desk) -> None:
        desk.clock.now = datetime(2026, 6, 14, 21, 30, tzinfo=UTC)
        desk.hand_out("Ana", "R1")
        desk.clock.forward(hours=1)
        assert facts_of(desk).days == (date(2026, 6, 14), date(2026, 6, 15))
        view = at(desk, "00:10", date(2026, 6, 15))
        assert on_air(view) == [("00:10:00 to 00:11:00", [("Ana", 5658)])]
        assert on_air(at(desk, "00:10")) == [("00:10:00 to 00:11:00", [])]
        assert "minute=00:09&day=2026-06-15" in view.address_at(view.before)

    def test_the_clocks_going_back_keep_both_hours_apart(self, desk: Desk) -> None:
        # Europe/Berlin leaves summer time on 2026-10-25 at 03:00 local, 01:00 UTC.
        desk.set_meet(opened_at=datetime(2026, 10, 25, 0, 0, tzinfo=UTC))
        desk.clock.now = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
        desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=20)
        desk.take_back("Ana")
        desk.clock.forward(hours=1)
        assert on_air(at(desk, "02:40")) == [("02:40:00 to 02:41:00", [("Ana", 5658)])]


def test_what_was_below_a_floor_is_told(desk: Desk) -> None:
    desk.hand_out("Ana", "F1")
    desk.lend_ground("line camera", 5735, override_reason="no other channel")
    desk.clock.forward(minutes=3)
    facts = facts_of(desk)
    [line] = facts.overrides
    assert "no other channel" in line.sentence
    assert facts.numbers.below_floors_min == 3
    assert at(desk, "14:01").parts[0].is_below_floors
    assert [loan.override_reason for loan in facts.loans] == ["", "no other channel"]


def test_a_meet_that_is_not_there_is_not_found(desk: Desk) -> None:
    with pytest.raises(NotFound):
        review.review_facts(desk.store, 999, NOON)


class TestTables:
    def test_loans_have_a_row_for_each_setting_in_the_sites_time(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        desk.clock.forward(minutes=10)
        desk.change("Ana", power_mw=200)
        desk.clock.forward(minutes=5)
        desk.take_back("Ana")
        head, first, second = meet_csv.loans_csv(facts_of(desk)).splitlines()
        assert head.startswith("out,in,minutes,token,code,who")
        assert first.startswith("2026-06-14 14:00:00,2026-06-14 14:15:00,15.0,R1,T1,Ana,analogue 40,R1,5658,20,25,")
        assert ",200,2026-06-14 14:10:00," in second

    def test_nothing_runs_as_a_formula(self, desk: Desk) -> None:
        fly_a_day(desk)
        text = meet_csv.reports_csv(facts_of(desk))
        assert ",'=by the second gate," in text
        assert not any(cell[:1] in "=+@" for line in text.splitlines() for cell in line.split(",") if cell)

    def test_the_journal_numbers_its_lines_and_says_what_was_undone(self, desk: Desk) -> None:
        desk.undo(desk.hand_out("Ana", "R1"))
        lines = meet_csv.journal_csv(facts_of(desk)).splitlines()
        assert lines[1].startswith("1,2026-06-14 14:00:00,2026-06-14 14:00:00,Mo,marshal,")
        assert lines[1].endswith(",yes,")
        assert lines[2].endswith(",,1")
