"""Hand out, take back, hand over: on both databases, with the sentences that a refusal says."""

from typing import Any

import pytest

from meetapp.flows.errors import Forbidden, MeetError, NotFound, Refused
from meetapp.flows.loans.loans import ChangeSetting, HandOut, change_setting, hand_out, take_back
from meetapp.store import tables as t
from tests.desk import LU, STRANGER, Desk

NO_WIDTH = "A width of 0 MHz can't be: give more than 0 and at most 320 MHz."


def settings_of(desk: Desk, loan_id: int) -> list[t.LoanSetting]:
    return desk.rows(t.LoanSetting, loan_id=loan_id)


class TestHandOut:
    def test_puts_the_pilot_on_air_and_says_what_to_set(self, any_desk: Desk) -> None:
        answer = any_desk.hand_out("Ana", "R1")
        assert any_desk.on_air() == {"Ana": ("R1", 5658)}
        assert any_desk.kinds() == ["handed_out"]
        assert answer.location == f"/desk/loans/{answer.made_id}"
        assert answer.facts["label"] == "R1"
        assert answer.facts["mhz"] == 5658
        assert answer.facts["power_mw"] == 25
        assert answer.notice.startswith("Ana has R1. Set R1 (5658 MHz), 25 mW. Wake channel unknown")

    def test_remembers_what_the_transmitter_wakes_on(self, any_desk: Desk) -> None:
        any_desk.set_transmitter("Ana", wake_mhz=5740)
        answer = any_desk.hand_out("Ana", "R1")
        assert answer.facts["wake_words"] == "wakes on F1: free now"
        (setting,) = settings_of(any_desk, answer.made_id or 0)
        assert setting.wake_before_mhz == 5740
        assert any_desk.row(t.PilotTransmitter, any_desk.world.transmitters["Ana"]).wake_mhz == 5658

    def test_takes_the_pilot_out_of_the_line_and_moves_the_head(self, any_desk: Desk) -> None:
        any_desk.join("Ana", "Bo", "Cy")
        any_desk.not_ready("Bo")
        any_desk.hand_out("Ana", "R1")
        assert any_desk.in_line() == ["Bo", "Cy"]
        line = any_desk.snapshot().line
        assert [stand.head_since is not None for stand in line] == [True, False]

    def test_of_somebody_outside_the_line_passes_nobody(self, desk: Desk) -> None:
        desk.join("Ana", "Bo")
        desk.not_ready("Ana")
        desk.hand_out("Cy", "R1")
        assert desk.in_line() == ["Ana*", "Bo"]

    def test_a_paused_meet_still_hands_out(self, desk: Desk) -> None:
        desk.pause(desk.clock(), None)
        desk.hand_out("Ana", "R1")
        assert "Ana" in desk.on_air()

    def test_goes_to_my_page_for_a_pilot(self, desk: Desk) -> None:
        desk.set_meet(is_self_service=True)
        assert desk.as_pilot("Ana").hand_out("Ana", "R1").location == "/my"

    def test_sent_twice_is_done_once(self, any_desk: Desk) -> None:
        deed = any_desk.deed()
        order = HandOut(any_desk.world.meet, any_desk.world.pilots["Ana"], any_desk.world.tokens["R1"])
        first = hand_out(any_desk.store, deed, order)
        assert hand_out(any_desk.store, deed, order) == first
        assert any_desk.kinds() == ["handed_out"]

    def test_the_frequency_may_be_chosen_within_the_pull(self, desk: Desk) -> None:
        with_tunable(desk, "Ana")
        answer = desk.hand_out("Ana", "R1", mhz=5660)
        assert desk.on_air() == {"Ana": ("R1", 5660)}
        assert answer.facts["label"] == "5660 MHz"
        assert "Set 5660 MHz, 25 mW." in answer.notice

    def test_warns_where_the_band_profile_names_less_power(self, desk: Desk) -> None:
        answer = desk.hand_out("Ana", "R1", power_mw=200)
        assert answer.facts["warning"] == "The band profile 'Test band' names 25 mW there, 200 mW is set."

    def test_another_transmitter_becomes_todays(self, desk: Desk) -> None:
        other = add_transmitter(desk, "Ana", "analogue tunable")
        desk.hand_out("Ana", "R1", transmitter_id=other)
        kit = desk.snapshot().people[desk.world.pilots["Ana"]].kit
        assert kit is not None
        assert kit.transmitter_id == other


