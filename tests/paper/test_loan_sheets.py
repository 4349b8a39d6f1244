"""The loan sheet: rows to write in, known loans first, and everything inside its cell."""

from datetime import UTC, date, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from meetapp.flows.desk.paper import ROWS_MAX
from meetapp.flows.printing.day import Day
from meetapp.flows.printing.loan_sheet import LoanSheet
from meetapp.flows.snapshot import OnAir, TokenNow
from meetapp.paper.loan_sheets import loan_sheets
from meetapp.paper.sizes import PAPERS, PaperName
from tests.paper.pages import Box, lines_of_text, opened, overlapping, size_of

NOON = datetime(2026, 6, 14, 12, 0, tzinfo=UTC)
WORDS = ("No power before you hold the token.", "Give it up when others wait.")
ODD_NAMES = ("Ana", "Ñandú Peña-Øster", "Łukasz Żółć", "W" * 24, "Δημήτρης", "Юля", "Zoë 🛩", "a" * 80)


def sheet(names: tuple[str, ...] = (), tokens: int = 4, words: tuple[str, ...] = WORDS) -> LoanSheet:
    on_air = tuple(
        OnAir(at, at, "WWWWWWWW", at, name, "R1", 5658 + at, 20, 25, at, NOON, None, None, "")
        for at, name in enumerate(names)
    )
    shown = tuple(TokenNow(at, f"K{at:03}", f"L{at}", 5658 + at, "in") for at in range(tokens))
    day = Day("Lower Meadow Flyers", "June meet", "Lower Meadow", date(2026, 6, 14), words)
    return LoanSheet(day, ZoneInfo("Europe/Berlin"), shown, on_air)


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.LETTER])
@pytest.mark.parametrize(
    "found",
    [
        pytest.param(sheet(), id="before the meet"),
        pytest.param(sheet(ODD_NAMES, tokens=40, words=("All of them are to come down now. " * 7,) * 8), id="full"),
    ],
)
def test_every_row_can_be_written_into(paper: PaperName, found: LoanSheet) -> None:
    [page] = opened(loan_sheets(found, PAPERS[paper], NOON))
    words = lines_of_text(page)
    width, height = size_of(page)
    assert overlapping(words) == []
    assert all(Box(0, 0, width, height).holds(box, by_mm=8) for box in words)
    numbers = [box for box in words if box.text.isdecimal() and box.left < 20]
    assert [box.text for box in numbers] == [str(at) for at in range(1, len(numbers) + 1)]
    assert 8 <= len(numbers) <= ROWS_MAX
    steps = [below.bottom - above.bottom for above, below in pairwise(numbers)]
    assert min(steps) >= 7
    assert [box.text for box in words if box.text == "*"] == ["*"] * len(found.on_air)


def test_names_keep_their_accents_and_what_can_not_be_printed_is_a_box() -> None:
    [page] = opened(loan_sheets(sheet(ODD_NAMES), PAPERS[PaperName.A4], NOON))
    texts = {box.text for box in lines_of_text(page)}
    assert {"Ñandú Peña-Øster", "Łukasz Żółć", "Δημήτρης", "Юля", "Zoë □"} <= texts


def test_more_loans_than_a_sheet_takes_go_on_the_next() -> None:
    pages = opened(loan_sheets(sheet(tuple(f"Pilot {at}" for at in range(13))), PAPERS[PaperName.A4], NOON))
    known = [[box.text for box in lines_of_text(page) if box.text.startswith("Pilot ")] for page in pages]
    assert [len(each) for each in known] == [12, 1]
