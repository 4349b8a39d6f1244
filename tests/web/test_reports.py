"""Clash reports at the desk: who, when, what it looked like, tied to the loan of that moment."""

import re
from datetime import timedelta

import pytest
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, loans_of, post, press_twice
from tests.world import NOON, Clock, World


def reports(store: Store) -> list[t.ClashReport]:
    with store.read() as session:
        return list(session.exec(select(t.ClashReport)))


def test_a_report_is_tied_to_the_loan_that_the_pilot_had_then(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    clock.forward(minutes=20)
    post(marshal, f"{marshal.path}/take-back")
    clock.forward(minutes=5)
    marshal.open(f"/desk/reports/new?pilot={world.pilots['Ana']}")
    assert field_value(marshal, "pilot_id") == str(world.pilots["Ana"])
    press_twice(marshal, "Write it down", minutes_ago="10", look="lines", place="flight", lasted_s="10", note="a gate")
    assert "Noted: Ana, 14:15, lines or snow (on R1)." in marshal.text
    [report] = reports(store)
    with store.read() as session:
        [loan] = loans_of(session, world.pilots["Ana"])
    assert report.loan_id == loan.id
    assert report.happened_at == NOON + timedelta(minutes=15)
    assert (report.look, report.place, report.lasted_s, report.note) == ("lines", "flight", 10, "a gate")
    assert journal_kinds(store).count("report_added") == 1


def test_who_flew_lately_is_named_with_one_tap(marshal: Surfer, world: World, store: Store, clock: Clock) -> None:
    ana, bo = world.pilots["Ana"], world.pilots["Bo"]
    post(marshal, f"/desk/pilots/{ana}/hand-out", token_id=world.tokens["R1"])
    marshal.open("/desk/reports/new")
    assert [radio["value"] for radio in marshal.page.find_all("input", {"name": "pilot_id"})] == [str(ana), ""]
    assert field_value(marshal, "pilot_id") == ""
    assert "Somebody else, or nobody in particular" in marshal.text
    marshal.press("Write it down", pilot_id=ana, look="lines")
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", other_id=bo, look="gone")
    assert [report.pilot_id for report in reports(store)] == [ana, bo]
    marshal.open("/desk")
    post(marshal, f"{_loan_address(store, ana)}/take-back")
    clock.forward(minutes=21)
    marshal.open("/desk/reports/new")
    assert marshal.page.find("input", {"name": "pilot_id"}) is None


def test_the_likeliest_is_named_first_and_a_card_names_its_own_pilot(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    ana, bo, cy = (world.pilots[name] for name in ("Ana", "Bo", "Cy"))
    for pilot, label in ((ana, "R1"), (bo, "R8"), (cy, "F5")):
        post(marshal, f"/desk/pilots/{pilot}/hand-out", token_id=world.tokens[label])
        clock.forward(minutes=2)
    post(marshal, f"{_loan_address(store, cy)}/take-back")
    for card in (_loan_address(store, cy), f"/desk/tokens/{world.tokens['F5']}"):
        marshal.open(card)
        link = marshal.page.find("a", string=re.compile("Clash report"))
        marshal.open(str(link["href"]) if link else "none")
        assert field_value(marshal, "pilot_id") == str(cy)
    named = [radio["value"] for radio in marshal.page.find_all("input", {"name": "pilot_id"})]
    assert named == [str(cy), str(ana), str(bo), ""]


def _loan_address(store: Store, pilot_id: int) -> str:
    with store.read() as session:
        [loan] = loans_of(session, pilot_id)
        return f"/desk/loans/{loan.id}"


def test_a_report_without_a_token_out_says_so(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", pilot_id=world.pilots["Bo"], look="gone")
    assert "Noted: Bo, 14:00, picture gone (no token out to them at that time)." in marshal.text
    assert reports(store)[0].loan_id is None
    assert reports(store)[0].lasted_s is None


def test_just_now_after_landing_means_the_flight_that_is_over_and_a_clock_time_is_kept_as_told(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    ana = world.pilots["Ana"]
    post(marshal, f"/desk/pilots/{ana}/hand-out", token_id=world.tokens["R1"])
    clock.forward(minutes=5)
    post(marshal, f"{_loan_address(store, ana)}/take-back")
    clock.forward(minutes=4)
    for when, sentence in (({"minutes_ago": "0"}, "14:04"), ({"at_clock": "14:08"}, "14:08")):
        marshal.open("/desk/reports/new")
        marshal.press("Write it down", pilot_id=ana, look="gone", **when)
        assert f"Noted: Ana, {sentence}, picture gone" in marshal.text
    assert "no token out to them at that time" in marshal.text
    flight, later = reports(store)
    assert (flight.loan_id is None, later.loan_id is None) == (False, True)
    assert flight.happened_at == NOON + timedelta(minutes=5, seconds=-1)


def test_somebody_who_isnt_named_can_report_at_a_time_of_day(
    marshal: Surfer, world: World, store: Store, clock: Clock
) -> None:
    clock.forward(minutes=90)
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", look="other_picture", at_clock="14.32", minutes_ago="5")
    [report] = reports(store)
    assert report.pilot_id is None
    assert report.happened_at == NOON + timedelta(minutes=32)
    assert "Noted: 14:32, somebody else's picture." in marshal.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param({"look": ""}, "Choose one of the answers for: what it looked like.", id="no look"),
        pytest.param({"look": "purple"}, "Choose one of the answers for: what it looked like.", id="unknown look"),
        pytest.param({"place": "home"}, "Choose one of the answers for: where.", id="unknown place"),
        pytest.param({"lasted_s": "7"}, "Choose one of the answers for: how long.", id="no such time"),
        pytest.param({"at_clock": "half two"}, "'half two' is no time of day. Write it like 14:32.", id="no time"),
        pytest.param({"at_clock": "25:00"}, "'25:00' is no time of day.", id="no such hour"),
        pytest.param({"at_clock": "23:59"}, "23:59 is still to come.", id="still to come"),
        pytest.param({"minutes_ago": "-5"}, "must be at least 0", id="minutes to come"),
        pytest.param({"minutes_ago": "some"}, "must be a whole number", id="minutes in words"),
        pytest.param({"pilot_id": "4711"}, "This pilot isn't in the club's list.", id="unknown pilot"),
        pytest.param({"note": "x" * 2001}, "2000 characters at most", id="long note"),
    ],
)
def test_a_report_that_needs_correcting_keeps_what_was_typed(
    typed: dict[str, str], sentence: str, marshal: Surfer, world: World, store: Store
) -> None:
    fields = {"look": "lines", "place": "pits", "at_clock": "", "minutes_ago": "0", "note": "my words"} | typed
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", **fields)
    assert marshal.status in (404, 422)
    assert sentence in marshal.text
    if marshal.status == 422:
        assert field_value(marshal, "note") == fields["note"]
        assert field_value(marshal, "at_clock") == fields["at_clock"]
    assert reports(store) == []


def test_an_undone_report_no_longer_counts(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", look="unsure")
    marshal.press("Undo")
    assert reports(store)[0].voided_at is not None