def with_tunable(desk: Desk, who: str) -> None:
    desk.set_transmitter(who, kind_id=desk.world.kinds["analogue tunable"])


def add_transmitter(desk: Desk, who: str, kind: str) -> int:
    with desk.store.write() as session:
        row = t.PilotTransmitter(pilot_id=desk.world.pilots[who], kind_id=desk.world.kinds[kind])
        session.add(row)
        session.commit()
        return row.id


class TestRefusals:
    """Each says what is wrong in one plain sentence, and nothing is written."""

    @pytest.fixture
    def busy(self, any_desk: Desk) -> Desk:
        """R1 is out with Ana since 14:00 in the site's zone; it is five minutes later."""
        any_desk.hand_out("Ana", "R1")
        any_desk.clock.forward(minutes=5)
        return any_desk

    def check(self, desk: Desk, error: type[MeetError], sentence: str, who: str, label: str, **wish: Any) -> MeetError:
        before = (desk.on_air(), desk.kinds())
        with pytest.raises(error) as refused:
            desk.hand_out(who, label, **wish)
        assert refused.value.message == sentence
        assert refused.value.hint
        assert (desk.on_air(), desk.kinds()) == before
        return refused.value

    def test_a_token_that_is_out(self, busy: Desk) -> None:
        self.check(busy, Refused, "R1 is out with Ana since 14:00.", "Bo", "R1")

    def test_a_pilot_who_holds_one(self, busy: Desk) -> None:
        self.check(busy, Refused, "Ana holds R1 since 14:00.", "Ana", "F5")

    def test_a_missing_token(self, busy: Desk) -> None:
        busy.missing("F5")
        self.check(busy, Refused, "F5 is missing.", "Bo", "F5")

    def test_a_withdrawn_token(self, busy: Desk) -> None:
        busy.withdraw("F5")
        self.check(busy, Refused, "F5 is withdrawn.", "Bo", "F5")

    def test_a_retired_pilot(self, busy: Desk) -> None:
        busy.set_row(t.Pilot, busy.world.pilots["Bo"], retired_at=busy.clock())
        self.check(busy, Refused, "Bo is retired from the club's list.", "Bo", "F5")

    def test_a_pilot_who_went_home(self, busy: Desk) -> None:
        busy.set_row(t.Attendance, attendance(busy, "Bo"), left_at=busy.clock())
        self.check(busy, Refused, "Bo isn't checked in.", "Bo", "F5")

    def test_no_transmitter_told(self, busy: Desk) -> None:
        busy.set_row(t.Attendance, attendance(busy, "Bo"), transmitter_id=None)
        error = self.check(busy, Refused, "Nobody has said yet which transmitter Bo flies today.", "Bo", "F5")
        assert error.field == "transmitter_id"

    def test_a_transmitter_of_somebody_else(self, busy: Desk) -> None:
        anas = busy.world.transmitters["Ana"]
        self.check(busy, Refused, "This transmitter isn't one of Bo's.", "Bo", "F5", transmitter_id=anas)

    def test_a_transmitter_that_cannot(self, busy: Desk) -> None:
        busy.set_transmitter("Bo", kind_id=busy.world.kinds["analogue R"])
        self.check(busy, Refused, "F5 is not for Bo: analogue R can't make it.", "Bo", "F5")

    def test_goggles_that_cannot(self, busy: Desk) -> None:
        busy.set_kind("analogue 40", goggles="R")
        self.check(busy, Refused, "F5 is not for Bo: the goggles of analogue 40 can't receive it.", "Bo", "F5")

    def test_outside_the_band_profile(self, busy: Desk) -> None:
        narrow_band(busy, "Bo")
        self.check(busy, Refused, "F5 is not for Bo: outside the band profile 'Narrow'.", "Bo", "F5")

    def test_a_frequency_beyond_the_pull(self, busy: Desk) -> None:
        error = self.check(busy, Refused, "5740 MHz is too far from F5 (5820 MHz).", "Bo", "F5", mhz=5740)
        assert error.field == "mhz"

    def test_a_frequency_the_transmitter_lacks(self, busy: Desk) -> None:
        self.check(busy, Refused, "Bo can't set 5821 MHz on analogue 40.", "Bo", "F5", mhz=5821)

    def test_a_power_without_a_step(self, busy: Desk) -> None:
        self.check(busy, Refused, "analogue 40 has no step of 30 mW.", "Bo", "F5", power_mw=30)

    def test_a_power_above_the_ceiling(self, busy: Desk) -> None:
        busy.set_meet(power_ceiling_mw=25)
        self.check(busy, Refused, "200 mW is above the ceiling of this meet, 25 mW.", "Bo", "F5", power_mw=200)

    def test_a_transmitter_that_is_too_strong(self, busy: Desk) -> None:
        busy.set_meet(power_ceiling_mw=25)
        busy.set_kind("analogue 40", power_steps_mw="200 600")
        sentence = "analogue 40 can't go below 200 mW, and the ceiling of this meet is 25 mW."
        self.check(busy, Refused, sentence, "Bo", "F5")

    def test_a_floor_that_would_break(self, busy: Desk) -> None:
        busy.set_meet(spacing_floor_mhz=83)
        sentence = "F1 for Bo: 82 MHz from 5658 on air, the floor is 83."
        error = self.check(busy, Refused, sentence, "Bo", "F1")
        assert error.field == "override_reason"

    def test_a_reason_too_short_to_be_one(self, busy: Desk) -> None:
        busy.set_meet(spacing_floor_mhz=83)
        sentence = "F1 for Bo: 82 MHz from 5658 on air, the floor is 83."
        self.check(busy, Refused, sentence, "Bo", "F1", override_reason=" x ")

    def test_a_neighbour_that_overlaps(self, busy: Desk) -> None:
        with busy.store.write() as session:
            session.add(t.Neighbour(site_id=busy.world.site, label="Wi-Fi 165", centre_mhz=5825, width_mhz=20))
            session.commit()
        self.check(busy, Refused, "F5 for Bo: overlaps the neighbour Wi-Fi 165 by 15 MHz.", "Bo", "F5")

    def test_a_meet_that_is_not_open(self, busy: Desk) -> None:
        busy.set_meet(state="closed", closed_at=busy.clock())
        self.check(busy, Refused, "The meet 'June meet' is not open.", "Bo", "F5")

    def test_an_unknown_pilot(self, busy: Desk) -> None:
        busy.world.pilots["nobody"] = 999
        self.check(busy, NotFound, "This pilot isn't on the list of this meet.", "nobody", "F5")

    def test_an_unknown_token(self, busy: Desk) -> None:
        busy.world.tokens["X9"] = 999
        self.check(busy, NotFound, "This token doesn't belong to this meet.", "Bo", "X9")

    def test_a_stranger(self, busy: Desk) -> None:
        self.check(busy.acting(STRANGER), Forbidden, "You can do this for yourself only.", "Bo", "F5")


