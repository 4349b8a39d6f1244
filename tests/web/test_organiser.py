"""The organiser's pages: who may open them, what isn't there, and the first page's way through the setting-up."""

import re

import pytest
from fastapi.routing import APIRoute

from meetapp.store.engine import Store
from meetapp.web.routes import bands, club, kinds, organiser, pilot_lists, pilots, plans, sites, tokens
from tests.surfer import Surfer
from tests.web.ladder import post
from tests.web.set_up import all_rows

MODULES = (organiser, club, sites, bands, kinds, plans, pilots, pilot_lists, tokens)
ROUTES = [
    (method, route.path)
    for module in MODULES
    for route in module.router.routes
    if isinstance(route, APIRoute) and route.path != "/answers-here"
    for method in route.methods
]
GETS = sorted(path for method, path in ROUTES if method == "GET")
POSTS = sorted(path for method, path in ROUTES if method == "POST")


def filled(path: str, row_id: int) -> str:
    """The address with this id for everything that it names."""
    return re.sub(r"\{\w+\}", str(row_id), path)


def statuses(person: Surfer, paths: list[str], row_id: int = 1) -> dict[str, int]:
    """What each address answers when it is opened."""
    found = {}
    for path in paths:
        person.open(filled(path, row_id))
        found[path] = person.status
    return found


def posted(person: Surfer, paths: list[str], row_id: int = 1) -> dict[str, tuple[int, str]]:
    """What an empty form to each address leads to: the status and the page."""
    found = {}
    for path in paths:
        post(person, filled(path, row_id))
        found[path] = (person.status, person.path)
    return found


def test_every_page_opens_for_the_organiser_with_one_heading(organiser: Surfer) -> None:
    headings = {}
    for path in (path for path in GETS if not path.endswith(".csv")):
        organiser.open(filled(path, 1))
        headings[path] = (organiser.status, len(organiser.page.find_all("html")), len(organiser.page.find_all("h1")))
    assert headings == dict.fromkeys(headings, (200, 1, 1))


def test_an_address_of_a_form_can_not_be_opened(organiser: Surfer) -> None:
    only_forms = [path for path in POSTS if path not in GETS]
    assert set(statuses(organiser, only_forms).values()) <= {404, 405}


@pytest.mark.parametrize("row_id", [9999, 2**31 - 1])
def test_what_is_not_there_is_said_so(organiser: Surfer, store: Store, row_id: int) -> None:
    before = all_rows(store)
    named = [path for path in GETS if "{" in path]
    assert statuses(organiser, named, row_id) == dict.fromkeys(named, 404)
    assert "isn't" in organiser.text
    forms = [path for path in POSTS if "{" in path]
    assert {status for status, _path in posted(organiser, forms, row_id).values()} == {404}
    assert all_rows(store) == before


def test_an_id_that_can_not_be_is_no_page(organiser: Surfer) -> None:
    nouns = ("sites", "bands", "kinds", "plans", "pilots", "tokens")
    wrong = ("abc", "0", "-1", "1e3", str(2**31), str(2**63))
    paths = [f"/organiser/{noun}/{each}" for noun in nouns for each in wrong]
    assert statuses(organiser, paths) == dict.fromkeys(paths, 404)


def test_the_first_page_leads_to_the_next_step(organiser: Surfer) -> None:
    organiser.open("/organiser")
    assert "Set up the club Next: Club and field address." in organiser.text
    assert organiser.page.find("li", {"aria-current": "step"})
    assert "June meet" in organiser.text
    organiser.follow("Go on: Club and field address")
    organiser.press("Save the club", field_address="http://127.0.0.1:1")
    organiser.open("/organiser")
    assert "Everything is set up" in organiser.text
    assert "The club saved: Lower Meadow Flyers" in organiser.text


def test_the_pages_hold_on_to_each_other_by_their_tabs(organiser: Surfer) -> None:
    organiser.open("/organiser")
    for words in ("Club", "Sites", "Band profiles", "Kinds", "Plans", "Overview"):
        organiser.follow(words)
        assert organiser.status == 200
        current = organiser.page.select_one("nav[aria-label='Parts of the setting-up'] a[aria-current]")
        assert current is not None
        assert current.get_text() == words
