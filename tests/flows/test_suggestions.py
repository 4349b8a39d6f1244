"""What the desk is shown before a hand-out: the suggested token, the others, and why not."""

from typing import Any

import pytest

from meetapp.flows import journal
from meetapp.flows.desk.loan_page import loan_page
from meetapp.flows.errors import NotFound
from meetapp.flows.kits import Kit
from meetapp.flows.loans.suggestions import HandOutView, hand_out_view, hand_over_candidates, next_up
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.pilot.own_view import my_view
from meetapp.store import tables as t
from tests.desk import Desk


def view(desk: Desk, who: str) -> HandOutView:
    return hand_out_view(desk.store, desk.world.meet, desk.world.pilots[who], desk.clock())


def ruled_out(desk: Desk, who: str) -> dict[str, str]:
    return {token.token_label: token.why for token in view(desk, who).ruled_out}


def make_kind(desk: Desk, who: str, kind: str) -> None:
    desk.set_transmitter(who, kind_id=desk.world.kinds[kind])


class TestHandOutView:
    def test_suggests_what_leaves_most_for_the_line(self, any_desk: Desk) -> None:
        make_kind(any_desk, "Bo", "analogue R")
        make_kind(any_desk, "Cy", "analogue R")
        any_desk.join("Ana", "Bo", "Cy")
        page = view(any_desk, "Ana")
        assert page.suggested is not None
        assert page.suggested.token_label in ("F1", "F5")
        assert page.suggested.reason == f"nobody else in the line can make {page.suggested.token_label}"
        assert {choice.token_label for choice in page.others} == {"R1", "F1", "F5", "R8"} - {page.suggested.token_label}
        assert (page.place, page.waited_min) == (1, 0)

    def test_who_is_not_ready_counts_among_those_who_can_make_it(self, desk: Desk) -> None:
        make_kind(desk, "Bo", "analogue R")
        desk.set_transmitter("Ana", wake_mhz=5820)
        desk.join("Ana", "Bo", "Cy")
        desk.not_ready("Cy")
        page = view(desk, "Ana")
        assert page.suggested is not None
        assert page.suggested.reason == "already set to it; nobody else who is ready can make F5"

    def test_suggests_the_wake_channel_where_it_costs_nobody_anything(self, desk: Desk) -> None:
        desk.set_transmitter("Ana", wake_mhz=5820)
        page = view(desk, "Ana")
        assert page.suggested is not None
        assert (page.suggested.token_label, page.suggested.reason) == ("F5", "already set to it")
        assert page.suggested.wake_words == "wakes on F5, already set"

    def test_shows_what_is_below_a_floor_with_why(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83)
        desk.hand_out("Ana", "R1")
        (below,) = view(desk, "Bo").below_floor
        assert below.token_label == "F1"
        assert below.shortfalls == ("82 MHz from 5658 on air, the floor is 83",)
        assert below.reason == "82 MHz from 5658 on air, the floor is 83"

    def test_shows_what_a_wide_carrier_blocks(self, desk: Desk) -> None:
        make_kind(desk, "Ana", "digital wide")
        desk.set_meet(spacing_floor_mhz=75, pull_mhz=5)
        desk.hand_out("Ana", "F1")
        blocked = {choice.token_label: choice.reason for choice in view(desk, "Bo").below_floor}
        assert blocked["R1"].startswith("blocked by Ana on 5735 MHz: 77 MHz from 5735 on air")

    def test_says_why_a_token_is_ruled_out(self, any_desk: Desk) -> None:
        make_kind(any_desk, "Cy", "analogue R")
        any_desk.hand_out("Bo", "R1")
        any_desk.missing("F1")
        any_desk.withdraw("R8")
        assert ruled_out(any_desk, "Cy") == {
            "R1": "is out with Bo since 14:00",
            "F1": "missing",
            "F5": "analogue R can't make it",
            "R8": "withdrawn",
        }

    def test_says_what_the_goggles_cannot_receive(self, desk: Desk) -> None:
        desk.set_kind("analogue 40", goggles="R")
        assert ruled_out(desk, "Ana")["F5"] == "the goggles of analogue 40 can't receive it"

    def test_says_what_lies_outside_the_band_profile(self, desk: Desk) -> None:
        desk.set_row(t.BandSegment, 1, high_mhz=5800)
        assert ruled_out(desk, "Ana")["F5"] == "outside the band profile 'Test band'"

    def test_lists_what_could_be_set_within_the_pull(self, desk: Desk) -> None:
        make_kind(desk, "Ana", "analogue tunable")
        suggested = view(desk, "Ana").suggested
        assert suggested is not None
        assert suggested.setting.mhz == suggested.nominal_mhz == suggested.settings[0].mhz
        assert [setting.mhz - suggested.nominal_mhz for setting in suggested.settings] == [0, -1, 1, -2, 2]

    @pytest.mark.parametrize(
        ("what", "why"),
        [
            ("holds", "Ana holds R1 since 14:00"),
            ("absent", "Ana isn't checked in"),
            ("no kit", "nobody has said yet which transmitter Ana flies today"),
            ("too strong", "analogue 40 can't go below 25 mW, and the ceiling of this meet is 10 mW"),
            ("retired", "Ana is retired from the club's list"),
        ],
    )
    def test_says_why_a_pilot_gets_none(self, desk: Desk, what: str, why: str) -> None:
        (attendance,) = desk.rows(t.Attendance, pilot_id=desk.world.pilots["Ana"])
        match what:
            case "holds":
                desk.hand_out("Ana", "R1")
            case "absent":
                desk.set_row(t.Attendance, attendance.id, checked_in_at=None)
            case "no kit":
                desk.set_row(t.Attendance, attendance.id, transmitter_id=None)
            case "too strong":
                desk.set_meet(power_ceiling_mw=10)
            case "retired":
                desk.set_row(t.Pilot, desk.world.pilots["Ana"], retired_at=desk.clock())
        page = view(desk, "Ana")
        assert page.why_not == why
        assert (page.suggested, page.others, page.below_floor) == (None, (), ())

    def test_an_unknown_pilot_or_meet_is_not_found(self, desk: Desk) -> None:
        with pytest.raises(NotFound):
            hand_out_view(desk.store, desk.world.meet, 999, desk.clock())
        with pytest.raises(NotFound):
            hand_out_view(desk.store, 999, desk.world.pilots["Ana"], desk.clock())