def attendance(desk: Desk, who: str) -> int:
    (row,) = desk.rows(t.Attendance, pilot_id=desk.world.pilots[who])
    return int(row.id)


def narrow_band(desk: Desk, who: str) -> None:
    with desk.store.write() as session:
        band = t.BandProfile(name="Narrow", source="invented for the tests", is_own=True)
        session.add(band)
        session.flush()
        session.add(t.BandSegment(profile_id=band.id, low_mhz=5650, high_mhz=5800))
        session.get_one(t.Pilot, desk.world.pilots[who]).band_profile_id = band.id
        session.commit()


class TestOverride:
    def test_goes_out_below_a_floor_with_a_reason_that_is_written_down(self, any_desk: Desk) -> None:
        any_desk.set_meet(spacing_floor_mhz=83)
        any_desk.hand_out("Ana", "R1")
        answer = any_desk.hand_out("Bo", "F1", override_reason="far end of the field")
        assert any_desk.kinds() == ["handed_out", "handed_out", "override"]
        assert any_desk.row(t.Loan, answer.made_id or 0).override_reason == "far end of the field"
        assert any_desk.loan_of("Bo").override_reason == "far end of the field"

    def test_a_reason_without_need_is_not_kept(self, desk: Desk) -> None:
        answer = desk.hand_out("Ana", "R1", override_reason="just in case")
        assert desk.kinds() == ["handed_out"]
        assert desk.row(t.Loan, answer.made_id or 0).override_reason == ""

    def test_pilots_may_not(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83, is_self_service=True)
        desk.hand_out("Ana", "R1")
        with pytest.raises(Forbidden) as refused:
            desk.as_pilot("Bo").hand_out("Bo", "F1", override_reason="I want to")
        assert refused.value.hint == "Only the desk may go on all the same."
        with pytest.raises(Refused):
            desk.as_pilot("Bo").hand_out("Bo", "F1")

    def test_an_override_on_air_does_not_refuse_everybody_else(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83)
        desk.hand_out("Ana", "R1")
        desk.hand_out("Bo", "F1", override_reason="far end of the field")
        desk.hand_out("Cy", "R8")
        assert set(desk.on_air()) == {"Ana", "Bo", "Cy"}


