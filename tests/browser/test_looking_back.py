"""The organiser looks back on the demo meet: from the review to what a report may have been, at both sizes."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewPage, axe_findings
from tests.browser.crawl import sign_in
from tests.running import Server

pytestmark = pytest.mark.browser

SIZES = pytest.mark.parametrize("phone", [True, False], ids=["phone", "desktop"])

REPORT_FORMS = [("pilot", "/my/report", "Send the report"), ("marshal", "/desk/reports/new", "Write it down")]


@SIZES
def test_from_the_review_to_who_was_on_air(demo: Server, new_page: NewPage, phone: bool) -> None:
    page = new_page(phone=phone, dark=not phone)
    sign_in(page, demo, "organiser")
    page.goto(demo.base + "/organiser/meets/1/review")
    folded = [page.get_by_role("table", name=name) for name in ("Every loan", "Journal")]
    assert not any(table.is_visible() for table in folded)
    page.emulate_media(media="print")
    assert all(table.is_visible() for table in folded)
    assert not page.get_by_text("Show the journal").is_visible()
    page.emulate_media(media="screen")
    bar = page.locator("svg a[href*='#loan-']").first.get_attribute("href") or ""
    page.goto(f"{demo.base}/organiser/meets/1/review{bar}")
    expect(page.locator(f"[id='{bar.partition('#')[2]}']")).to_be_in_viewport()
    page.get_by_role("link", name="What it may have been").click()
    expect(page.get_by_role("heading", name="What it may have been", level=1)).to_be_visible()
    expect(page.get_by_text("The meet isn't closed")).to_be_visible()
    expect(page.get_by_role("heading", name="Is the channel set to blame?")).to_be_visible()
    kinds = page.get_by_role("img", name=re.compile("How many of 9 reports"))
    expect(kinds.locator("visible=true")).to_have_count(1)
    page.get_by_text("The same in a table").click()
    table = page.get_by_role("table", name="How many reports each kind of cause would explain")
    expected = [float(text) for text in table.get_by_role("cell").all_inner_texts() if re.fullmatch(r"[\d.]+", text)]
    assert sum(expected) == pytest.approx(9, abs=0.4)
    expect(page.get_by_role("table", name="The same day flown again with one token less")).to_contain_text("as it was")
    silent = page.get_by_role("img", name="Where a transmitter without a token may have been")
    expect(silent.locator("visible=true").first).to_be_visible()
    page.get_by_role("link", name="Mort: every cause").click()
    expect(page.get_by_role("heading", name="Every cause", exact=False)).to_be_visible()
    causes = page.get_by_role("table", name="Every cause")
    expect(causes).to_contain_text("Possible: ")
    expect(page.get_by_role("heading", name="What these figures can't do")).to_be_visible()
    page.emulate_media(media="print")
    expect(page.get_by_text("This page names people")).to_be_visible()
    expect(page.get_by_text("Mort")).not_to_be_visible()
    page.emulate_media(media="screen")
    expect(page.get_by_text("This page names people")).not_to_be_visible()
    for summary in page.locator("details > summary").all():
        summary.click()
    assert axe_findings(page) == []
    width = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(width) <= 1
    page.get_by_role("link", name="Who was on air at").click()
    expect(page.get_by_role("table", name="On air").first).to_contain_text("Mort")


BROKEN_WORDS = """table => {
    const found = [], texts = document.createTreeWalker(table, NodeFilter.SHOW_TEXT)
    while (texts.nextNode())
        for (const word of texts.currentNode.data.matchAll(/\\S+/g)) {
            const range = document.createRange()
            range.setStart(texts.currentNode, word.index)
            range.setEnd(texts.currentNode, word.index + word[0].length)
            if (new Set([...range.getClientRects()].map(box => box.top)).size > 1) found.push(word[0])
        }
    return found
}"""


def test_no_word_breaks_in_a_table_on_a_phone_with_text_twice_as_large(demo: Server, new_page: NewPage) -> None:
    page = new_page()
    sign_in(page, demo, "organiser")
    page.goto(demo.base + "/organiser/meets/1/review/causes")
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    table = page.get_by_role("table", name="Report by report")
    expect(table).to_contain_text("transmitter")
    assert table.evaluate(BROKEN_WORDS) == []
    page.set_viewport_size({"width": 200, "height": 844})
    assert table.evaluate(BROKEN_WORDS)


def test_the_report_to_keep_comes_as_a_file(demo: Server, new_page: NewPage) -> None:
    page = new_page()
    sign_in(page, demo, "organiser")
    page.goto(demo.base + "/organiser/meets/1/review")
    with page.expect_download() as download:
        page.get_by_role("link", name="Report (PDF)").click()
    assert re.fullmatch(r"meet-report-\d{4}-\d\d-\d\d-a4\.pdf", download.value.suggested_filename)


@pytest.mark.parametrize(("role", "path", "send"), REPORT_FORMS, ids=["pilot", "marshal"])
def test_a_report_is_sent_without_scrolling_to_the_end_of_its_form(
    demo: Server, new_page: NewPage, role: str, path: str, send: str
) -> None:
    page = new_page()
    sign_in(page, demo, role)
    for size in ("100%", "200%"):
        page.goto(demo.base + path)
        page.evaluate("size => { document.documentElement.style.fontSize = size }", size)
        for choice in ("lines or snow", "in the air"):
            page.get_by_label(choice).check()
        button = page.get_by_role("button", name=send)
        expect(button).to_be_in_viewport(ratio=1)
        button.click(trial=True)  # nothing lies over it
        alarms = page.get_by_role("region", name="Raise an alarm").get_by_role("button")
        places = [alarm.bounding_box() for alarm in alarms.all()]
        assert all(box is not None and box["x"] + box["width"] <= 390 for box in places)
        page.set_viewport_size({"width": 390, "height": 400})
        expect(button).not_to_be_in_viewport()
        page.set_viewport_size({"width": 390, "height": 844})
