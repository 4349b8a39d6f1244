"""The heats at the desk by their words: call, power up, down, next with somebody still up, and everything between."""

from collections.abc import Callable
from typing import Any
from urllib.parse import parse_qsl

import pytest

from meetapp.flows.desk import alarms
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import Desk
from tests.heat_desk import HeatDesk
from tests.surfer import Surfer
from tests.web.ladder import post, press_twice
from tests.web.own_phones import phone_of
from tests.world import PIN, Clock, World


@pytest.fixture
def heats(store: Store, world: World, clock: Clock) -> HeatDesk:
    """Two heats of three and one of two, in two rounds."""
    desk = HeatDesk(Desk(store, world, clock))
    desk.plan(
        {"Ana": "R1", "Bo": "F1", "Cy": "R8"}, {"Di": "R1", "Ed": "F5", "Fay": "R8"}, {"Ana": "F5", "Ed": "R1"},
        rounds=(1, 1, 2),
    )  # fmt: skip
    return desk


@pytest.fixture
def mo(heats: HeatDesk, marshal: Surfer) -> Surfer:
    marshal.open("/desk/heats")
    return marshal


def items(person: Surfer, label: str) -> list[str]:
    """The rows of a list by its name, their words folded."""
    found = person.page.find(["ul", "ol"], {"aria-label": label})
    return [" ".join(row.get_text(" ").split()) for row in found.find_all("li")] if found else []


def refresh(person: Surfer, **changed: Any) -> None:
    """Let the page ask for itself anew, as it stands with what has been ticked and typed since."""
    root = person.page.find(id="heats")
    assert root is not None
    asked = {name: [str(v)] for name, v in parse_qsl(str(root["hx-get"]).partition("?")[2])}
    sent = str(root["hx-params"]).split(",")
    for name, value in person.fields(root.find("form", id="landing")):  # type: ignore[arg-type]
        if name in sent:
            asked.setdefault(name, []).append(value)
    answer = person.client.get("/desk/heats/live", params=asked | changed)
    if answer.status_code == 200:
        person._keep(answer)


def ticked(person: Surfer) -> set[str]:
    """The names at the boxes that are ticked as still up."""
    boxes = person.page.find_all("input", {"name": "up", "checked": True})
    labels = [person.page.find("label", {"for": box["id"]}) for box in boxes]
    return {label.get_text(" ").split()[0] for label in labels if label is not None}


def test_a_meet_without_heats_says_so(marshal: Surfer) -> None:
    marshal.open("/desk/heats")
    assert "This meet has no heats." in marshal.text


def test_the_desk_leads_to_the_heats_where_there_are_any(heats: HeatDesk, marshal: Surfer) -> None:
    marshal.open("/desk")
    assert "Next: Round 1, heat 1" in marshal.text
    marshal.follow("Heats")
    assert marshal.path == "/desk/heats"


def test_the_first_heat_is_called_with_one_tap(heats: HeatDesk, mo: Surfer) -> None:
    assert [row.split(" sets ")[0].split(" ")[-3:] for row in items(mo, "Tokens of Round 1, heat 1")]
    mo.press("Call round 1, heat 1")
    assert mo.path == "/desk/heats"
    assert "Round 1, heat 1 is called: 3 tokens out." in mo.text
    assert "Round 1, heat 1: switch on in this order" in mo.text
    assert heats.desk.on_air().keys() == {"Ana", "Bo", "Cy"}


def test_the_order_of_switching_on_keeps_them_apart(heats: HeatDesk, mo: Surfer) -> None:
    """Ana wakes on what Bo will set, and Bo on what Cy will: so Ana comes first, then Bo."""
    heats.desk.set_transmitter("Ana", wake_mhz=5740)
    heats.desk.set_transmitter("Bo", wake_mhz=5917)
    heats.desk.set_transmitter("Cy", wake_mhz=5820)
    mo.press("Call round 1, heat 1")
    rows = items(mo, "In order of switching on")
    assert [row.split()[1] for row in rows] == ["Ana", "Bo", "Cy"]
    assert "wakes on F1: free now" in rows[0]
    assert "No order avoids this" not in mo.text


