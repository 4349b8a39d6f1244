"""A small club whose marshal flies too: two pilots take, pass on and bring back tokens with their own phones."""

import re

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import NewPage
from tests.browser.day import NAMES, Organiser, follow, press, says, set_up_club
from tests.running import Server

pytestmark = pytest.mark.browser

# What comes into a live region that stands already, which is what screen readers read out.
READ_OUT = """() => {
  new MutationObserver((changes) => {
    for (const { target, addedNodes } of changes)
      if (target.closest("[role=status]") && addedNodes.length)
        document.documentElement.setAttribute("data-read-out", addedNodes[0].textContent);
  }).observe(document, { subtree: true, childList: true });
}"""


def claim(page: Page, server: Server, name: str) -> None:
    page.goto(server.base + "/join")
    page.get_by_label(re.compile("name", re.IGNORECASE)).first.fill(name)
    press(page, "Find")
    follow(page, name)
    press(page, f"Yes, I am {name}")
    says(page, "No power before you hold the token")


def take_by_code(page: Page, server: Server, code: str) -> None:
    page.goto(server.base + "/t")
    page.get_by_label("Code").fill(code.lower())
    press(page, "Open")
    press(page, re.compile("^I take"))
    says(page, "You hold")


def test_two_pilots_run_a_meet_between_themselves(empty_club: Server, new_page: NewPage) -> None:
    organiser = Organiser(new_page(phone=False), empty_club)
    set_up_club(organiser, self_service=True)
    organiser.open("/organiser/tokens")
    code = re.search(r"code (\w{4})", organiser.page.inner_text("main"))
    assert code

    ada, eli = new_page(), new_page()
    claim(ada, empty_club, NAMES[0])
    claim(eli, empty_club, NAMES[4])
    take_by_code(ada, empty_club, code.group(1))

    eli.goto(f"{empty_club.base}/t/{code.group(1)}")
    says(eli, f"Only {NAMES[0]} brings it back or passes it on")

    follow(ada, "Pass it on")
    eli.goto(empty_club.base + "/my")
    asked = []
    for phone in (ada, eli):
        phone.on("request", lambda request: asked.append(request.url))
    press(ada, re.compile(NAMES[4]))
    says(ada, f"Offered to {NAMES[4]}")
    press(eli, re.compile("^I have the tag"))  # it comes by itself, with a form that works
    says(eli, "You hold")
    says(ada, "I want to fly")
    assert not [url for url in asked if "/my/live" in url], "what is new comes with the news"

    eli.goto(empty_club.base + "/my")
    press(eli, re.compile("hangs on the board again"))
    says(eli, "Not in the line")
    organiser.open("/board")
    says(organiser.page, "On air")
    organiser.open("/desk/journal")
    for words in ("handed out to Ada Bog", "Eli Fern"):
        says(organiser.page, words)


def test_a_pilot_s_page_works_without_javascript(own_demo: Server, new_page: NewPage) -> None:
    page = new_page(javascript=False)
    page.goto(own_demo.base + own_demo.printed_path(r"/my/\S+"))
    assert page.locator('noscript meta[http-equiv="refresh"], meta[http-equiv="refresh"]').count() == 1
    press(page, re.compile("Leave the line|I want to fly"))
    says(page, re.compile("I want to fly|Number|You are next"))


def test_the_desk_works_without_javascript(own_demo: Server, new_page: NewPage) -> None:
    page = new_page(javascript=False)
    page.goto(own_demo.base + own_demo.printed_path(r"/desk/join/\S+"))
    page.get_by_label("Your name").fill("Mo")
    press(page, "Open the desk")
    press(page, re.compile("^Hand out .+ to "))
    says(page, "Set this on the transmitter")
    follow(page, "Back to the desk")
    press(page, re.compile("^Take back"))
    press(page, "Undo")
    says(page, "Undone.")


def test_the_desk_changes_by_itself_when_somebody_else_acts(own_demo: Server, new_page: NewPage) -> None:
    mo, lu = new_page(), new_page()
    for page, name in ((mo, "Mo"), (lu, "Lu")):
        page.goto(own_demo.base + own_demo.printed_path(r"/desk/join/\S+"))
        page.get_by_label("Your name").fill(name)
        press(page, "Open the desk")
    button = lu.get_by_role("button", name=re.compile("^Hand out .+ to "))
    words = button.first.inner_text()
    press(mo, words)
    says(mo, "Set this on the transmitter")
    button.filter(has_text=words).wait_for(state="detached")
    follow(mo, "Back to the desk")
    mo.evaluate(READ_OUT)
    press(mo, re.compile("^Take back"))
    expect(mo.locator("html")).to_have_attribute("data-read-out", re.compile("is back from"))
