"""Heats at the desk: one step from heat to heat, and what is said and written of each thing that can happen."""

from dataclasses import replace

import pytest

from meetapp.flows import journal
from meetapp.flows.desk import alarms
from meetapp.flows.errors import Conflict, Forbidden, Refused
from meetapp.flows.heats import calling
from meetapp.flows.heats.field_heats import FieldHeats
from meetapp.flows.heats.power_moment import power_moment
from meetapp.store import tables as t
from tests.desk import LU, Desk
from tests.heat_desk import HeatDesk


@pytest.fixture
def heats(desk: Desk) -> HeatDesk:
    """The meet with its heats."""
    return with_heats(desk)


def with_heats(at: Desk) -> HeatDesk:
    """Two heats of three, then two more of the next round with other channels."""
    desk = HeatDesk(at)
    desk.plan(
        {"Ana": "R1", "Bo": "F1", "Cy": "R8"},
        {"Di": "R1", "Ed": "F5", "Fay": "R8"},
        {"Ana": "F5", "Ed": "R1", "Cy": "R8"},
        {"Di": "R1", "Bo": "F1", "Fay": "R8"},
        rounds=(1, 1, 2, 2),
    )
    return desk


def sentences(heats: HeatDesk) -> list[str]:
    return [entry.sentence for entry in journal.lines(heats.desk.store, heats.desk.world.meet)]


