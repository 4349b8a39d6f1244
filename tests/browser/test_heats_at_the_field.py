"""A marshal with a phone runs heats: call, power up, next with one still up, all down, one flown again."""

import re
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from meetapp.store.engine import Store, sqlite_url
from tests.browser.conftest import NewPage, axe_findings
from tests.browser.day import about, follow, press, says
from tests.desk import Desk
from tests.heat_desk import HeatDesk
from tests.quick_start import quick_server
from tests.running import Server
from tests.world import PIN, World

pytestmark = pytest.mark.browser


@pytest.fixture
def field(club_file: Path, served_world: tuple[Path, World]) -> Iterator[Server]:
    """A server of a club whose open meet has two heats of three."""
    store = Store(sqlite_url(club_file))
    desk = Desk(store, deepcopy(served_world[1]))
    HeatDesk(desk).plan({"Ana": "R1", "Bo": "F1", "Cy": "R8"}, {"Di": "R1", "Ed": "F5", "Fay": "R8"})
    store.close()
    with quick_server("serve", "--database", str(club_file)) as server:
        yield server


def is_fine(page: Page) -> None:
    assert axe_findings(page) == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")


def test_heats_with_one_thumb(field: Server, new_page: NewPage) -> None:
    page = new_page()
    page.goto(field.base + "/desk/join")
    page.get_by_label("PIN of the meet").fill(PIN)
    page.get_by_label("Your name").fill("Mo")
    press(page, "Open the desk")
    follow(page, "Heats")
    expect(page.get_by_role("button", name="Call round 1, heat 1")).to_be_in_viewport(ratio=1)
    press(page, "Call round 1, heat 1")
    says(page, "Round 1, heat 1 is called: 3 tokens out.")
    is_fine(page)
    press(page, about("Seen", "picture of Bo"))
    says(page, "picture seen")

    page.get_by_label(re.compile("^Ana")).check()
    says(page, "waits: R1 is out with Ana")
    assert page.get_by_label(re.compile("^Ana")).is_checked()
    press(page, "Tokens back, call round 1, heat 2")
    says(page, "2 tokens out. Di waits: R1 is out with Ana")
    is_fine(page)
    press(page, about("Landed now", "Ana"))
    press(page, about("Hand out", "Di"))
    says(page, "Di has R1.")

    press(page, re.compile("^All down"))
    says(page, "Round 1, heat 2 is flown: 3 tokens back.")
    follow(page, "Round 1, heat 2 doesn't count?")
    is_fine(page)
    press(page, "It doesn't count: fly it again")
    says(page, "It is flown again as Round 1, heat 3: next.")