def test_a_clash_that_no_order_avoids_is_said(heats: HeatDesk, mo: Surfer) -> None:
    heats.desk.set_transmitter("Ana", wake_mhz=5740)
    heats.desk.set_transmitter("Bo", wake_mhz=5658)
    heats.desk.set_transmitter("Cy", wake_mhz=5917)
    mo.press("Call round 1, heat 1")
    assert (
        "No order avoids this: Bo wakes on R1, on or near Ana. "
        "Bo sets the channel at the far point first, then comes back." in mo.text
    )


def test_a_tick_says_that_a_picture_was_seen(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    mo.press("Seen : picture of Bo")
    assert mo.path == "/desk/heats"
    assert "picture seen" in items(mo, "In order of switching on")[0]
    assert items(mo, "In order of switching on")[0].split()[1] == "Bo"


def test_next_heat_with_one_still_up(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    mo.press("Tokens back, call round 1, heat 2", up=[heats.desk.world.pilots["Ana"]])
    assert "Round 1, heat 1 is flown. Round 1, heat 2 is called: 2 tokens out. Di waits: R1 is out with Ana" in mo.text
    assert set(heats.desk.on_air()) == {"Ana", "Ed", "Fay"}
    assert "waits: R1 is out with Ana" in items(mo, "No token yet")[0]
    mo.press("Landed now : Ana")
    assert "Ana has landed: R1 is back." in mo.text
    mo.press("Hand out : Di")
    assert "Di has R1. Set R1 (5658 MHz)" in mo.text
    assert set(heats.desk.on_air()) == {"Di", "Ed", "Fay"}


def test_whoever_would_wait_is_told_before_when_the_tick_is_set(heats: HeatDesk, mo: Surfer) -> None:
    heats.desk.set_meet(spacing_floor_mhz=81)
    mo.press("Call round 1, heat 1")
    bo = heats.desk.world.pilots["Bo"]
    refresh(mo, up=[bo], override_reason="coming down")
    rows = items(mo, "Tokens of Round 1, heat 2")
    assert "waits because of Bo: 80 MHz from 5740 on air, the floor is 81" in rows[1]
    assert mo.page.find("input", {"name": "override_reason"})["value"] == "coming down"  # type: ignore[index]
    assert mo.page.find("input", {"name": "up", "value": str(bo)}).has_attr("checked")  # type: ignore[union-attr]
    mo.press("Tokens back, call round 1, heat 2")
    assert set(heats.desk.on_air()) == {"Bo", "Di", "Ed", "Fay"}
    assert heats.desk.loan_of("Ed").override_reason == "coming down"


def test_nothing_is_sent_where_nothing_has_changed(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    root = mo.page.find(id="heats")
    assert root is not None
    address = str(root["hx-get"])
    mo.client.headers["HX-Request"] = "true"
    assert mo.client.get(f"{address}&ticks=yes").status_code == 204
    answer = mo.client.get(f"{address}&ticks=yes&up={heats.desk.world.pilots['Ana']}")
    assert answer.status_code == 200
    assert "<html" not in answer.text


def test_an_alarm_stands_where_the_next_heat_is_called(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    assert "Everybody was called down" not in mo.text
    post(mo, "/alarms/down")
    mo.open("/desk/heats")
    assert "Everybody down is on: no heat is called now. Once it is over for everybody, end the alarm first." in mo.text
    assert mo.page.find("button", {"value": "next"}) is None
    assert mo.page.find("button", {"value": "rest"}) is not None
    post(mo, "/alarms/1/over")
    mo.open("/desk/heats")
    assert "no heat is called now" not in mo.text
    assert mo.page.find("button", {"value": "next"}) is not None
    assert "Everybody was called down while this heat was in the air." in mo.text
    mo.follow("Round 1, heat 1 doesn't count?")
    mo.press("It doesn't count: fly it again")
    assert "It is flown again as Round 1, heat 3" in mo.text
    assert "Everybody was called down" not in mo.text


def test_a_call_from_a_page_older_than_the_alarm_is_refused(heats: HeatDesk, mo: Surfer) -> None:
    heats.desk.clock.forward(minutes=1)
    alarms.raise_alarm(heats.desk.store, heats.desk.deed(), "stray")
    mo.press("Call round 1, heat 1")
    assert mo.status == 409
    assert "Stray transmitter is on: no heat is called now." in mo.text
    assert heats.desk.on_air() == {}


def test_all_down_without_a_next_one(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    mo.press("All down, no heat now")
    assert "Round 1, heat 1 is flown: 3 tokens back." in mo.text
    assert heats.desk.on_air() == {}


def test_the_last_heat_and_the_end(heats: HeatDesk, mo: Surfer) -> None:
    for words in ("Call round 1, heat 1", "Tokens back, call round 1, heat 2", "Tokens back, call round 2, heat 1"):
        mo.press(words)
    mo.press("All down: round 2, heat 1 is flown")
    assert "Every heat is flown." in mo.text


def test_no_show_broken_and_no_more(heats: HeatDesk, mo: Surfer) -> None:
    mo.follow("Who flies in round 1, heat 1")
    mo.press("Did not come : Ana")
    assert "Ana did not come: Round 1, heat 1 flies without them." in mo.text
    mo.press("Call round 1, heat 1")
    mo.follow("No-show, broken quad, call back")
    mo.press("Quad broken : Bo")
    assert "F1 is back." in mo.text
    assert "Pad 1 stays empty: Ana did not come" in mo.text
    mo.follow("No-show, broken quad, call back")
    mo.press("No more heats : Cy")
    assert "Cy flies in no more heats: 1 seat empty now. R8 is back." in mo.text


def test_flown_without_somebody(heats: HeatDesk, mo: Surfer) -> None:
    heats.desk.missing("R1")
    mo.press("Call round 1, heat 1")
    mo.press("Fly without : Ana")
    assert "Round 1, heat 1 flies without Ana." in mo.text


def test_a_call_is_taken_back(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    mo.follow("No-show, broken quad, call back")
    mo.press("Take the call back")
    assert "Round 1, heat 1 is no longer called: 3 tokens back." in mo.text
    assert "Call round 1, heat 1" in mo.text


def test_a_heat_that_does_not_count(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    mo.press("All down, no heat now")
    mo.follow("Round 1, heat 1 doesn't count?")
    mo.press("It doesn't count: fly it again")
    assert "It is flown again as Round 1, heat 3: after the next one." in mo.text
    mo.follow("All heats")
    assert any("flies again what was round 1, heat 1" in row for row in items(mo, "All heats"))


def test_a_heat_out_of_turn(heats: HeatDesk, mo: Surfer) -> None:
    mo.follow("All heats")
    mo.follow("Round 2, heat 1")
    mo.follow("Look at it as the next heat")
    assert "Round 2, heat 1, out of turn: tokens out" in mo.text
    mo.press("Call round 2, heat 1")
    assert set(heats.desk.on_air()) == {"Ana", "Ed"}


def test_the_board_shows_the_heat_on_air_and_the_next_one(heats: HeatDesk, surfer: Callable[[], Surfer]) -> None:
    heats.call()
    bystander = surfer()
    bystander.open("/board")
    assert "On air: round 1, heat 1" in bystander.text
    assert "Next: round 1, heat 2 R1 Di F5 Ed R8 Fay" in bystander.text


def test_a_pilot_reads_when_they_fly_and_what_they_set(
    heats: HeatDesk, world: World, surfer: Callable[[], Surfer]
) -> None:
    di = phone_of("Di", surfer, world)
    assert "After the next one Round 1, heat 2, pad 1, R1" in di.text
    assert "You will set R1 , 5658 MHz. The desk hands the token out when the heat is called." in di.text
    heats.call()
    heats.call(up=["Ana"])
    di.open("/my")
    assert "Your heat is called, and your token is not out yet: R1 is out with Ana since 14:01. Wait at the desk." in (
        di.text
    )
    heats.landed("Ana")
    heats.hand_out(2, "Di")
    di.open("/my")
    assert "Round 1, heat 2, pad 1, R1 . You switch on as number 3 of 3" in di.text
    assert "You hold R1. Set" in di.text


def test_the_closing_says_which_heats_are_open(heats: HeatDesk, organiser: Surfer) -> None:
    heats.call()
    organiser.open(f"/organiser/meets/{heats.desk.world.meet}/close")
    assert "Round 1, heat 1 is still called: it ends as flown by those who got a token." in organiser.text
    assert "2 heats are not flown." in organiser.text


def test_undo_comes_back_to_the_heats(heats: HeatDesk, mo: Surfer) -> None:
    mo.press("Call round 1, heat 1")
    undo = mo.page.select_one("#notices form")
    assert undo is not None
    assert {field["name"]: field["value"] for field in undo.find_all("input")}["back"] == "/desk/heats"
    mo.press("Undo")
    assert mo.path == "/desk/heats"
    assert "Fetch the tags of round 1, heat 1 back" in mo.text
    assert heats.desk.on_air() == {}


def test_the_same_tap_twice_is_one_call(heats: HeatDesk, mo: Surfer) -> None:
    first, second = press_twice(mo, "Call round 1, heat 1")
    assert first == second
    assert heats.desk.kinds().count("heat_called") == 1


def test_the_second_marshal_is_told(heats: HeatDesk, mo: Surfer, surfer: Callable[[], Surfer]) -> None:
    lu = surfer()
    lu.join_desk(PIN, "Lu")
    lu.open("/desk/heats")
    mo.press("Call round 1, heat 1")
    lu.press("Call round 1, heat 1")
    assert lu.status == 409
    assert "Round 1, heat 1 is called since 14:00 already. Somebody was a moment earlier" in lu.text
    assert "Round 1, heat 1: switch on in this order" in lu.text


@pytest.fixture
def lu(heats: HeatDesk, surfer: Callable[[], Surfer]) -> Surfer:
    """A second marshal at the same desk."""
    person = surfer()
    person.join_desk(PIN, "Lu")
    return person


class TestTwoMarshals:
    def test_a_late_lander_whom_the_other_ticked_is_ticked_after_a_refresh(
        self, heats: HeatDesk, mo: Surfer, lu: Surfer
    ) -> None:
        heats.call()
        mo.open("/desk/heats")
        lu.open("/desk/heats")
        mo.press("Tokens back, call round 1, heat 2", up=[heats.desk.world.pilots["Bo"]])
        refresh(lu)
        assert ticked(lu) == {"Bo"}
        lu.press("Tokens back, call round 2, heat 1")
        assert "Round 2, heat 1 is called" in lu.text
        assert set(heats.desk.on_air()) == {"Bo", "Ana", "Ed"}

    def test_so_is_one_on_the_page_of_a_refused_call(self, heats: HeatDesk, mo: Surfer, lu: Surfer) -> None:
        heats.call()
        mo.open("/desk/heats")
        lu.open("/desk/heats")
        mo.press("Tokens back, call round 1, heat 2", up=[heats.desk.world.pilots["Bo"]])
        lu.press("Tokens back, call round 1, heat 2", up=[heats.desk.world.pilots["Ana"]])
        assert lu.status == 409
        assert ticked(lu) == {"Bo"}
        lu.press("Tokens back, call round 2, heat 1")
        assert "Bo" in heats.desk.on_air()

    def test_own_ticks_stay_while_the_same_heat_is_in_the_air(self, heats: HeatDesk, mo: Surfer) -> None:
        heats.call()
        heats.down(1, up=["Ana", "Bo"])
        heats.call(up=["Ana", "Bo"])
        mo.open("/desk/heats")
        assert ticked(mo) == {"Ana", "Bo"}
        refresh(mo, up=[str(heats.desk.world.pilots[name]) for name in ("Bo", "Fay")])
        assert ticked(mo) == {"Bo", "Fay"}
        heats.desk.tick_seen("Fay")
        refresh(mo)
        assert ticked(mo) == {"Bo", "Fay"}
        mo.press("Tokens back, call round 2, heat 1")
        assert {"Bo", "Fay"} <= set(heats.desk.on_air())

    def test_a_call_is_refused_where_others_are_up_than_it_showed(
        self, heats: HeatDesk, mo: Surfer, lu: Surfer
    ) -> None:
        heats.call()
        heats.call(up=["Ana"])
        lu.open("/desk/heats")
        heats.landed("Ana")
        heats.hand_out(2, "Di")
        lu.press("Tokens back, call round 2, heat 1", up=[])
        assert lu.status == 409
        assert "Others are on air by now than this page showed, so nothing was done." in lu.text
        assert set(heats.desk.on_air()) == {"Di", "Ed", "Fay"}

    def test_a_voided_heat_keeps_the_tokens_that_its_page_did_not_show(
        self, heats: HeatDesk, mo: Surfer, lu: Surfer
    ) -> None:
        heats.desk.missing("R1")
        heats.call()
        lu.open("/desk/heats")
        lu.follow("No-show, broken quad, call back")
        heats.desk.found("R1")
        heats.hand_out(1, "Ana")
        lu.press("It doesn't count: fly it again")
        assert lu.status == 409
        assert set(heats.desk.on_air()) == {"Ana", "Bo", "Cy"}

    def test_after_a_call_back_the_stale_page_leads_to_the_real_next_heat(
        self, heats: HeatDesk, mo: Surfer, lu: Surfer
    ) -> None:
        heats.call()
        heats.call()
        lu.open("/desk/heats")
        heats.call_off(2)
        lu.press("Tokens back, call round 2, heat 1")
        assert lu.status == 409
        assert "Round 1, heat 2: tokens out" in lu.text
        assert "out of turn" not in lu.text
        lu.press("Call round 1, heat 2")
        assert "Round 1, heat 2 is called: 3 tokens out." in lu.text

    def test_a_heat_that_is_no_longer_next_is_not_called(self, heats: HeatDesk, mo: Surfer) -> None:
        second = heats.heat(2).heat_id
        post(mo, "/desk/heats/next", heat_id=second)
        assert mo.status == 409
        assert "Round 1, heat 1 comes before round 1, heat 2 by now." in mo.text
        assert heats.desk.on_air() == {}
        post(mo, "/desk/heats/next", heat_id=second, chosen_id=second)
        assert set(heats.desk.on_air()) == {"Di", "Ed", "Fay"}

    def test_a_heat_chosen_out_of_turn_stays_chosen_when_its_call_is_refused(self, heats: HeatDesk, mo: Surfer) -> None:
        mo.open(f"/desk/heats?heat={heats.heat(1, round_=2).heat_id}")
        mo.press("Call round 2, heat 1", override_reason="x")
        assert mo.status == 409
        assert "Round 2, heat 1, out of turn: tokens out" in mo.text


def test_a_browser_cannot_put_ticks_back_onto_others(heats: HeatDesk, mo: Surfer) -> None:
    heats.call()
    mo.open("/desk/heats")
    pages = [mo.page.find("form", id="landing")]
    mo.follow("No-show, broken quad, call back")
    pages.append(mo.page.find("form", {"aria-label": "It doesn't count"}))
    for form in pages:
        assert form is not None
        assert form["autocomplete"] == "off"
        boxes = form.find_all("input", {"name": "up"})
        assert [box["id"] for box in boxes] == [f"f-up-{box['value']}" for box in boxes]
        assert len(boxes) == len(form.find_all("input", {"name": "drawn"})) == 3


@pytest.mark.parametrize(
    ("path", "fields", "status"),
    [
        ("/desk/heats/next", {"then": "later"}, 422),
        ("/desk/heats/next", {"heat_id": "x"}, 422),
        ("/desk/heats/next", {"heat_id": "999"}, 404),
        ("/desk/heats/999/void", {}, 404),
        ("/desk/heats/999/call-off", {}, 404),
        ("/desk/heats/1/seats/1/missing", {"why": "tired"}, 422),
        ("/desk/heats/1/seats/999/missing", {"why": "no_show"}, 409),
        ("/desk/heats/pilots/999/landed", {}, 404),
    ],
)
def test_what_makes_no_sense_is_refused(
    heats: HeatDesk, mo: Surfer, path: str, fields: dict[str, str], status: int
) -> None:
    post(mo, path, **fields)
    assert mo.status == status
    assert heats.desk.rows(t.JournalLine) == []


def test_a_heat_that_is_not_there(heats: HeatDesk, mo: Surfer) -> None:
    mo.open("/desk/heats/999")
    assert mo.status == 404


def test_others_are_sent_to_the_desk_s_door(heats: HeatDesk, surfer: Callable[[], Surfer]) -> None:
    stranger = surfer()
    stranger.open("/desk/heats")
    assert stranger.path == "/desk/join"
