"""Sheets of tags, read back from the PDF: sizes in millimetres, words inside their tag, codes scanned."""

import re
from datetime import UTC, datetime
from itertools import pairwise

import pytest
from pdfplumber.page import Page

from meetapp.data.catalog import published_plans
from meetapp.flows.printing.tags import TagsToPrint, TagToPrint, beside
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.paper.tag_sheets import tag_sheets
from tests.paper.pages import (
    TOLERANCE_MM,
    Box,
    box_of,
    lines_of_text,
    opened,
    overlapping,
    quick_texts,
    scanned,
    size_of,
)

MADE_AT = datetime(2026, 6, 13, 20, 0, tzinfo=UTC)
BASE = "http://192.168.1.20:8022"
PLANS = published_plans()
MHZ = sorted({channel.mhz for plan in PLANS for channel in plan.channels})
WORDS = (
    "No power before you hold the token.",
    "Antenna on before power; propellers off on the bench; low power is not silence.",
    "Picture gone: come down now by the club's rule, away from people; nobody walks out until the course is closed.",
)


def near(mm: float) -> object:
    return pytest.approx(mm, abs=TOLERANCE_MM)


def tag(label: str, mhz: int, code: str) -> TagToPrint:
    return TagToPrint(code, label, mhz, *beside(mhz, PLANS, 2))


def view(*tags: TagToPrint, words: tuple[str, ...] = WORDS) -> TagsToPrint:
    return TagsToPrint("Lower Meadow Flyers", words, 2, tags)


def many(count: int) -> TagsToPrint:
    return view(*(tag(f"L{number}", MHZ[number], f"K{number:03}") for number in range(count)))


def printed(found: TagsToPrint, paper: PaperName = PaperName.A4, base: str = BASE, *, two: bool = False) -> bytes:
    return tag_sheets(found, PAPERS[paper], base, MADE_AT, is_double_sided=two)


def tags_of(page: Page) -> list[Box]:
    """The cut lines, row by row."""
    found = [box_of(curve) for curve in page.curves if box_of(curve).width > 20]
    return sorted(found, key=lambda box: (round(box.top), box.left))


def holes_of(page: Page) -> list[Box]:
    found = [box_of(curve) for curve in page.curves if box_of(curve).width < 20]
    return sorted(found, key=lambda box: (round(box.top), box.left))


@pytest.mark.parametrize(("paper", "size"), [(PaperName.A4, (210, 297)), (PaperName.LETTER, (215.9, 279.4))])
def test_a_full_sheet_is_exact(paper: PaperName, size: tuple[float, float]) -> None:
    [page] = opened(printed(many(8), paper))
    # Sizes of paper: ISO 216 (A4) and 8.5 x 11 inches.
    assert size_of(page) == (near(size[0]), near(size[1]))
    tags, holes = tags_of(page), holes_of(page)
    assert len(tags) == len(holes) == 8
    for each, hole in zip(tags, holes, strict=True):
        # A card of size ID-1: 85.60 x 53.98 mm (ISO/IEC 7810). A common punch: 6 mm (ISO 838).
        assert (each.width, each.height) == (near(85.6), near(53.98))
        assert (hole.width, hole.height) == (near(6), near(6))
        assert hole.middle == (near(each.left + 8), near((each.top + each.bottom) / 2))
    lefts, tops = sorted({round(box.left, 2) for box in tags}), sorted({round(box.top, 2) for box in tags})
    assert [len(lefts), len(tops)] == [2, 4]
    # Two rims of 4 mm lie between two tags; the outer rim keeps away from the edge of the paper.
    assert lefts[1] - lefts[0] == near(85.6 + 8)
    assert [b - a for a, b in pairwise(tops)] == [near(62)] * 3
    assert lefts[0] == near((size[0] - 2 * 93.6) / 2 + 4)
    assert tops[0] == near(15)
    assert size[1] - tags[-1].bottom > 15


def test_the_ruler_is_100_mm_long() -> None:
    [page] = opened(printed(many(1)))
    ruler = next(box_of(line) for line in page.lines if line["linewidth"] > 0.8 and line["x1"] - line["x0"] > 100)
    assert ruler.width == near(100)


@pytest.mark.parametrize(("count", "sheets"), [(1, 1), (8, 1), (9, 2), (40, 5)])
def test_every_tag_is_printed_once(count: int, sheets: int) -> None:
    pages = quick_texts(printed(many(count)))
    assert len(pages) == sheets
    assert re.findall("K[0-9]{3}", " ".join(pages)) == [f"K{number:03}" for number in range(count)]