class TestTakeBack:
    def test_ends_the_loan_and_its_setting(self, any_desk: Desk) -> None:
        loan_id = any_desk.hand_out("Ana", "R1").made_id or 0
        any_desk.clock.forward(minutes=7)
        answer = any_desk.take_back("Ana")
        assert (answer.location, answer.notice) == ("/desk", "R1 is back from Ana.")
        assert any_desk.on_air() == {}
        assert any_desk.row(t.Loan, loan_id).in_at == any_desk.clock()
        assert settings_of(any_desk, loan_id)[0].until_at == any_desk.clock()

    def test_twice_is_a_quiet_success_and_the_later_one_hears_who_was_first(self, desk: Desk) -> None:
        loan_id = desk.hand_out("Ana", "R1").made_id or 0
        desk.take_back("Ana")
        desk.clock.forward(minutes=1)
        answer = take_back(desk.store, desk.acting(LU).deed(), desk.world.meet, loan_id)
        assert answer.notice == "R1 has been back since 14:00 already (entered by Mo)."
        assert desk.kinds() == ["handed_out", "taken_back"]

    def test_a_pilot_gives_back_only_their_own(self, desk: Desk) -> None:
        desk.set_meet(is_self_service=True)
        desk.hand_out("Ana", "R1")
        with pytest.raises(Forbidden):
            desk.as_pilot("Bo").take_back("Ana")
        assert desk.as_pilot("Ana").take_back("Ana").location == "/my"

    def test_an_unknown_loan_is_not_found(self, desk: Desk) -> None:
        with pytest.raises(NotFound):
            take_back(desk.store, desk.deed(), desk.world.meet, 999)