class TestCalling:
    def test_the_tokens_of_the_first_heat_go_out(self, heats: HeatDesk) -> None:
        answer = heats.call()
        assert answer.notice == "Round 1, heat 1 is called: 3 tokens out."
        assert heats.desk.on_air() == {"Ana": ("R1", 5658), "Bo": ("F1", 5740), "Cy": ("R8", 5917)}
        assert heats.states()[:2] == [(1, "called"), (2, "planned")]
        assert sentences(heats) == [
            "Round 1, heat 1 called, tokens out: 3",
            "R1 handed out to Ana for the heat: R1, 5658 MHz, 25 mW",
            "F1 handed out to Bo for the heat: F1, 5740 MHz, 25 mW",
            "R8 handed out to Cy for the heat: R8, 5917 MHz, 25 mW",
        ]

    def test_one_step_lands_the_last_heat_and_calls_the_next(self, heats: HeatDesk) -> None:
        heats.call()
        answer = heats.call()
        assert answer.notice == "Round 1, heat 1 is flown. Round 1, heat 2 is called: 3 tokens out."
        assert heats.desk.on_air() == {"Di": ("R1", 5658), "Ed": ("F5", 5820), "Fay": ("R8", 5917)}
        assert heats.states()[:2] == [(1, "flown"), (2, "called")]
        assert sentences(heats)[4:] == [
            "Round 1, heat 2 called, tokens out: 3",
            "Round 1, heat 1 flown",
            "R1 back from Ana after the heat",
            "F1 back from Bo after the heat",
            "R8 back from Cy after the heat",
            "R1 handed out to Di for the heat: R1, 5658 MHz, 25 mW",
            "F5 handed out to Ed for the heat: F5, 5820 MHz, 25 mW",
            "R8 handed out to Fay for the heat: R8, 5917 MHz, 25 mW",
        ]

    def test_the_loans_are_ordinary_ones(self, heats: HeatDesk) -> None:
        heats.call()
        transmitter = heats.desk.row(t.PilotTransmitter, heats.desk.world.transmitters["Ana"])
        assert transmitter.wake_mhz == 5658
        heats.desk.tick_seen("Ana")
        heats.desk.change("Bo", power_mw=25)
        heats.desk.take_back("Cy")
        assert heats.desk.on_air() == {"Ana": ("R1", 5658), "Bo": ("F1", 5740)}

    def test_whoever_is_called_leaves_the_waiting_line(self, heats: HeatDesk) -> None:
        heats.desk.join("Ed", "Ana")
        heats.call()
        assert heats.desk.in_line() == ["Ed"]

    def test_a_late_lander_stays_on_air_and_whoever_does_not_fit_waits(self, heats: HeatDesk) -> None:
        heats.call()
        answer = heats.call(up=["Ana"])
        assert heats.desk.on_air() == {"Ana": ("R1", 5658), "Ed": ("F5", 5820), "Fay": ("R8", 5917)}
        assert answer.notice.endswith("2 tokens out. Di waits: R1 is out with Ana since 14:01.")
        assert heats.heat(1).still_up == heats.ids(["Ana"])
        assert "Di waits in the heat, without a token: R1, 5658 MHz" in sentences(heats)

    def test_whoever_is_too_near_to_a_late_lander_is_named_and_waits(self, heats: HeatDesk) -> None:
        heats.desk.set_meet(spacing_floor_mhz=81)
        heats.call()
        answer = heats.call(up=["Bo"])
        assert answer.notice.endswith("2 tokens out. Ed waits because of Bo: 80 MHz from 5740 on air, the floor is 81.")
        assert set(heats.desk.on_air()) == {"Bo", "Di", "Fay"}

    def test_a_reason_sends_them_out_all_the_same(self, heats: HeatDesk) -> None:
        heats.desk.set_meet(spacing_floor_mhz=81)
        heats.call()
        answer = heats.call(up=["Bo"], override_reason="Bo is coming down")
        assert answer.notice.endswith("3 tokens out.")
        assert set(heats.desk.on_air()) == {"Bo", "Di", "Ed", "Fay"}
        assert heats.desk.loan_of("Ed").override_reason == "Bo is coming down"
        assert heats.desk.loan_of("Fay").override_reason == ""
        assert sentences(heats)[-1] == (
            "By override for Ed: Bo is coming down (below a floor: 80 MHz from 5740 on air, the floor is 81)"
        )

    def test_a_reason_of_one_letter_is_none(self, heats: HeatDesk) -> None:
        with pytest.raises(Refused, match="in a few words"):
            heats.call(override_reason="x")
        assert heats.states()[0] == (1, "planned")

    def test_a_token_that_is_not_in_is_named(self, heats: HeatDesk) -> None:
        heats.desk.missing("R1")
        heats.desk.hand_out("Ed", "F1")
        answer = heats.call()
        assert answer.notice == ("Round 1, heat 1 is called: 1 token out. Ana and Bo wait.")
        assert [seat.pilot_id for seat in heats.field().without_token] == [
            heats.desk.world.pilots["Ana"], heats.desk.world.pilots["Bo"]
        ]  # fmt: skip

    def test_a_pilot_who_holds_the_token_already_keeps_it_for_the_heat(self, heats: HeatDesk) -> None:
        heats.desk.hand_out("Ana", "R1", power_mw=200)
        answer = heats.call()
        assert answer.notice.endswith("3 tokens out.")
        assert heats.desk.loan_of("Ana").power_mw == 200
        heats.call()
        assert "Ana" not in heats.desk.on_air()

    def test_a_pilot_with_another_token_waits(self, heats: HeatDesk) -> None:
        heats.desk.hand_out("Ana", "F5")
        assert heats.call().notice.endswith("Ana waits: Ana holds F5 since 14:00.")

    def test_whoever_is_not_here_waits(self, heats: HeatDesk) -> None:
        (row,) = heats.desk.rows(t.Attendance, pilot_id=heats.desk.world.pilots["Ana"])
        heats.desk.set_row(t.Attendance, row.id, checked_in_at=None)
        assert heats.call().notice.endswith("Ana waits: Ana isn't checked in.")

    def test_a_pilot_still_up_waits_in_the_next_heat(self, heats: HeatDesk) -> None:
        heats.call()
        heats.down(1, up=["Ana"])
        answer = heats.call(1, up=["Ana"], round_=2)
        assert answer.notice.endswith("1 token out. Ana and Ed wait.")

    def test_loans_beside_the_heats_count_as_on_air(self, heats: HeatDesk) -> None:
        heats.desk.lend_ground("finish camera", 5680)
        answer = heats.call()
        assert "Ana waits because of finish camera: 22 MHz from 5680 on air, the floor is 37." in answer.notice

    def test_a_heat_out_of_turn_moves_up(self, heats: HeatDesk) -> None:
        heats.call(2)
        assert heats.states() == [(2, "called"), (1, "planned"), (1, "planned"), (2, "planned")]

    def test_the_same_request_twice_is_done_once(self, heats: HeatDesk) -> None:
        order, deed = heats.order(), heats.desk.deed("call-twice")
        first = calling.call_heat(heats.desk.store, deed, order)
        assert calling.call_heat(heats.desk.store, deed, order) == first
        assert heats.desk.kinds().count("heat_called") == 1

    def test_the_second_of_two_marshals_gets_a_sentence(self, heats: HeatDesk) -> None:
        order = heats.order()
        heats.call()
        lu = heats.desk.acting(LU)
        with pytest.raises(Conflict, match=r"Round 1, heat 1 is called since 14:01 already\."):
            calling.call_heat(lu.store, lu.deed(), order)

    def test_a_flown_heat_is_not_called_again(self, heats: HeatDesk) -> None:
        heats.call()
        with pytest.raises(Conflict, match="Round 1, heat 1 is flown already"):
            heats.call(1)
        assert heats.states()[0] == (1, "called")

    def test_only_the_desk_calls(self, heats: HeatDesk) -> None:
        pilot = HeatDesk(heats.desk.as_pilot("Ana"))
        with pytest.raises(Forbidden):
            pilot.call()


