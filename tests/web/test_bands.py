"""The pages of band profiles."""

import pytest

from meetapp.flows.club.club import seed_catalogue
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, post
from tests.web.set_up import all_rows, refuses, works_once

NEW = {
    "name": "Our licence",
    "segments": "5650-5725\n5725-5875 25 mW",
    "condition": "indoors too",
    "source": "licence 123",
    "read_on": "2026-11-25",
}
DECIDES = "The national text and the pilot's licence decide"


@pytest.fixture
def published(store: Store, organiser: Surfer) -> str:
    """The address of a published profile."""
    with store.write() as session:
        seed_catalogue(session)
        session.commit()
    organiser.open("/organiser/bands")
    organiser.follow("Short range device, Europe (CEPT)")
    return organiser.path


def test_an_own_profile_is_added_once_and_says_who_decides(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/bands/new", "Save the band profile", NEW, "band_added", "is saved.")
    assert {name: field_value(organiser, name) for name in NEW} == NEW
    assert DECIDES in organiser.text


def test_an_own_profile_is_changed_once(organiser: Surfer, store: Store) -> None:
    typed = NEW | {"read_on": ""}
    works_once(organiser, store, "/organiser/bands/1", "Save the band profile", typed, "band_changed", "is saved.")
    assert field_value(organiser, "segments") == NEW["segments"]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"name": ""}, "Fill in: the name."),
        ({"name": "test BAND"}, "There is a band profile named 'Test band' already."),
        ({"segments": ""}, "Give at least one piece of band, such as 5725-5875."),
        ({"segments": "5725 to 5875"}, "'5725 to 5875' is no piece of band"),
        ({"segments": "5875-5725"}, "5875-5725 runs backwards"),
        ({"source": ""}, "Fill in: the source."),
        ({"read_on": "25.11.2026"}, "The day it was read must be a date such as 2026-06-14."),
        ({"read_on": "2026-02-30"}, "The day it was read must be a date such as 2026-06-14."),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_profile_that_can_not_be_is_refused(
    organiser: Surfer, store: Store, typed: dict[str, str], sentence: str
) -> None:
    refuses(organiser, store, "/organiser/bands/new", "Save the band profile", NEW | typed, sentence)


def test_a_published_profile_shows_its_source_and_day_and_has_no_form(organiser: Surfer, published: str) -> None:
    for words in ("5725-5875 25 mW", "ETSI EN 300 440", "2026-11-25", DECIDES):
        assert words in organiser.text
    assert organiser.page.find(attrs={"name": "segments"}) is None


def test_a_published_profile_is_copied(organiser: Surfer, store: Store, published: str) -> None:
    organiser.open(published)
    organiser.follow("Copy it as one of your own")
    organiser.press("Save the band profile")
    assert "'Short range device, Europe (CEPT), our copy' is saved." in organiser.text


def test_a_form_made_up_for_a_published_profile_is_refused(organiser: Surfer, store: Store, published: str) -> None:
    before = all_rows(store)
    post(organiser, published, **NEW)
    assert organiser.status == 422
    assert "A published band profile can't be changed. Make a copy of your own" in organiser.text
    assert all_rows(store) == before


def test_a_profile_is_retired_and_brought_back(organiser: Surfer, store: Store) -> None:
    works_once(organiser, store, "/organiser/bands/1", "Retire the profile", {}, "retired", "'Test band' is retired")
    works_once(organiser, store, "/organiser/bands/1", "Bring the profile back", {}, "brought_back", "is offered again")