class TestHandOver:
    def test_gives_the_same_token_to_the_next_in_one_step(self, any_desk: Desk) -> None:
        any_desk.join("Bo", "Cy")
        first = any_desk.hand_out("Ana", "R1").made_id or 0
        any_desk.clock.forward(minutes=3)
        answer = any_desk.hand_over("Ana", "Bo")
        assert any_desk.on_air() == {"Bo": ("R1", 5658)}
        assert any_desk.in_line() == ["Cy"]
        assert any_desk.row(t.Loan, first).in_at == any_desk.row(t.Loan, answer.made_id or 0).out_at
        assert any_desk.kinds()[-1] == "handed_over"

    def test_counts_what_comes_down_as_gone(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83)
        desk.hand_out("Ana", "F1")
        desk.hand_over("Ana", "Bo")
        assert desk.on_air() == {"Bo": ("F1", 5740)}

    @pytest.mark.parametrize(
        ("to", "sentence"),
        [("Ana", "Ana holds this token already."), ("Cy", "Cy holds F5 since 14:00.")],
        ids=["to themself", "to somebody with a token"],
    )
    def test_refusals(self, desk: Desk, to: str, sentence: str) -> None:
        desk.hand_out("Ana", "R1")
        desk.hand_out("Cy", "F5")
        with pytest.raises(Refused) as refused:
            desk.hand_over("Ana", to)
        assert refused.value.message == sentence
        assert set(desk.on_air()) == {"Ana", "Cy"}

    def test_a_transmitter_that_cannot_keeps_the_first_loan(self, any_desk: Desk) -> None:
        any_desk.set_transmitter("Bo", kind_id=any_desk.world.kinds["analogue R"])
        any_desk.hand_out("Ana", "F5")
        with pytest.raises(Refused, match="F5 is not for Bo: analogue R can't make it"):
            any_desk.hand_over("Ana", "Bo")
        assert any_desk.on_air() == {"Ana": ("F5", 5820)}

    def test_a_pilot_takes_over_only_what_was_offered(self, desk: Desk) -> None:
        desk.set_meet(is_self_service=True)
        loan = desk.hand_out("Ana", "R1").made_id or 0
        bo = desk.as_pilot("Bo")
        with pytest.raises(Forbidden, match="This token wasn't offered to you"):
            bo.hand_over("Ana", "Bo")
        offer = offered(desk, loan, "Bo")
        desk.clock.forward(minutes=1)
        bo.hand_over("Ana", "Bo")
        assert desk.on_air() == {"Bo": ("R1", 5658)}
        row = desk.row(t.PassOffer, offer)
        assert row.was_taken
        assert row.ended_at == desk.clock()

    def test_an_offer_ends_when_the_token_comes_back(self, desk: Desk) -> None:
        offer = offered(desk, desk.hand_out("Ana", "R1").made_id or 0, "Bo")
        desk.clock.forward(minutes=1)
        desk.take_back("Ana")
        row = desk.row(t.PassOffer, offer)
        assert row.ended_at == desk.clock()
        assert not row.was_taken

    def test_from_a_ground_transmitter_to_a_pilot(self, desk: Desk) -> None:
        desk.lend_ground("finish camera", 5658, token_id=desk.world.tokens["R1"])
        desk.hand_over("finish camera", "Ana")
        assert desk.on_air() == {"Ana": ("R1", 5658)}


def offered(desk: Desk, loan_id: int, to: str) -> int:
    with desk.store.write() as session:
        row = t.PassOffer(
            meet_id=desk.world.meet, loan_id=loan_id, to_pilot_id=desk.world.pilots[to], started_at=desk.clock()
        )
        session.add(row)
        session.commit()
        return row.id


class TestGround:
    def test_counts_as_on_air_without_a_token(self, any_desk: Desk) -> None:
        answer = any_desk.lend_ground("finish camera", 5695, power_mw=25)
        assert any_desk.on_air() == {"finish camera": ("", 5695)}
        assert answer.notice == "finish camera is on air. Set R2 (5695 MHz), 25 mW."
        any_desk.set_meet(spacing_floor_mhz=40)
        with pytest.raises(Refused, match="R1 for Ana: 37 MHz from 5695 on air, the floor is 40"):
            any_desk.hand_out("Ana", "R1")
        any_desk.take_back("finish camera")
        assert any_desk.kinds() == ["ground_lent", "ground_off"]

    @pytest.mark.parametrize(
        ("name", "mhz", "more", "field", "sentence"),
        [
            (" ", 5695, {}, "holder_name", "Say what it is: a name such as 'finish camera'."),
            ("camera", 569, {}, "mhz", "569 MHz is not near 5.8 GHz: give a number from 4800 to 6200."),
            ("camera", 5695, {"width_mhz": 0}, "width_mhz", NO_WIDTH),
            ("camera", 5990, {}, "override_reason", "camera: 5990 MHz lies outside the band profile of this site."),
            ("camera", 5700, {"token": "R1"}, "mhz", "5700 MHz is too far from R1 (5658 MHz)."),
        ],
        ids=["no name", "no channel", "no width", "outside the band", "beyond the pull"],
    )
    def test_refusals(
        self, desk: Desk, name: str, mhz: int, more: dict[str, Any], field: str, sentence: str
    ) -> None:
        if label := more.pop("token", None):
            more["token_id"] = desk.world.tokens[label]
        with pytest.raises(Refused) as refused:
            desk.lend_ground(name, mhz, **more)
        assert (refused.value.message, refused.value.field) == (sentence, field)
        assert desk.kinds() == []

    def test_pilots_may_not(self, desk: Desk) -> None:
        desk.set_meet(is_self_service=True)
        with pytest.raises(Forbidden):
            desk.as_pilot("Ana").lend_ground("camera", 5695)