class TestAlarms:
    @pytest.mark.parametrize(
        ("kind", "words"), [("stray", "Stray transmitter is on"), ("down", "Everybody down is on")]
    )
    def test_no_heat_is_called_while_one_is_on(self, heats: HeatDesk, kind: str, words: str) -> None:
        alarms.raise_alarm(heats.desk.store, heats.desk.deed(), kind)
        with pytest.raises(Refused, match=f"{words}: no heat is called now"):
            heats.call()
        assert heats.states()[0] == (1, "planned")
        assert heats.desk.on_air() == {}

    def test_nor_while_one_of_two_is_on(self, heats: HeatDesk) -> None:
        heats.call()
        for kind in ("stray", "down"):
            alarms.raise_alarm(heats.desk.store, heats.desk.deed(), kind)
        with pytest.raises(Refused, match="Everybody down and Stray transmitter are on"):
            heats.call()
        down, stray = sorted(heats.desk.rows(t.Alarm), key=lambda alarm: alarm.kind)
        alarms.end_alarm(heats.desk.store, heats.desk.deed(), stray.id)
        with pytest.raises(Refused, match="Everybody down is on"):
            heats.call()
        assert heats.states()[0] == (1, "called")
        alarms.end_alarm(heats.desk.store, heats.desk.deed(), down.id)
        assert heats.call().notice.startswith("Round 1, heat 1 is flown.")

    def test_a_heat_comes_down_while_one_is_on(self, heats: HeatDesk) -> None:
        heats.call()
        alarms.raise_alarm(heats.desk.store, heats.desk.deed(), "down")
        assert heats.down(1).notice == "Round 1, heat 1 is flown: 3 tokens back."