ODD = view(
    tag("R7", 5880, "K7MN"),
    tag("5671", 5671, "WWWWWWWWWWWW"),
    tag("WWWWWWWW", 5732, "OLD-CODE-101"),
    tag("Ñandú·2", 5843, "Q2"),
    words=tuple(f"{number}. {'come down now by the rule of the club, ' * 6}"[:240] for number in range(8)),
)
LONG_BASE = "https://a-very-long-name-of-a-laptop.in-the-club-house-on-the-hill.beside-the-meadow.example.org:18022"


@pytest.mark.parametrize(
    ("found", "paper", "base"),
    [
        pytest.param(many(8), PaperName.LETTER, BASE, id="eight"),
        pytest.param(ODD, PaperName.A4, LONG_BASE, id="odd labels, long address"),
    ],
)
def test_every_word_stands_inside_its_tag_and_on_no_other(found: TagsToPrint, paper: PaperName, base: str) -> None:
    front, back = opened(printed(found, paper, base, two=True))
    for page, places in ((front, tags_of(front)), (back, mirrored(front))):
        words = lines_of_text(page)
        assert overlapping(words) == []
        foot = [box for box in words if box.top > places[-1].bottom]
        inside = [box for box in words if box not in foot]
        assert all(any(place.holds(box, by_mm=2) for place in places) for box in inside)
        assert not any(box.covers(hole) for box in words for hole in holes_of(page))


def mirrored(front: Page) -> list[Box]:
    """Where the tags of a front lie when the sheet is turned over its long edge."""
    width, _height = size_of(front)
    return [Box(width - box.right, box.top, width - box.left, box.bottom) for box in tags_of(front)]


def test_the_back_of_each_tag_lies_behind_its_front() -> None:
    front, back = opened(printed(many(3), two=True))
    behind = mirrored(front)
    for number, place in enumerate(behind):
        words = " ".join(box.text for box in lines_of_text(back) if place.holds(box))
        assert words.startswith(f"L{number} {MHZ[number]} MHz")
        assert "Your own page shows how on your transmitter." in words
        assert "No power before you hold the token." in words
    width, _height = size_of(front)
    through = [(width - hole.middle[0], hole.middle[1]) for hole in holes_of(front)]
    assert sorted(hole.middle for hole in holes_of(back)) == [(near(x), near(y)) for x, y in sorted(through)]


def test_cautions_that_do_not_fit_are_left_out_whole() -> None:
    [_front, back] = opened(printed(view(tag("R1", 5658, "K7MN"), words=ODD.safety_words), two=True))
    text = " ".join(box.text for box in lines_of_text(back))
    shown = [words for words in ODD.safety_words if " ".join(words.split()) in text]
    assert 1 <= len(shown) < len(ODD.safety_words)
    assert text.count("come down now") == sum(words.count("come down now") for words in shown)


@pytest.mark.parametrize(
    ("paper", "base"), [(PaperName.A4, BASE), (PaperName.LETTER, LONG_BASE)], ids=["short", "long"]
)
def test_the_codes_scan_to_the_address_of_each_token(paper: PaperName, base: str) -> None:
    assert scanned(printed(many(8), paper, base)) == {f"{base}/t/K{number:03}" for number in range(8)}


def test_a_tag_names_the_same_channel_and_the_near_ones() -> None:
    # 5880 MHz is R7 and F8; A2 at 5845 MHz is 2 above R6 at 5843 MHz (the published plans).
    [page] = opened(printed(view(tag("R7", 5880, "K7MN"), tag("R6", 5843, "Q2WE"), tag("5671", 5671, "ZZ22"))))
    text = "\n".join(box.text for box in lines_of_text(page))
    assert "Same: F8" in text
    assert "Near: A2 +2 MHz" in text
    assert "Same: no other channel" in text
    assert "5880 MHz" in text


def test_the_document_asks_the_printer_not_to_scale() -> None:
    # /PrintScaling and /Duplex: viewer preferences, ISO 32000-1 table 150.
    content = printed(many(1), two=True)
    assert b"/PrintScaling /None" in content
    assert b"/Duplex /DuplexFlipLongEdge" in content
    assert b"/Duplex" not in printed(many(1))