class TestHeldBack:
    """The head of the line isn't passed for ever."""

    @pytest.fixture
    def overdue(self, desk: Desk) -> Desk:
        """Di stands at the head for 25 minutes, can make R1 alone, and Ana has it; Bo waits behind."""
        with desk.store.write() as session:
            kind = t.TransmitterKind(name="only R1", tuning="R1", width_mhz=20, power_steps_mw="25")
            session.add(kind)
            session.commit()
        desk.set_transmitter("Di", kind_id=kind.id)
        desk.hand_out("Ana", "R1")
        desk.join("Di", "Bo")
        desk.clock.forward(minutes=25)
        return desk

    def test_the_token_they_wait_for_is_held_back(self, overdue: Desk) -> None:
        overdue.take_back("Ana")
        (held,) = view(overdue, "Bo").held_back
        assert (held.token_label, held.reason) == ("R1", "held back for Di, who has waited 25 min")
        with pytest.raises(Exception, match="R1 for Bo: held back for Di, who has waited 25 min"):
            overdue.hand_out("Bo", "R1")
        overdue.hand_out("Bo", "R1", override_reason="Di went for a coffee")
        assert overdue.on_air() == {"Bo": ("R1", 5658)}
        told = journal.lines(overdue.store, overdue.world.meet)[-1].sentence
        assert told == "By override for Bo: Di went for a coffee (passed: Di, who has waited 25 min)"

    def test_the_head_itself_gets_it(self, overdue: Desk) -> None:
        overdue.take_back("Ana")
        up = next_up(overdue.snapshot())
        assert up is not None
        assert up.choice is not None
        assert (up.person.name, up.choice.token_label, up.waited_min) == ("Di", "R1", 25)
        overdue.hand_out("Di", "R1")

    def test_a_token_that_would_be_in_the_way_is_held_back_too(self, overdue: Desk) -> None:
        overdue.set_meet(spacing_floor_mhz=83)
        page = view(overdue, "Bo")
        assert [choice.token_label for choice in page.held_back] == []
        overdue.take_back("Ana")
        page = view(overdue, "Bo")
        assert {choice.token_label for choice in page.held_back} == {"R1", "F1"}

    def test_it_is_handed_over_to_nobody_else(self, overdue: Desk) -> None:
        candidates = hand_over_candidates(overdue.snapshot(), overdue.loan_of("Ana").loan_id)
        assert [candidate.person.name for candidate in candidates] == ["Di"]
        with pytest.raises(Exception, match="held back for Di"):
            overdue.hand_over("Ana", "Bo")

    def test_a_pause_does_not_count(self, overdue: Desk) -> None:
        overdue.pause(overdue.clock(), None)
        overdue.clock.forward(minutes=60)
        up = next_up(overdue.snapshot())
        assert up is not None
        assert up.waited_min == 25

    def test_before_the_limit_nothing_is_held_back(self, overdue: Desk) -> None:
        overdue.set_meet(head_limit_min=30)
        overdue.take_back("Ana")
        assert view(overdue, "Bo").held_back == ()


