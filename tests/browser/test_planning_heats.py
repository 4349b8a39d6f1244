"""The organiser plans heats, looks at them, makes them, swaps two pilots and prints."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewPage, axe_findings
from tests.browser.day import follow, press, says
from tests.quick_start import quick_server
from tests.running import Server
from tests.world import ORGANISER_PASSWORD

pytestmark = pytest.mark.browser


@pytest.fixture
def small_meet(club_file: Path) -> Iterator[Server]:
    """A server with an open meet of six pilots and four tokens."""
    with quick_server("serve", "--database", str(club_file)) as server:
        yield server


def test_heats_are_looked_at_made_changed_and_printed(small_meet: Server, new_page: NewPage) -> None:
    page = new_page(phone=False)
    page.goto(f"{small_meet.base}/sign-in")
    page.get_by_label("Password").fill(ORGANISER_PASSWORD)
    press(page, "Sign in")
    page.goto(f"{small_meet.base}/organiser/meets/1/heats")
    follow(page, "Plan heats")
    page.get_by_label(re.compile("^At once")).fill("2")
    page.get_by_label("Rounds of the day").fill("2")
    press(page, "Look at the heats")
    says(page, "Nothing is written yet.")
    says(page, "Round 2, heat 3")
    assert axe_findings(page) == []
    press(page, "Make these heats")
    says(page, "6 heats made.")

    first = page.locator(".heat").first
    expect(first.get_by_role("link").first).to_be_visible()
    ana_and_bo = first.get_by_role("link").all_inner_texts()
    follow(page, ana_and_bo[0])
    press(page, "Look at this swap")
    says(page, re.compile(rf"{ana_and_bo[0]} and \w+ swap heats in round 1\."))
    assert axe_findings(page) == []
    press(page, "Do it")
    says(page, "Tell ")
    assert ana_and_bo[0] not in page.locator(".heat").first.get_by_role("link").all_inner_texts()

    follow(page, "Print")
    says(page, "By pilot")
    assert page.locator("svg desc").count() == 6
