"""A whole day at phone size, from an empty database to a closed meet and back from its file."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import NewPage
from tests.browser.day import NAMES, Marshal, Organiser, follow, press, says, set_up_club
from tests.running import Server

pytestmark = pytest.mark.browser


def fly(marshal: Marshal, hand_outs: int) -> None:
    """Hand out along the line, take back what has been out longest, put its pilot into the line again."""
    done = 0
    while done < hand_outs:
        if marshal.can_hand_out():
            marshal.hand_out_next()
            done += 1
        else:
            back = marshal.take_back_longest()
            marshal.into_line(back.rsplit("from ", 1)[1].strip())


def hand_over_once(marshal: Marshal) -> None:
    marshal.open("/desk")
    for place in range(marshal.page.get_by_role("link", name=re.compile("^Hand over")).count()):
        marshal.open("/desk")
        follow(marshal.page, re.compile("^Hand over"), place)
        offered = marshal.page.get_by_role("button", name=re.compile("^Hand .+ over to"))
        if offered.count():
            offered.first.click()
            says(marshal.page, "Set this on the transmitter")
            return
    raise AssertionError("nobody in the line can take a token over")


def undo_a_take_back(marshal: Marshal) -> None:
    before = marshal.on_air()
    marshal.take_back_longest()
    press(marshal.page, "Undo")
    says(marshal.page, "Undone.")
    assert marshal.on_air() == before


def lose_and_find_a_token(marshal: Marshal) -> None:
    marshal.open("/desk")
    marshal.page.get_by_label("Tokens not out").get_by_role("link").first.click()
    press(marshal.page, "It is missing")
    says(marshal.page, "missing")


def stray_transmitter(marshal: Marshal, others: list[Marshal]) -> None:
    marshal.open("/desk")
    press(marshal.page, "Stray transmitter now")
    for page in [marshal.page, *(other.page for other in others)]:
        page.goto(marshal.server.base + "/board")
        says(page, "Stray transmitter")
    marshal.open("/desk")
    press(marshal.page, "It is over")
    expect(marshal.page.get_by_role("button", name="It is over")).to_have_count(0)


def report_a_clash(marshal: Marshal, who: str) -> None:
    marshal.open("/desk/reports/new")
    lately = marshal.page.get_by_role("radio", name=who)
    if lately.count():
        lately.check()
    else:
        for folded in marshal.page.get_by_text("Name somebody else").all():
            folded.click()
        marshal.page.get_by_role("combobox", name=re.compile("Who|Somebody else")).select_option(who)
    marshal.page.get_by_label("lines or snow").check()
    press(marshal.page, "Write it down")
    says(marshal.page, re.compile("report", re.IGNORECASE))


def test_a_whole_day_as_its_three_people(empty_club: Server, new_page: NewPage, tmp_path: Path) -> None:
    organiser = Organiser(new_page(), empty_club)
    pin = set_up_club(organiser)
    marshal = Marshal(new_page(), empty_club)
    marshal.join(pin)
    marshal.check_in(*NAMES[:14])
    marshal.check_in_new("Newt Newcomer", "Analogue, 40 channels (A B E F R)")
    marshal.into_line(*NAMES[:12])

    pilot = new_page()
    pilot.goto(empty_club.base + "/join")
    pilot.get_by_label(re.compile("Find|Search|name", re.IGNORECASE)).first.fill(NAMES[0])
    press(pilot, re.compile("Find|Search"))
    follow(pilot, NAMES[0])
    press(pilot, re.compile("I am|Claim|This is me"))
    says(pilot, "No power before you hold the token")

    fly(marshal, 20)
    hand_over_once(marshal)
    undo_a_take_back(marshal)
    marshal.take_back_longest()
    lose_and_find_a_token(marshal)
    stray_transmitter(marshal, [Marshal(new_page(), empty_club)])
    report_a_clash(marshal, NAMES[1])
    fly(marshal, 10)

    organiser.close_meet()
    facts = organiser.review_facts(organiser.facts["home"])
    assert "30" in facts or "31" in facts, facts
    again = organiser.read_back(organiser.export(tmp_path))
    assert organiser.review_facts(again) == facts