class TestNextUp:
    def test_nobody_waits(self, desk: Desk) -> None:
        assert next_up(desk.snapshot()) is None

    def test_the_head_with_their_token_and_who_comes_after(self, any_desk: Desk) -> None:
        any_desk.join("Ana", "Bo")
        any_desk.clock.forward(minutes=3)
        up = next_up(any_desk.snapshot())
        assert up is not None
        assert (up.person.name, up.waited_min, up.instead) == ("Ana", 3, None)
        assert up.after is not None
        assert up.after.name == "Bo"
        assert up.choice is not None
        assert up.choice.reason.startswith("leaves tokens for")

    def test_who_is_not_ready_is_passed(self, desk: Desk) -> None:
        desk.join("Ana", "Bo")
        desk.not_ready("Ana")
        up = next_up(desk.snapshot())
        assert up is not None
        assert (up.person.name, up.after) == ("Bo", None)

    def test_where_the_head_has_to_wait_it_says_why_and_who_could_go(self, desk: Desk) -> None:
        make_kind(desk, "Ana", "analogue R")
        desk.hand_out("Cy", "R1")
        desk.hand_out("Di", "R8")
        desk.join("Ana", "Bo")
        up = next_up(desk.snapshot())
        assert up is not None
        assert (up.choice, up.why_none) == (None, "Ana can make none of the tokens that are in")
        assert up.instead is not None
        assert up.instead.person.name == "Bo"
        assert up.instead.choice is not None

    def test_where_only_a_floor_stands_in_the_way_it_names_it(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83)
        desk.hand_out("Cy", "F1")
        for label in ("F5", "R8"):
            desk.missing(label)
        desk.join("Ana")
        up = next_up(desk.snapshot())
        assert up is not None
        assert up.why_none == "R1: 82 MHz from 5740 on air, the floor is 83"


class TestHandOverCandidates:
    def test_those_in_the_line_who_can_use_it_in_line_order(self, desk: Desk) -> None:
        make_kind(desk, "Bo", "analogue R")
        desk.hand_out("Ana", "F5")
        desk.join("Bo", "Cy", "Di", "Ed")
        desk.not_ready("Ed")
        candidates = hand_over_candidates(desk.snapshot(), desk.loan_of("Ana").loan_id)
        assert [(candidate.person.name, candidate.reason) for candidate in candidates] == [
            ("Cy", "asked because Bo can't take F5"),
            ("Di", "next in the line"),
        ]
        assert candidates[0].setting.label == "F5"
        assert candidates[0].wake_words == "wake channel unknown: nobody else is on air now"

    def test_nobody_who_would_break_a_floor(self, desk: Desk) -> None:
        make_kind(desk, "Bo", "analogue tunable")
        desk.set_kind("analogue tunable", tuning="5659-5925/1")
        desk.set_meet(spacing_floor_mhz=82)
        desk.hand_out("Ana", "R1")
        desk.hand_out("Cy", "F1")
        desk.join("Bo", "Di")
        candidates = hand_over_candidates(desk.snapshot(), desk.loan_of("Ana").loan_id)
        reasons = [(each.person.name, each.reason) for each in candidates]
        assert reasons == [("Di", "asked because Bo would go below a floor")]

    def test_nobody_for_a_transmitter_without_a_token_or_a_loan_that_is_over(self, desk: Desk) -> None:
        desk.lend_ground("camera", 5780)
        desk.join("Ana")
        assert hand_over_candidates(desk.snapshot(), desk.loan_of("camera").loan_id) == ()
        assert hand_over_candidates(desk.snapshot(), 999) == ()