class TestSwitchingOn:
    @pytest.fixture(autouse=True)
    def wakes(self, heats: HeatDesk) -> None:
        for name, mhz in {"Ana": 5658, "Bo": 5660, "Cy": 5917}.items():
            heats.desk.set_transmitter(name, wake_mhz=mhz)

    def test_whoever_held_the_token_already_counts_as_on_air(self, heats: HeatDesk) -> None:
        heats.desk.hand_out("Ana", "R1")
        heats.call()
        moment = power_moment(heats.field())
        assert [(step.loan.who, step.is_up) for step in moment.steps] == [("Ana", False), ("Bo", False), ("Cy", False)]
        assert [step.wakes for step in moment.steps] == [
            "already on air",
            "wakes on 5660 MHz, on or near Ana: wait, or set it at the far point first",
            "wakes on R8, already set",
        ]
        assert moment.clash.startswith("No order avoids this: Bo wakes on 5660 MHz, on or near Ana. Bo sets")

    def test_whoever_landed_with_the_same_token_is_not_on_air(self, heats: HeatDesk) -> None:
        heats.call()
        heats.call(2)
        heats.call(2, round_=2)
        di = next(step for step in power_moment(heats.field()).steps if step.loan.who == "Di")
        assert di.wakes == "wakes on R1, already set"

    def test_the_row_says_what_the_sentence_says_where_signals_touch_above_the_floor(self, heats: HeatDesk) -> None:
        heats.desk.set_meet(spacing_floor_mhz=10)
        heats.desk.set_transmitter("Ana", wake_mhz=5740)
        heats.desk.set_transmitter("Bo", wake_mhz=5675)
        heats.call()
        heats.desk.tick_seen("Ana")
        moment = power_moment(heats.field())
        bo = next(step for step in moment.steps if step.loan.who == "Bo")
        assert "Bo wakes on 5675 MHz, on or near Ana." in moment.clash
        assert bo.wakes == "wakes on 5675 MHz, on or near Ana: wait, or set it at the far point first"


class TestLanding:
    def test_all_down(self, heats: HeatDesk) -> None:
        heats.call()
        answer = heats.down(1)
        assert answer.notice == "Round 1, heat 1 is flown: 3 tokens back."
        assert heats.desk.on_air() == {}
        assert heats.heat(1).pilots == heats.ids(["Ana", "Bo", "Cy"])

    def test_a_heat_flies_with_a_gap(self, heats: HeatDesk) -> None:
        heats.desk.missing("R1")
        heats.call()
        heats.down(1)
        assert [gap.why for gap in heats.heat(1).gaps] == ["no_token"]
        assert sentences(heats)[-4:-2] == [
            "Round 1, heat 1 flown, with gaps: 1",
            "Round 1, heat 1: flown without Ana, who got no token",
        ]

    def test_a_token_taken_back_early_was_flown(self, heats: HeatDesk) -> None:
        heats.call()
        heats.desk.take_back("Ana")
        heats.down(1)
        assert heats.heat(1).gaps == ()

    def test_nobody_with_a_token_is_no_flight(self, heats: HeatDesk) -> None:
        for label in ("R1", "F1", "R8"):
            heats.desk.missing(label)
        heats.call()
        with pytest.raises(Refused, match="Nobody in Round 1, heat 1 got a token"):
            heats.down(1)

    def test_whoever_lands_late_brings_the_token_back(self, heats: HeatDesk) -> None:
        heats.call()
        heats.down(1, up=["Ana", "Bo"])
        assert set(heats.desk.on_air()) == {"Ana", "Bo"}
        assert heats.landed("Ana").notice == "Ana has landed: R1 is back."
        assert heats.landed("Ana").notice == "Ana has landed already."
        assert heats.heat(1).still_up == heats.ids(["Bo"])

    def test_a_late_lander_lands_with_the_next_call(self, heats: HeatDesk) -> None:
        heats.call()
        heats.call(up=["Bo"])
        heats.call(up=[])
        assert heats.heat(1).still_up == frozenset()
        assert "Bo" not in {name for name, (label, _mhz) in heats.desk.on_air().items() if label == "F1"}

    def test_a_token_taken_back_at_the_desk_is_a_landing(self, heats: HeatDesk) -> None:
        heats.call()
        heats.down(1, up=["Bo"])
        back = heats.desk.take_back("Bo")
        assert heats.heat(1).still_up == frozenset()
        heats.desk.undo(back)
        assert heats.heat(1).still_up == heats.ids(["Bo"])


