"""The report of a meet: everything inside its margins, no words on others, reports without room on pages behind."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from meetapp.flows.printing.day import Day
from meetapp.flows.printing.meet_report import MeetReport, ReportLine
from meetapp.paper.meet_reports import MARGIN_MM, meet_report_page
from meetapp.paper.sizes import PAPERS, PaperName
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import measure
from tests.paper.pages import TOLERANCE_MM, Box, lines_of_text, opened, overlapping, size_of, text_of

MADE_AT = datetime(2026, 6, 14, 20, 0, tzinfo=UTC)
ADDRESS = "http://192.168.1.20:8022/organiser/meets/3/review"
LINE = ReportLine(
    "14:43",
    "5740 MHz",
    "lines or snow, in the air",
    "two loans nearer than the picture bears (5735 MHz) 61 %; own goggles, antenna, range or battery 20 %",
)
REPORT = MeetReport(
    day=Day("Lower Meadow Flyers", "June meet", "Lower Meadow", date(2026, 6, 14), ()),
    is_so_far=False,
    tokens=(("R1", 5658), ("F1", 5740), ("R8", 5917)),
    measures=measure([Carrier(5658), Carrier(5740), Carrier(5917)]),
    numbers=(("Flights", "4 by 3 pilots, 61 min on air, 3 at once at most"), ("Clash reports", "1")),
    reports=(LINE,),
    blame="Possibly in part. By these odds the one report may come from the set: 0.6.",
    kinds="two loans nearer than the picture bears: 0.6; own goggles, antenna, range or battery: 0.2",
    silent=("14:40 to 14:45, near 5695 MHz (5691 to 5697 in nine of ten cases): 8 %; it would explain 1 report.",),
    advice=("Nothing in this meet's record asks for another set, floor or transmitter.",),
    limits="These are estimates. Ask, before anybody is told that it was them. " * 5,
    address=ADDRESS,
)
BUSY = replace(
    REPORT,
    is_so_far=True,
    day=replace(REPORT.day, meet_name="The long meet of the three clubs by the river " * 3, club_name="W" * 60),
    tokens=tuple((f"T{at}", 5650 + 7 * at) for at in range(40)),
    reports=tuple(replace(LINE, when=f"14:{at:02}") for at in range(60)),
    silent=REPORT.silent * 5,
    advice=("Leave out a token, or move it, since it makes a product that falls beside another. " * 2,) * 8,
)


def in_a_row(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("paper", [PaperName.A4, PaperName.LETTER])
@pytest.mark.parametrize("view", [REPORT, BUSY, replace(REPORT, reports=(), silent=(), tokens=())])
def test_everything_lies_inside_the_margins(view: MeetReport, paper: PaperName) -> None:
    pages = opened(meet_report_page(view, PAPERS[paper], MADE_AT))
    assert (len(pages) > 1) == (view is BUSY)
    for page in pages:
        width, height = size_of(page)
        assert width == pytest.approx(PAPERS[paper].width_mm, abs=TOLERANCE_MM)
        assert height == pytest.approx(PAPERS[paper].height_mm, abs=TOLERANCE_MM)
        words = lines_of_text(page)
        assert overlapping(words) == []
        # What hangs below the last baseline may reach a little into the margin.
        assert all(Box(0, 0, width, height).holds(box, by_mm=MARGIN_MM - 1.5) for box in words)


def test_it_says_whose_day_it_was_and_what_each_report_may_have_been() -> None:
    [page] = opened(meet_report_page(REPORT, PAPERS[PaperName.A4], MADE_AT))
    text = in_a_row(text_of(page))
    for words in (
        "June meet",
        "Lower Meadow Flyers",
        "Report of 2026-06-14, Lower Meadow",
        "R1, 5658 MHz; F1, 5740 MHz; R8, 5917 MHz.",
        "Spacing 82 MHz, clearance 95 MHz, all of them on air.",
        "4 by 3 pilots",
        "14:43",
        "Was it the channel set? Possibly in part. By these odds the one report may come from the set: 0.6.",
        "Added up over all reports, of about so many each kind would be the cause: two loans nearer",
        "near 5695 MHz (5691 to 5697 in nine of ten cases): 8 %",
        f"In full, with names, for the organiser: {ADDRESS}",
    ):
        assert words in text, words
    assert "so far" not in text
    assert " more" not in text


def test_what_is_a_little_too_long_for_one_page_stands_on_it_in_smaller_letters() -> None:
    many = replace(REPORT, reports=tuple(replace(LINE, when=f"14:{at:02}") for at in range(15)), silent=BUSY.silent[:3])
    [page] = opened(meet_report_page(many, PAPERS[PaperName.A4], MADE_AT))
    assert all(f"14:{at:02}" in text_of(page).split("\n") for at in range(15))
    [usual] = opened(meet_report_page(REPORT, PAPERS[PaperName.A4], MADE_AT))
    sizes = [{round(char["size"], 2) for char in each.chars} for each in (usual, page)]
    assert 9.0 in sizes[0]
    assert 9.0 not in sizes[1]


def test_reports_that_find_no_room_stand_on_pages_behind() -> None:
    pages = [text_of(page) for page in opened(meet_report_page(BUSY, PAPERS[PaperName.A4], MADE_AT))]
    shown = [[at for at in range(60) if f"14:{at:02}" in text.split("\n")] for text in pages]
    assert [at for page in shown for at in page] == list(range(60))
    assert all(shown)
    text = pages[0]
    assert f"and {60 - len(shown[0])} more on the next page" in text
    assert "and 16 more." in in_a_row(text)
    assert "and 3 more" in text.split("\n")
    assert "so far: the meet isn't closed" in text