class TestChangeSetting:
    def test_keeps_what_was_set_before(self, any_desk: Desk) -> None:
        with_tunable(any_desk, "Ana")
        loan = any_desk.hand_out("Ana", "R1").made_id or 0
        any_desk.clock.forward(minutes=4)
        any_desk.change("Ana", mhz=5659)
        assert [(row.mhz, row.until_at is None) for row in settings_of(any_desk, loan)] == [(5658, False), (5659, True)]
        assert any_desk.on_air() == {"Ana": ("R1", 5659)}
        assert any_desk.row(t.PilotTransmitter, any_desk.world.transmitters["Ana"]).wake_mhz == 5659

    def test_checks_the_floors_again_without_itself(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=82)
        with_tunable(desk, "Ana")
        desk.hand_out("Ana", "R1")
        desk.hand_out("Bo", "F1")
        with pytest.raises(Refused, match="81 MHz from 5740 on air, the floor is 82"):
            desk.change("Ana", mhz=5659)
        desk.change("Ana", mhz=5657)
        assert desk.on_air()["Ana"] == ("R1", 5657)

    def test_power_alone_needs_no_floors(self, desk: Desk) -> None:
        desk.set_meet(spacing_floor_mhz=83)
        desk.hand_out("Ana", "R1")
        desk.hand_out("Bo", "F1", override_reason="far end of the field")
        desk.change("Bo", power_mw=200)
        assert desk.loan_of("Bo").power_mw == 200

    def test_another_channel_wants_the_picture_seen_again(self, desk: Desk) -> None:
        with_tunable(desk, "Ana")
        desk.hand_out("Ana", "R1")
        desk.tick_seen("Ana")
        desk.change("Ana", power_mw=200)
        assert desk.loan_of("Ana").seen_at is not None
        desk.change("Ana", mhz=5659)
        assert desk.loan_of("Ana").seen_at is None

    def test_another_transmitter_takes_its_own_nearest_and_lowest(self, desk: Desk) -> None:
        other = add_transmitter(desk, "Ana", "analogue tunable")
        desk.set_kind("analogue tunable", power_steps_mw="10 100")
        desk.hand_out("Ana", "R1", power_mw=200)
        desk.change("Ana", transmitter_id=other)
        loan = desk.loan_of("Ana")
        assert (loan.transmitter_id, loan.label, loan.power_mw) == (other, "5658 MHz", 10)

    def test_nothing_new_writes_nothing(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        assert desk.change("Ana").notice == "Nothing changed: Ana has that set already."
        assert desk.kinds() == ["handed_out"]

    def test_a_ground_transmitter_moves_too(self, desk: Desk) -> None:
        desk.lend_ground("camera", 5695)
        desk.change("camera", mhz=5732)
        assert desk.on_air() == {"camera": ("", 5732)}

    def test_of_a_loan_that_is_over_is_refused(self, desk: Desk) -> None:
        loan = desk.hand_out("Ana", "R1").made_id or 0
        desk.take_back("Ana")
        with pytest.raises(Refused, match="This loan is over"):
            change_setting(desk.store, desk.deed(), ChangeSetting(desk.world.meet, loan, power_mw=200))


class TestSeen:
    def test_ticks_and_unticks(self, any_desk: Desk) -> None:
        any_desk.hand_out("Ana", "R1")
        any_desk.clock.forward(minutes=1)
        any_desk.tick_seen("Ana")
        assert any_desk.loan_of("Ana").seen_at == any_desk.clock()
        any_desk.tick_seen("Ana")
        assert any_desk.loan_of("Ana").seen_at is None
        assert any_desk.kinds() == ["handed_out", "seen_on_goggles", "seen_taken_back"]

    def test_a_pilot_ticks_only_their_own(self, desk: Desk) -> None:
        desk.hand_out("Ana", "R1")
        with pytest.raises(Forbidden):
            desk.as_pilot("Bo").tick_seen("Ana")
        desk.as_pilot("Ana").tick_seen("Ana")
        assert desk.loan_of("Ana").seen_at is not None
