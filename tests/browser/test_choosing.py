"""Choosing channels in a browser: who is left out, a way in, a point of the curve, sets side by side, accepting."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage, axe_findings
from tests.browser.crawl import sign_in
from tests.browser.day import follow, press, says
from tests.running import Server

pytestmark = pytest.mark.browser

LETTERS = "plans=A&plans=B&plans=E&plans=F&plans=R"


def plan_meet(page: Page, server: Server, name: str) -> str:
    """A meet of the demo club with everybody expected; gives the address of its channels."""
    page.goto(server.base + "/organiser/meets/new")
    page.get_by_label("Name").fill(name)
    press(page, "Plan the meet")
    home = re.sub(r"\?.*", "", page.url)
    page.goto(home + "/expected")
    press(page, "Expect everybody")
    return home + "/channels"


def looks_right(page: Page) -> bool:
    fits: bool = page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth + 1")
    return fits and axe_findings(page) == []


def choose(page: Page, channels: str) -> None:
    """From somebody left out over a way in and a point of the curve to a set that is accepted."""
    page.goto(f"{channels}?count=2&spacing=60&mhz=5740+5760+5820&widths=reference")
    # Pilots of plan R alone make none of these, whatever the spacing.
    says(page, re.compile(r"Expected, but not served by this set: \d+"))
    follow(page, re.compile("^Another transmitter"))
    says(page, "had a transmitter that makes every frequency here")
    page.goto(f"{channels}?count=6&spacing=30&{LETTERS}&widths=reference")
    says(page, "Proven best by these sums; no promise of a clear picture")
    # The curve comes by itself, and each of its squares is a question.
    expect(page.locator("#trade-off table").first).to_be_visible()
    expect(page.locator("#trade-off")).not_to_contain_text("Still working it out")
    says(page, "6 (asked for)")
    assert looks_right(page)
    points = page.locator("#trade-off svg:visible a")
    last = points.nth(points.count() - 1)
    wider = re.search(r"spacing=(\d+)$", last.get_attribute("href") or "")
    assert wider
    last.click()
    expect(page).to_have_url(re.compile(f"spacing={wider[1]}$"))
    says(page, "Proven best by these sums; no promise of a clear picture")
    press(page, "Accept this set")
    says(page, "The set of 6 is the meet's now.")


def test_from_somebody_left_out_to_a_set_that_is_accepted(own_demo: Server, new_page: NewPage) -> None:
    page = new_page()
    sign_in(page, own_demo, "organiser")
    choose(page, plan_meet(page, own_demo, "By phone"))
    desktop = new_page(phone=False)
    sign_in(desktop, own_demo, "organiser")
    channels = plan_meet(desktop, own_demo, "At home")
    choose(desktop, channels)
    # Now it has a set, so another one can stand beside it.
    desktop.goto(f"{channels}?count=5&spacing=37&{LETTERS}")
    press(desktop, "Compare with the meet's set")
    says(desktop, "Set A, the meet's now")
    says(desktop, "1 channel fewer.")
    assert looks_right(desktop)


def test_without_javascript_everything_is_a_link_away(demo: Server, new_page: NewPage) -> None:
    page = new_page(javascript=False)
    sign_in(page, demo, "organiser")
    page.goto(f"{demo.base}/organiser/meets/1/channels?count=6&spacing=37&{LETTERS}")
    follow(page, "What each spacing and each number of channels costs")
    says(page, "The sets that are the best somewhere")