class TestGaps:
    @pytest.mark.parametrize(
        ("why", "notice", "sentence"),
        [
            ("no_show", "Ana did not come: Round 1, heat 1 flies without them.", "Ana did not come"),
            ("broken", "Ana's quad is broken: Round 1, heat 1 flies without them.", "Ana has a broken quad"),
        ],
    )
    def test_before_the_call(self, heats: HeatDesk, why: str, notice: str, sentence: str) -> None:
        assert heats.miss(1, "Ana", why).notice == notice  # type: ignore[arg-type]
        assert sentences(heats) == [f"Round 1, heat 1: {sentence}"]
        heats.call()
        assert set(heats.desk.on_air()) == {"Bo", "Cy"}

    def test_after_the_call_the_token_comes_back(self, heats: HeatDesk) -> None:
        heats.call()
        assert heats.miss(1, "Ana", "broken").notice.endswith("R1 is back.")
        assert set(heats.desk.on_air()) == {"Bo", "Cy"}

    def test_whoever_leaves_has_a_gap_everywhere(self, heats: HeatDesk) -> None:
        heats.call()
        answer = heats.leave("Ana")
        assert answer.notice == "Ana flies in no more heats: 2 seats empty now. R1 is back."
        with pytest.raises(Refused, match="no seat there any more"):
            heats.leave("Ana")

    def test_a_seat_that_waited_gets_its_token(self, heats: HeatDesk) -> None:
        heats.desk.missing("R1")
        heats.call()
        with pytest.raises(Refused, match="R1 is missing"):
            heats.hand_out(1, "Ana")
        heats.desk.found("R1")
        answer = heats.hand_out(1, "Ana")
        assert answer.notice.startswith("Ana has R1. Set R1 (5658 MHz), 25 mW.")
        with pytest.raises(Conflict, match="waits for no token"):
            heats.hand_out(1, "Ana")

    def test_below_a_floor_it_takes_a_reason(self, heats: HeatDesk) -> None:
        heats.desk.lend_ground("finish camera", 5680)
        heats.call()
        with pytest.raises(Refused, match="Ana waits because of finish camera: 22 MHz") as refusal:
            heats.hand_out(1, "Ana")
        assert refusal.value.field == "override_reason"
        heats.hand_out(1, "Ana", "camera goes off")
        assert heats.desk.loan_of("Ana").override_reason == "camera goes off"

    def test_nothing_changes_in_a_flown_heat(self, heats: HeatDesk) -> None:
        heats.call()
        heats.down(1)
        with pytest.raises(Conflict, match="is flown already"):
            heats.miss(1, "Ana")
        with pytest.raises(Conflict, match="is flown already"):
            heats.hand_out(1, "Ana")


class TestCallTakenBack:
    def test_the_tokens_are_back_and_the_heat_is_next_again(self, heats: HeatDesk) -> None:
        heats.call(2)
        assert heats.call_off(2).notice == "Round 1, heat 2 is no longer called: 3 tokens back."
        assert heats.desk.on_air() == {}
        assert heats.field().to_come[0].number == 2

    def test_who_did_not_switch_on_wakes_as_before(self, heats: HeatDesk) -> None:
        for name, mhz in {"Ana": 5880, "Bo": 5695, "Cy": None}.items():
            heats.desk.set_transmitter(name, wake_mhz=mhz)
        heats.call()
        heats.desk.tick_seen("Bo")
        off = heats.call_off(1)
        assert self.wakes(heats) == {"Ana": 5880, "Bo": 5740, "Cy": None}
        heats.desk.undo(off)
        assert self.wakes(heats) == {"Ana": 5658, "Bo": 5740, "Cy": 5917}

    def test_who_stood_in_the_line_has_the_same_place_again(self, heats: HeatDesk) -> None:
        heats.desk.join("Bo", "Fay", "Ana")
        heats.call()
        assert heats.desk.in_line() == ["Fay"]
        off = heats.call_off(1)
        assert off.notice == (
            "Round 1, heat 1 is no longer called: 3 tokens back. Back in the line, at the old place: Bo and Ana."
        )
        assert heats.desk.in_line() == ["Bo", "Fay", "Ana"]
        assert "Bo is back in the line, at the old place" in sentences(heats)
        heats.desk.undo(off)
        assert heats.desk.in_line() == ["Fay"]
        heats.call_off(1)
        assert heats.desk.in_line() == ["Bo", "Fay", "Ana"]

    def wakes(self, heats: HeatDesk) -> dict[str, int | None]:
        own = heats.desk.world.transmitters
        return {name: heats.desk.row(t.PilotTransmitter, own[name]).wake_mhz for name in ("Ana", "Bo", "Cy")}


