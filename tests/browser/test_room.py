"""Buttons that stand side by side on a phone."""

import pytest

from tests.browser.conftest import NewPage
from tests.browser.crawl import sign_in
from tests.running import Server

pytestmark = pytest.mark.browser


def test_the_two_alarm_buttons_are_equally_high_on_a_phone(demo: Server, new_page: NewPage) -> None:
    phone = new_page()
    sign_in(phone, demo, "marshal")
    phone.goto(demo.base + "/desk")
    buttons = [phone.get_by_role("button", name=name) for name in ("Stray transmitter now", "Everybody down")]
    boxes = [button.bounding_box() for button in buttons]
    heights = {box["height"] for box in boxes if box}
    assert None not in boxes
    assert len(heights) == 1
