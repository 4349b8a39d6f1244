"""Drawings in a real browser: no two texts touch and none is cut off, at both sizes, with the fonts of this machine."""

import pytest

from tests.browser.conftest import NewPage, axe_findings
from tests.drawings.air_cases import CASES
from tests.drawings.day_cases import DAYS
from tests.drawings.hard_cases import hard_pieces
from tests.drawings.written import page_of, page_with

pytestmark = pytest.mark.browser

# Texts as they stand on the screen, and which of them touch or leave their drawing.
TROUBLE = """() => {
  const found = [];
  for (const svg of document.querySelectorAll("svg")) {
    if (getComputedStyle(svg).display === "none") continue;
    const name = svg.querySelector("title")?.textContent;
    const frame = svg.getBoundingClientRect();
    const boxes = [...svg.querySelectorAll("text")].map(text => [text.textContent, text.getBoundingClientRect()]);
    for (const [text, box] of boxes) {
      if (box.width === 0) found.push(`${name}: '${text}' isn't to be seen`);
      if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1
          || box.bottom > frame.bottom + 1) found.push(`${name}: '${text}' is cut off`);
      if (box.height < 14) found.push(`${name}: '${text}' is too small: ${box.height}`);
    }
    boxes.forEach(([one, a], place) => {
      for (const [other, b] of boxes.slice(place + 1)) {
        if (a.left < b.right - 0.5 && b.left < a.right - 0.5 && a.top < b.bottom - 0.5 && b.top < a.bottom - 0.5)
          found.push(`${name}: '${one}' touches '${other}'`);
      }
    });
  }
  return found;
}"""


@pytest.mark.parametrize("phone", [True, False], ids=["390 px", "1280 px"])
def test_no_texts_touch_in_any_drawing(phone: bool, new_page: NewPage) -> None:
    page = new_page(phone=phone)
    names, pieces = zip(*hard_pieces(), strict=True)
    page.set_content(page_of(pieces))
    shown = page.evaluate(
        "[...document.querySelectorAll('article')].map(each => each.checkVisibility() && "
        "[...each.querySelectorAll('.drawing > svg')].some(svg => svg.checkVisibility()))"
    )
    assert [name for name, is_shown in zip(names, shown, strict=True) if not is_shown] == []
    assert page.evaluate(TROUBLE) == []
    assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


@pytest.mark.parametrize("phone", [True, False], ids=["390 px", "1280 px"])
def test_no_texts_touch_in_three_sets_over_one_another(phone: bool, new_page: NewPage) -> None:
    page = new_page(phone=phone)
    cases = ("twelve uneven, many products", "eight evenly, many products on carriers", "twelve 1 MHz apart")
    sets = [(heading, CASES[case]) for heading, case in zip(("Set A", "Set B", "Set C"), cases, strict=True)]
    page.set_content(page_with("air_compared(sets, 'both')", sets=sets))
    assert page.evaluate(TROUBLE) == []
    if phone:
        assert axe_findings(page) == []


@pytest.mark.parametrize("phone", [True, False], ids=["390 px", "1280 px"])
def test_a_day_is_read_by_scrolling_its_drawing_sideways(phone: bool, new_page: NewPage) -> None:
    page = new_page(phone=phone)
    for name, facts in DAYS.items():
        page.set_content(page_with("drawing(day|day_picture, 'day', scroll=true)", day=facts))
        assert page.evaluate(TROUBLE) == [], name
        assert page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth"), name
    page.set_content(page_with("drawing(day|day_picture, 'day', scroll=true)", day=DAYS["a busy day"]))
    page.get_by_role("region", name="The day").evaluate("region => region.scrollLeft = 600")
    names = page.locator(".drawing-names").bounding_box()
    assert names is not None
    assert names["x"] >= 0  # they stay in sight
    if phone:
        assert axe_findings(page) == []


def test_paper_shows_the_wide_layout(new_page: NewPage) -> None:
    page = new_page(phone=True)
    page.emulate_media(media="print")
    page.set_content(page_with("air(facts, 'air')", facts=CASES["six"]))
    assert page.locator(".drawing-wide").is_visible()
    assert not page.locator(".drawing-narrow").is_visible()
    page.set_content(page_with("drawing(day|day_picture, 'day', scroll=true)", day=DAYS["a busy day"]))
    assert page.locator(".drawing-paper").is_visible()
    assert page.locator("svg:visible").count() == 1