class TestWakeWords:
    @pytest.mark.parametrize(
        ("wake", "kind", "words"),
        [
            (5658, {}, "wakes on R1, already set"),
            (5880, {}, "wakes on R7: free now"),
            (5880, {"tuning": "F"}, "wakes on F8: free now"),
            (5880, {"tuning": "5650-5925/1"}, "wakes on 5880 MHz: free now"),
            (5820, {}, "wakes on F5, which is on air: wait, or set it at the far point first"),
            (5806, {}, "wakes on R5, too close to Bo on F5: wait, or set it at the far point first"),
            (None, {}, "wake channel unknown: wait, or set it at the far point first"),
            (5820, {"sets_silently": True}, "wakes on F5, which is on air: set it silently first"),
            (5880, {"moves_by_itself": True}, "wakes on R7: free now; may change channel by itself: lock it"),
        ],
        ids=["already set", "free", "by its own name", "without a name", "on air", "too close", "unknown", "silent",
             "moves by itself"],
    )
    def test_what_it_wakes_on(self, desk: Desk, wake: int | None, kind: dict[str, Any], words: str) -> None:
        desk.hand_out("Bo", "F5")
        desk.set_kind("analogue 40", **kind)
        assert wake_words(desk.snapshot(), wake, 5658, 20, kit(desk)) == words

    def test_a_product_disturbs_too(self, desk: Desk) -> None:
        desk.set_meet(clearance_floor_mhz=10)
        desk.hand_out("Bo", "F1")
        desk.hand_out("Cy", "F5")
        words = wake_words(desk.snapshot(), 5905, 5658, 20, None)  # 2 x 5820 - 5740 = 5900
        assert words == "wakes on E6, which disturbs those on air: wait, or set it at the far point first"

    @pytest.mark.parametrize(
        ("kind", "what_to_do"),
        [
            ({}, "no power here before it is set by the club's rule"),
            ({"sets_silently": True}, "set it silently first"),
        ],
        ids=["only under power", "silently"],
    )
    def test_waking_outside_the_band_profile_is_a_warning(
        self, desk: Desk, kind: dict[str, Any], what_to_do: str
    ) -> None:
        desk.set_row(t.BandSegment, 1, high_mhz=5900)
        desk.set_kind("analogue 40", **kind)
        desk.set_transmitter("Ana", wake_mhz=5917)
        words = f"wakes on R8, outside the band profile 'Test band': {what_to_do}"
        page = view(desk, "Ana")
        assert page.suggested is not None
        assert page.suggested.wake_words == words
        desk.join("Ana")
        answer = desk.hand_out("Ana", "R1")
        assert words[1:] in answer.notice
        loan_id = desk.loan_of("Ana").loan_id
        assert loan_page(desk.store, desk.world.meet, loan_id, desk.clock()).wakes == words
        mine = my_view(desk.store, desk.world.pilots["Ana"], desk.clock())
        assert mine.holding is not None
        assert mine.holding.to_set.wake_words == words

    def test_the_pilots_own_loan_does_not_count(self, desk: Desk) -> None:
        desk.hand_out("Bo", "F5")
        own = desk.loan_of("Bo").loan_id
        assert wake_words(desk.snapshot(), 5806, 5820, 20, None, loan_id=own) == "wakes on R5: free now"
        assert wake_words(desk.snapshot(), None, 5820, 20, None, loan_id=own).endswith("nobody else is on air now")


def kit(desk: Desk) -> Kit | None:
    return desk.snapshot().people[desk.world.pilots["Ana"]].kit
