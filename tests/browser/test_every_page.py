"""Every page, as each of its people, at phone and desktop size, in light and dark: axe, no errors, nothing cut off.

`SHOTS=folder` keeps a picture of each page.
"""

import os
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import NewPage, axe_findings
from tests.browser.crawl import Found, crawl, page_routes, sign_in
from tests.running import Server

pytestmark = pytest.mark.browser

ROLES = ["bystander", "pilot", "marshal", "organiser"]
LOOKS = {
    "phone light": {"phone": True, "dark": False},
    "phone dark": {"phone": True, "dark": True},
    "desktop light": {"phone": False, "dark": False},
    "desktop dark": {"phone": False, "dark": True},
}
# Reached only on the way of a task, where the tests of that task look at them.
ON_THE_WAY = {"/desk/join/{secret}", "/my/{secret}", "/join/{pilot_id}", "/my/offers/new", "/organiser/club/answers"}
# What another size and light can change; the rest was asked on the phone.
OF_THE_LOOK = ["color-contrast", "link-in-text-block", "scrollable-region-focusable", "target-size"]
SHOTS = os.environ.get("SHOTS")
# Both sizes and both lights are seen in every run; all four combinations where pictures are kept.
OTHER_LOOKS = [look for look in LOOKS if look != "phone light"] if SHOTS else ["desktop dark"]


@pytest.fixture(scope="module")
def found_pages() -> dict[str, list[Found]]:
    """What each person can reach, filled by the first test that looks."""
    return {}


def trouble_on(page: Page, rules: Sequence[str] = ()) -> Iterator[str]:
    """What is wrong with the page as it stands, by these rules of axe (none: by all)."""
    yield from axe_findings(page, rules)
    if is_too_wide(page):
        yield "scrolls sideways"


def is_too_wide(page: Page, text_size: str = "") -> bool:
    """Whether the page scrolls sideways, with its text as large as that ("": as it is). The text stays so."""
    page.evaluate("size => { document.documentElement.style.fontSize = size }", text_size)
    wide: bool = page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth + 1")
    return wide


# Sizes as sent, packed: the page's, and those of what it loads. What a page asks for later by itself isn't counted.
WEIGHT = """() => {
  const [page] = performance.getEntriesByType("navigation");
  const kinds = /link|script|img|css/;
  const loaded = performance.getEntriesByType("resource").filter(each => kinds.test(each.initiatorType));
  const sum = sizes => sizes.reduce((one, other) => one + other, 0);
  return {
    first: page.transferSize + sum(loaded.map(each => each.encodedBodySize)),
    repeat: page.transferSize + sum(loaded.map(each => each.transferSize)),
    size: page.decodedBodySize,
  };
}"""
MOST_FIRST, MOST_REPEAT = 100_000, 20_000


def weight_of(page: Page, *, is_repeat: bool) -> Iterator[str]:
    """What is too heavy about the page that was just loaded; from the second page on, all that is shared is kept."""
    weight = page.evaluate(WEIGHT)
    assert 0 < weight["repeat"] <= weight["first"] + 5_000
    if weight["first"] > MOST_FIRST:
        yield f"a first load takes {weight['first']} bytes"
    if is_repeat and weight["repeat"] > MOST_REPEAT:
        yield f"a repeat takes {weight['repeat']} bytes ({weight['size']} unpacked)"


def keep_shot(page: Page, found: Found, look: str) -> None:
    if SHOTS:
        name = f"{found.role}{found.kind}".replace("/", "_").replace("{", "").replace("}", "")
        page.screenshot(path=Path(SHOTS) / look.replace(" ", "-") / f"{name}.png", full_page=True)


@pytest.mark.parametrize("role", ROLES)
def test_every_page_on_a_phone(
    role: str, demo: Server, new_page: NewPage, found_pages: dict[str, list[Found]]
) -> None:
    page = new_page()
    errors: list[str] = []
    page.on("console", lambda message: errors.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: errors.append(str(error)))
    found_pages[role] = []
    trouble = []
    for found in crawl(page, demo, role):
        found_pages[role].append(found)
        trouble += [f"{found.path}: {what}" for what in weight_of(page, is_repeat=len(found_pages[role]) > 1)]
        trouble += [f"{found.path}: {what}" for what in trouble_on(page)]
        keep_shot(page, found, "phone light")
        if is_too_wide(page, "200%"):
            trouble.append(f"{found.path}: scrolls sideways with text twice as large")
    assert trouble == []
    assert [error for error in errors if "404" not in error] == []


def test_the_tests_reach_every_kind_of_page(found_pages: dict[str, list[Found]]) -> None:
    if set(found_pages) != set(ROLES):
        pytest.skip("the tests above ran only in part")
    reached = {found.kind for pages in found_pages.values() for found in pages}
    assert {route.path for route in page_routes()} - reached - ON_THE_WAY == set()


@pytest.mark.parametrize("look", OTHER_LOOKS)
@pytest.mark.parametrize("role", ROLES)
def test_every_page_in_the_other_looks(
    role: str, look: str, demo: Server, new_page: NewPage, found_pages: dict[str, list[Found]]
) -> None:
    page = new_page(**LOOKS[look])
    sign_in(page, demo, role)
    trouble = []
    for found in found_pages.get(role, []):
        page.goto(demo.base + found.path)
        trouble += [f"{found.path}: {what}" for what in trouble_on(page, OF_THE_LOOK)]
        keep_shot(page, found, look)
    assert trouble == []
