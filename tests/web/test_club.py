"""The club's page: saved once, refused with everything typed kept; the check of the field address."""

from collections.abc import Callable

import pytest
from fastapi import FastAPI
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.running import running
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds
from tests.web.set_up import refuses, works_once
from tests.world import ORGANISER_PASSWORD, World


def test_the_club_is_saved_once(organiser: Surfer, store: Store) -> None:
    typed = {"name": "Hill Flyers", "safety_words": "No power before you hold the token.", "useful_clearance_mhz": "30"}
    works_once(organiser, store, "/organiser/club", "Save the club", typed, "club_changed", "The club is saved.")
    assert {name: field_value(organiser, name) for name in typed} == typed


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": " "}, "Fill in: the club's name."),
        ({"name": "x" * 81}, "The club's name is too long: 80 characters at most."),
        ({"field_address": "ftp://here"}, "'ftp://here' is no field address."),
        ({"field_address": "http://here/desk"}, "is no field address. Write it as the phones will open it"),
        ({"safety_words": ""}, "Leave at least one line of safety words."),
        ({"safety_words": "x" * 2001}, "The safety words is too long"),
        ({"useful_clearance_mhz": "much"}, "The useful clearance must be a whole number."),
        ({"useful_clearance_mhz": "0"}, "The useful clearance must be at least 1."),
        ({"useful_clearance_mhz": "9" * 30}, "The useful clearance must be at most 200."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_what_can_not_be_is_refused(organiser: Surfer, store: Store, typed: dict[str, str], sentence: str) -> None:
    typed = {"name": "Another name"} | typed
    refuses(organiser, store, "/organiser/club", "Save the club", typed, sentence)


def test_the_page_says_that_tags_need_a_field_address(organiser: Surfer) -> None:
    organiser.open("/organiser/club")
    assert "There is no field address yet." in organiser.text


def test_saving_says_at_once_when_nothing_answers_there(organiser: Surfer) -> None:
    organiser.open("/organiser/club")
    organiser.press("Save the club", field_address="http://127.0.0.1:1")
    assert "This server does not answer at http://127.0.0.1:1 now." in organiser.text
    organiser.open("/organiser/club")
    assert "does not answer" not in organiser.text
    organiser.follow("Check whether this server answers")
    assert "does not answer" in organiser.text


@pytest.mark.parametrize("host", ["127.0.0.1:1", "127.3.2.1:1", "localhost:1", "[::1]:1", "0.0.0.0:1"])
def test_a_loopback_address_is_called_one_that_phones_can_not_use(organiser: Surfer, host: str) -> None:
    organiser.open("/organiser/club")
    organiser.press("Save the club", field_address=f"http://{host}")
    assert f"Phones can't use http://{host}" in organiser.text
    organiser.open("/organiser/club?check=yes")
    assert f"Phones can't use http://{host}" in organiser.text


def test_an_address_in_the_club_s_wi_fi_is_not(organiser: Surfer, store: Store) -> None:
    with store.write() as session:
        session.get_one(t.Club, 1).field_address = "http://192.168.1.20:8022"
        session.commit()
    organiser.open("/organiser/club")
    assert "Check whether this server answers at http://192.168.1.20:8022" in organiser.text
    assert "Phones can't use" not in organiser.text


def test_the_running_server_finds_itself(organiser: Surfer, app: FastAPI) -> None:
    with running(app) as address:
        organiser.open("/organiser/club")
        organiser.press("Save the club", field_address=address)
        assert f"This server answers at {address}" in organiser.text


def test_htmx_gets_the_part_alone(organiser: Surfer) -> None:
    organiser.open("/organiser/club")
    organiser.press("Save the club", field_address="http://127.0.0.1:1")
    answer = organiser.client.get("/organiser/club/answers", headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert "<html" not in answer.text
    assert 'id="field-answers"' in answer.text
    assert "does not answer" in answer.text


def test_anybody_may_ask_which_installation_answers_and_learns_nothing_else(
    world: World, surfer: Callable[[], Surfer]
) -> None:
    stranger = surfer()
    stranger.open("/answers-here")
    assert stranger.status == 200
    assert len(stranger.response.text) == 32
    assert int(stranger.response.text, 16)


def test_the_password_is_changed_and_never_shown(organiser: Surfer, store: Store, surfer: Callable[[], Surfer]) -> None:
    organiser.open("/organiser/club")
    new = "a longer kitchen table"
    organiser.press(
        "Change the password", password=ORGANISER_PASSWORD, new_password=new, new_password_again=new
    )
    assert "The password is changed." in organiser.text
    assert new not in organiser.response.text
    other = surfer()
    other.sign_in_organiser(new)
    assert other.path == "/organiser"


def test_what_is_stored_of_a_form_tells_nothing_of_a_password(organiser: Surfer, store: Store) -> None:
    for old, new in ((ORGANISER_PASSWORD, "a longer kitchen table"), ("a longer kitchen table", "yet another table")):
        organiser.open("/organiser/club")
        organiser.press("Change the password", password=old, new_password=new, new_password_again=new)
        assert "The password is changed." in organiser.text
    with store.read() as session:
        first, second = session.exec(select(t.Operation.digest)).all()
    assert first == second


@pytest.mark.parametrize(
    ("password", "new", "again", "sentence"),
    [
        ("wrong", "long enough 1", "long enough 1", "The password until now doesn't fit."),
        (ORGANISER_PASSWORD, "too brief", "too brief", "The new password needs at least 12 characters."),
        (ORGANISER_PASSWORD, "long enough 1", "long enough 2", "The two new passwords differ."),
        ("", "long enough 1", "long enough 1", "Fill in: the password until now."),
        (ORGANISER_PASSWORD, "x" * 201, "x" * 201, "The new password is too long"),
    ],
    ids=["wrong", "short", "differ", "empty", "too long"],
)
def test_a_password_that_can_not_be_is_refused_and_not_shown_again(
    organiser: Surfer, store: Store, password: str, new: str, again: str, sentence: str
) -> None:
    organiser.open("/organiser/club")
    organiser.press("Change the password", password=password, new_password=new, new_password_again=again)
    assert organiser.status == 422
    assert sentence in organiser.text
    assert new not in organiser.response.text
    assert journal_kinds(store) == []
    assert field_value(organiser, "name") == "Lower Meadow Flyers"
