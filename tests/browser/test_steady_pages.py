"""Nothing on a page jumps: not while it loads, not when the part that is live is swapped for a new one."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.browser.crawl import sign_in
from tests.running import Server

pytestmark = pytest.mark.browser

MOST = 0.1
"""The largest layout shift that is called good. Source: web.dev, 'Cumulative Layout Shift (CLS)'."""
PAGES = [
    ("marshal", "/desk"),
    ("pilot", "/my"),
    ("bystander", "/board"),
    ("organiser", "/organiser/meets/1/channels"),
    ("organiser", "/organiser/meets/1/review"),
]
WATCH = """
window.shifts = [];
new PerformanceObserver(list => window.shifts.push(...list.getEntries().map(each => each.value)))
  .observe({type: "layout-shift", buffered: true});
"""
TWO_FRAMES = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"


def shifted(page: Page) -> float:
    """All shifts since the page began, also those that CLS forgives after a tap."""
    page.evaluate(TWO_FRAMES)
    return float(page.evaluate("window.shifts.reduce((one, other) => one + other, 0)"))


@pytest.mark.parametrize(("role", "path"), PAGES, ids=lambda each: each.strip("/").replace("/", " "))
def test_nothing_jumps_while_a_page_loads(role: str, path: str, demo: Server, new_page: NewPage) -> None:
    page = new_page()
    sign_in(page, demo, role)
    page.add_init_script(WATCH)
    page.goto(demo.base + path)
    page.wait_for_timeout(500)  # what comes by itself after loading has had its chance to push
    assert shifted(page) < MOST / 10


def test_nothing_jumps_when_the_boards_live_part_is_swapped(demo: Server, new_page: NewPage) -> None:
    page = new_page(phone=False)
    page.add_init_script(WATCH)
    page.goto(demo.base + "/board")
    page.evaluate("document.getElementById('board-live').dataset.old = 'yes'")
    # What is there is asked for anew, as after a change: the same part comes and takes its place.
    page.evaluate("htmx.ajax('GET', '/board/live', {target: '#board-live', swap: 'outerHTML'})")
    expect(page.locator("#board-live[data-old]")).to_have_count(0)
    expect(page.locator("#board-live")).to_have_text(re.compile("On air"))
    assert shifted(page) < MOST / 10


def test_a_jump_would_be_seen(demo: Server, new_page: NewPage) -> None:
    page = new_page()
    page.add_init_script(WATCH)
    page.goto(demo.base + "/board")
    page.evaluate("document.getElementById('main').style.marginTop = '300px'")
    assert shifted(page) > MOST
