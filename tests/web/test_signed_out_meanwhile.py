"""A form sent by somebody who was signed out meanwhile: what was typed comes through signing in, and counts once."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows.sessions import LIFETIMES
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds
from tests.world import ORGANISER_PASSWORD, PIN, Clock, World

CLUB = {"name": "Hill Flyers", "safety_words": "First line.\n'Second' <line> & more.", "useful_clearance_mhz": "30"}


def rest(person: Surfer, clock: Clock, role: str = "marshal") -> None:
    clock.now += LIFETIMES[role].idle


@pytest.fixture
def signed_out_organiser(organiser: Surfer, clock: Clock) -> Surfer:
    """Pressed 'Save the club' too late."""
    organiser.open("/organiser/club")
    organiser.client.headers["Referer"] = str(organiser.response.url)
    rest(organiser, clock, "organiser")
    organiser.press("Save the club", **CLUB)
    return organiser


def test_the_organiser_signs_in_and_sends_it_again(signed_out_organiser: Surfer, store: Store) -> None:
    person = signed_out_organiser
    assert person.status == 401
    assert "You were signed out meanwhile, so this was not sent." in person.text
    assert journal_kinds(store) == []
    person.press("Sign in", password="not this one")
    assert "This password doesn't fit." in person.text
    person.press("Sign in", password=ORGANISER_PASSWORD)
    assert "Send it again?" in person.text
    assert "'Second' <line> & more." in person.text
    assert journal_kinds(store) == []
    person.press("Send it again")
    assert (person.path, person.status) == ("/organiser/club", 200)
    assert "The club is saved." in person.text
    assert {name: field_value(person, name) for name in CLUB} == CLUB
    assert journal_kinds(store) == ["club_changed"]


def test_what_was_typed_can_be_left_behind(signed_out_organiser: Surfer, store: Store) -> None:
    signed_out_organiser.press("Sign in", password=ORGANISER_PASSWORD)
    signed_out_organiser.follow("Back to the page")
    assert (signed_out_organiser.path, signed_out_organiser.status) == ("/organiser/club", 200)
    assert journal_kinds(store) == []


def test_what_was_typed_is_shown_by_the_names_on_the_form(marshal: Surfer, clock: Clock) -> None:
    marshal.open("/desk/reports/new")
    rest(marshal, clock)
    marshal.press("Write it down", look="gone", place="flight", note="at the far gate")
    marshal.press("Open the desk", pin=PIN, name="Mo")
    names = [each.get_text() for each in marshal.page.find_all("dt")]
    assert {"Where", "The note"} <= set(names)
    assert "at the far gate" in marshal.text


def test_a_marshal_s_tap_comes_through_the_pin(marshal: Surfer, world: World, clock: Clock, store: Store) -> None:
    marshal.open(f"/desk/pilots/{world.pilots['Ana']}")
    rest(marshal, clock)
    marshal.press("Hand out ")
    assert marshal.status == 401
    marshal.press("Open the desk", pin="000000", name="Mo")
    assert "This PIN doesn't fit the open meet." in marshal.text
    marshal.press("Open the desk", pin=PIN, name="Mo")
    marshal.press("Send it again")
    assert marshal.status == 200
    with store.read() as session:
        assert session.exec(select(t.Loan)).one().pilot_id == world.pilots["Ana"]


def test_the_organiser_at_the_desk_goes_on_by_password(marshal: Surfer, clock: Clock, store: Store) -> None:
    marshal.open("/desk")
    rest(marshal, clock)
    marshal.press("Everybody down")
    marshal.press("Sign in", password=ORGANISER_PASSWORD)
    marshal.press("Send it again")
    assert marshal.status == 200
    assert journal_kinds(store)[-1] == "alarm_raised"


def test_a_pilot_opens_the_own_page_in_a_second_tab_and_sends_it_from_the_first(
    world: World, surfer: Callable[[], Surfer], clock: Clock, store: Store
) -> None:
    phone = surfer()
    phone.open(f"/join/{world.pilots['Ana']}")
    phone.press("Yes, I am Ana")
    own_address = phone.path
    phone.open("/my/report")
    rest(phone, clock, "pilot")
    phone.press("Send the report", look="gone", note="Snow on the whole picture")
    assert phone.status == 401
    assert "Snow on the whole picture" in phone.text
    kept = phone.response
    phone.open(own_address)
    phone._keep(kept)
    phone.press("Send it again")
    assert phone.status == 200
    assert journal_kinds(store)[-1] == "report_added"


def test_secrets_and_files_are_not_kept_and_that_is_said(organiser: Surfer, clock: Clock) -> None:
    organiser.open("/organiser/club")
    rest(organiser, clock, "organiser")
    secret = "a longer kitchen table"
    organiser.press("Change the password", password=ORGANISER_PASSWORD, new_password=secret, new_password_again=secret)
    organiser.press("Sign in", password=ORGANISER_PASSWORD)
    assert "A password or a file isn't kept" in organiser.text
    assert secret not in organiser.response.text
    assert ORGANISER_PASSWORD not in organiser.response.text


def test_a_form_too_long_to_be_carried_says_so(organiser: Surfer, clock: Clock) -> None:
    organiser.open("/organiser/club")
    rest(organiser, clock, "organiser")
    organiser.press("Save the club", safety_words="x" * 600_000)
    assert "It is too long to be kept" in organiser.text
    organiser.press("Sign in", password=ORGANISER_PASSWORD)
    assert organiser.path == "/organiser"


def test_what_another_browser_kept_is_not_taken(
    signed_out_organiser: Surfer, surfer: Callable[[], Surfer]
) -> None:
    kept = field_value(signed_out_organiser, "kept")
    other = surfer()
    other.open("/sign-in")
    other.press("Sign in", password=ORGANISER_PASSWORD, kept=kept)
    assert other.path == "/organiser"


def test_htmx_is_led_to_the_door_and_back_to_its_page(marshal: Surfer, clock: Clock) -> None:
    marshal.open("/desk")
    form, _button = marshal.form_with("Sign out")
    rest(marshal, clock)
    headers = {"HX-Request": "true", "Referer": str(marshal.response.url)}
    answer = marshal.client.post("/alarms/down", data=dict(marshal.fields(form)), headers=headers)
    assert answer.headers["hx-redirect"] == "/desk/join?next=/desk"


def test_a_page_on_another_site_is_no_page_to_go_back_to(marshal: Surfer, clock: Clock) -> None:
    marshal.open("/desk")
    form, _button = marshal.form_with("Sign out")
    rest(marshal, clock)
    headers = {"HX-Request": "true", "Referer": "http://evil.example/desk/count"}
    answer = marshal.client.post("/desk/pause", data=dict(marshal.fields(form)), headers=headers)
    assert answer.headers["hx-redirect"] == "/desk/join?next=/desk"
