"""Setting cards read back from the PDF: sizes in millimetres, levers at their ends, every channel once, words apart."""

import re
from datetime import UTC, datetime

import pytest
from pdfplumber.page import Page

from meetapp.data.catalog import published_plans
from meetapp.flows.club.setting_cards import channels_of
from meetapp.flows.printing.setting_card import CardToPrint, ChannelToPrint
from meetapp.paper.card_places import CardSize
from meetapp.paper.setting_cards import setting_card_sheets
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.rules.counting import Counting, patterns_by_counting
from meetapp.rules.setting_card_text import parse_card
from meetapp.rules.setting_cards import Button, Card, Menu, Presses, SwitchBank
from meetapp.spectrum.tuning import parse_tuning
from tests.paper.pages import TOLERANCE_MM, Box, box_of, lines_of_text, opened, overlapping, text_of

MADE_AT = datetime(2026, 6, 13, 20, 0, tzinfo=UTC)
PLANS = published_plans()
EVERY = channels_of(parse_tuning("A B E F R", PLANS))
ONLY_F = channels_of(parse_tuning("F", PLANS))
SIZES = {CardSize.ID1: (85.60, 53.98), CardSize.QUARTER: (105, 148.5)}
"""ID-1 by ISO/IEC 7810; A4 (210 x 297 mm, ISO 216) halved twice."""


def bank(levers: int, channels: dict[str, int], *, on_is_up: bool = True) -> SwitchBank:
    return SwitchBank(levers, on_is_up, patterns_by_counting(list(channels), levers, Counting()))


def card_of(card: Card, channels: dict[str, int], hint: str = "Set it before power.") -> CardToPrint:
    told = tuple(ChannelToPrint(name, mhz, card.to_do(name, mhz)) for name, mhz in channels.items())
    return CardToPrint("Lower Meadow Flyers", "The little one", "", hint, card, told)


def printed(view: CardToPrint, size: CardSize, paper: PaperName = PaperName.A4) -> list[Page]:
    return opened(setting_card_sheets(view, size, PAPERS[paper], MADE_AT))


def rects(page: Page, *, wide: bool) -> list[Box]:
    return [box for box in map(box_of, page.rects) if (box.width > 20) == wide]


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.LETTER])
@pytest.mark.parametrize("size", list(CardSize))
def test_a_card_has_its_size_and_lies_on_the_paper(size: CardSize, paper: PaperName) -> None:
    [page] = printed(card_of(bank(3, ONLY_F), ONLY_F), size, paper)
    [card] = rects(page, wide=True)
    assert (card.width, card.height) == pytest.approx(SIZES[size], abs=TOLERANCE_MM)
    assert card.left >= -TOLERANCE_MM
    assert card.top >= -TOLERANCE_MM


def test_four_quarters_cover_a_sheet_of_a4() -> None:
    many = {str(mhz): mhz for mhz in range(5650, 5714)}
    pages = printed(card_of(bank(7, many), many), CardSize.QUARTER)
    corners = [(card.left, card.top) for page in pages for card in rects(page, wide=True)][:4]
    expected = [(0, 0), (105, 0), (0, 148.5), (105, 148.5)][: len(corners)]
    assert len(corners) >= 3
    for corner, place in zip(corners, expected, strict=True):
        assert corner == pytest.approx(place, abs=TOLERANCE_MM)


@pytest.mark.parametrize("on_is_up", [True, False])
def test_each_lever_stands_at_its_end(on_is_up: bool) -> None:
    card = bank(3, ONLY_F, on_is_up=on_is_up)
    [page] = printed(card_of(card, ONLY_F), CardSize.ID1)
    small = rects(page, wide=False)
    slots = [box for box in small if box.height > 4]
    levers = [box for box in small if box.height <= 4]
    assert len(slots) == len(levers) == 3 * len(ONLY_F)
    by_channel = [place for pattern in card.patterns.values() for place in pattern]
    for slot, lever, is_on in zip(slots, levers, by_channel, strict=True):
        assert slot.holds(lever, -TOLERANCE_MM)
        assert (lever.middle[1] < slot.middle[1]) == (is_on == on_is_up)


LAMPS = Button(
    ("red", "blue"),
    "one long press, two seconds",
    "one short press, counted from the first channel",
    {name: Presses(place // 8, place % 8, ("1", f"x{place % 8 + 1}")) for place, name in enumerate(EVERY)},
)
LONG = Button(tuple("abcdefghijklmnop"), "x " * 60, "y " * 60, {"F1": Presses(99, 99, ("b",) * 16)})


@pytest.mark.parametrize("size", list(CardSize))
@pytest.mark.parametrize(
    ("view", "cards_id1"),
    [
        pytest.param(card_of(bank(3, ONLY_F), ONLY_F), 1, id="eight by switches"),
        pytest.param(card_of(bank(10, EVERY), EVERY, "h" * 300), 20, id="forty by many switches"),
        pytest.param(card_of(LAMPS, EVERY), 7, id="forty by a button"),
        pytest.param(card_of(LONG, ONLY_F, "Ñandú " * 50), 8, id="many lamps and words"),
        pytest.param(card_of(Menu(), EVERY), 3, id="forty by a menu"),
        pytest.param(card_of(parse_card("switches 2 up\nF1 01"), ONLY_F), 1, id="most not told"),
    ],
)
def test_every_channel_stands_once_inside_its_card(view: CardToPrint, size: CardSize, cards_id1: int) -> None:
    pages = printed(view, size)
    names: list[str] = []
    for page in pages:
        words, cards = lines_of_text(page), rects(page, wide=True)
        assert overlapping(words) == []
        for each in words:
            assert any(card.holds(each, 2.5) for card in cards), each.text
        names += [each.text for each in words if each.text in {channel.name for channel in view.channels}]
    assert sorted(names) == sorted(channel.name for channel in view.channels)
    count = sum(len(rects(page, wide=True)) for page in pages)
    assert count <= cards_id1
    assert "No power before you hold the token." in text_of(pages[0])
    if count > 1:
        assert re.search(f"card 1 of {count}", text_of(pages[0]))


def test_a_card_says_what_holds_for_all_of_it() -> None:
    [page] = printed(card_of(LAMPS, dict(list(EVERY.items())[:4])), CardSize.ID1)
    text = " ".join(text_of(page).split())
    for words in ("Press for the plan: one long press", "red, blue. Full: lit.", "Number: blinks so often."):
        assert words in text
    [page] = printed(card_of(Menu(by_mhz=True), {"5740": 5740}), CardSize.ID1)
    assert "In the menu: the frequency in MHz." in text_of(page)
