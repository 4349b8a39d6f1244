"""The drawing of a setting on the pilot's own phone: right under the channel, whole, with its words apart."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import expect

from meetapp.flows.club.setting_cards import CardDraft, save_card
from meetapp.flows.loans import loans
from meetapp.flows.loans.loans import HandOut
from meetapp.store.engine import Store, sqlite_url
from tests.acting import deed
from tests.browser.conftest import PHONE, NewPage, axe_findings
from tests.browser.day import says
from tests.browser.test_drawings import TROUBLE
from tests.browser.test_self_service import claim
from tests.quick_start import quick_server
from tests.running import Server
from tests.world import World

pytestmark = pytest.mark.browser


@pytest.fixture
def ana_on_r1(club_file: Path, served_world: tuple[Path, World]) -> Iterator[Server]:
    """A server on the test meet, where Ana holds R1 and her transmitter has three switches."""
    store, world = Store(sqlite_url(club_file)), served_world[1]
    save_card(store, deed(), world.kinds["analogue 40"], CardDraft("switches", told={"R1": "1 0 1"}))
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots["Ana"], world.tokens["R1"]))
    store.close()
    with quick_server("serve", "--database", str(club_file)) as server:
        yield server


def test_the_switches_stand_right_under_the_channel(ana_on_r1: Server, new_page: NewPage) -> None:
    page = new_page()
    claim(page, ana_on_r1, "Ana")
    says(page, "You hold R1")
    drawing = page.get_by_role("img", name="Switches for R1")
    expect(drawing).to_be_visible()
    big, drawn = page.locator(".big").bounding_box(), drawing.bounding_box()
    assert big is not None
    assert drawn is not None
    assert 0 <= drawn["y"] - (big["y"] + big["height"]) < 40
    # It stands at its own size: all drawings of settings are alike.
    assert drawn["width"] == pytest.approx(float(drawing.get_attribute("width") or 0), abs=1)
    assert drawn["x"] >= 0
    assert drawn["x"] + drawn["width"] <= PHONE["width"]
    # Three slots, and a lever in each that fills about half of it.
    slots, levers = drawing.locator("rect.d-inside").all(), drawing.locator("rect.d-solid").all()
    assert len(slots) == len(levers) == 3
    for slot, lever in zip(slots, levers, strict=True):
        around, inside = slot.bounding_box(), lever.bounding_box()
        assert around is not None
        assert inside is not None
        assert around["y"] <= inside["y"]
        assert inside["y"] + inside["height"] <= around["y"] + around["height"]
        assert inside["height"] < around["height"] / 2
    says(page, "Switches 1 and 3 on, switch 2 off. With switch 1 on the left, ON is up.")
    assert page.evaluate(TROUBLE) == []
    assert axe_findings(page) == []