class TestVoid:
    def test_it_is_flown_again_and_where_is_said(self, heats: HeatDesk) -> None:
        heats.call()
        heats.down(1)
        answer = heats.void(1)
        assert answer.notice == (
            "Round 1, heat 1 doesn't count. It is flown again as Round 1, heat 3: after the next one."
        )
        assert heats.heat(3).seats == heats.heat(1).seats
        assert sentences(heats)[-1] == "Round 1, heat 1 doesn't count: flown again as heat 3 of the round"

    def test_in_the_air_it_comes_down_first(self, heats: HeatDesk) -> None:
        heats.call()
        heats.void(1, up=["Ana"])
        assert set(heats.desk.on_air()) == {"Ana"}
        assert heats.heat(1).still_up == heats.ids(["Ana"])
        heats.call()
        heats.landed("Ana")
        heats.call(3)
        assert set(heats.desk.on_air()) == {"Ana", "Bo", "Cy"}

    def test_a_planned_heat_is_not_voided(self, heats: HeatDesk) -> None:
        with pytest.raises(Conflict, match="is not called yet"):
            heats.void(1)


class TestUndo:
    @pytest.fixture
    def heats(self, any_desk: Desk) -> HeatDesk:
        """The meet with its heats, once on each database."""
        return with_heats(any_desk)

    @pytest.mark.parametrize("step", ["call", "next", "down", "late", "miss", "leave", "off", "void", "seat"])
    def test_undone_it_leaves_the_meet_as_it_was(self, heats: HeatDesk, step: str) -> None:
        heats.desk.join("Ana", "Ed")
        heats.desk.missing("F5")
        if step != "call":
            heats.call()
        if step == "late":
            heats.down(1, up=["Ana"])
        if step == "seat":
            heats.call()
            heats.desk.found("F5")
        heats.desk.clock.forward(minutes=1)
        before = self.told(heats)
        answer = {
            "call": heats.call,
            "next": lambda: heats.call(up=["Bo"]),
            "down": lambda: heats.down(1, up=["Bo"]),
            "late": lambda: heats.landed("Ana"),
            "miss": lambda: heats.miss(1, "Ana"),
            "leave": lambda: heats.leave("Ana"),
            "off": lambda: heats.call_off(1),
            "void": lambda: heats.void(1, up=["Cy"]),
            "seat": lambda: heats.hand_out(2, "Ed"),
        }[step]()
        heats.desk.undo(answer)
        assert self.told(heats) == before

    def told(self, heats: HeatDesk) -> FieldHeats:
        field = heats.field()
        return replace(field, snapshot=replace(field.snapshot, version=0, now=heats.desk.rows(t.Meet)[0].opened_at))

    def test_its_lines_are_undone_with_it(self, heats: HeatDesk) -> None:
        heats.desk.undo(heats.call())
        entries = journal.lines(heats.desk.store, heats.desk.world.meet)
        assert [entry.is_undone for entry in entries if entry.kind != "undone"] == [True] * 4

    def test_a_gap_is_no_longer_undone_once_its_heat_is_flown(self, heats: HeatDesk) -> None:
        lu = HeatDesk(heats.desk.acting(LU))
        gap = lu.miss(1, "Ana")
        heats.call()
        heats.down(1)
        with pytest.raises(Refused, match="Something rests on this already"):
            lu.desk.undo(gap)

    def test_a_call_is_no_longer_undone_once_the_next_is_called(self, heats: HeatDesk) -> None:
        first = heats.call()
        lu = HeatDesk(heats.desk.acting(LU))
        lu.call()
        with pytest.raises(Refused, match="Something rests on this already"):
            heats.desk.undo(first)

    def test_what_to_fetch_is_said(self, heats: HeatDesk) -> None:
        heats.call()
        assert heats.desk.undo(heats.call()).notice == (
            "Undone. Fetch the tags of round 1, heat 2 back before anybody powers up. "
            "Round 1, heat 1 is in the air again: give its tags back."
        )
