"""The poster of a day: codes scanned, words on the page and on no other, on each paper."""

from datetime import UTC, date, datetime

import pytest

from meetapp.flows.printing.day import Day
from meetapp.paper.posters import Wifi, poster
from meetapp.paper.sizes import PAPERS, PaperName
from tests.paper.pages import TOLERANCE_MM, Box, lines_of_text, opened, overlapping, scanned, size_of, text_of

MADE_AT = datetime(2026, 6, 13, 20, 0, tzinfo=UTC)
JOIN = "http://192.168.1.20:8022/join"
RULES = ("No power before you hold the token.", "Give it up when others wait.")
LONGEST = tuple(f"{number} {'Nobody walks out until the course is closed. ' * 6}"[:240].strip() for number in range(8))
NAMES = ("Lower Meadow Flyers", "June meet", "Lower Meadow")
LONG_NAMES = ("Modellflugverein Über den Wiesen " * 2, "The meet with the longest of all possible names " * 2, "W" * 80)


def day(names: tuple[str, str, str] = NAMES, rules: tuple[str, ...] = RULES) -> Day:
    return Day(*names, date(2026, 6, 14), rules)


@pytest.mark.parametrize(
    ("paper", "size"),
    # ISO 216 for A4 and A3; 8.5 x 11 and 11 x 17 inches.
    [("a4", (210, 297)), ("letter", (215.9, 279.4)), ("a3", (297, 420)), ("tabloid", (279.4, 431.8))],
)
def test_every_word_fits(paper: str, size: tuple[float, float]) -> None:
    found = day(LONG_NAMES, LONGEST)
    wifi = Wifi("W" * 32, "W" * 63)
    [page] = opened(poster(found, wifi, f"http://{'w' * 90}:18022/join", PAPERS[PaperName(paper)], MADE_AT))
    assert size_of(page) == (pytest.approx(size[0], abs=TOLERANCE_MM), pytest.approx(size[1], abs=TOLERANCE_MM))
    words = lines_of_text(page)
    assert overlapping(words) == []
    assert all(Box(0, 0, *size).holds(box, by_mm=8) for box in words)
    text = text_of(page).replace("\n", " ")
    assert all(" ".join(rule.split()) in text for rule in found.safety_words)


def test_the_codes_lead_into_the_wi_fi_and_to_the_list_of_names() -> None:
    # The form of the text, with a '\' before ; : " and itself: ZXing wiki, Barcode Contents (from memory).
    content = poster(day(), Wifi('Meadow "west"', "a;b:c\\d,e-f"), JOIN, PAPERS[PaperName.A4], MADE_AT)
    assert scanned(content) == {JOIN, r"WIFI:T:WPA;S:Meadow \"west\";P:a\;b\:c\\d,e-f;;"}


def test_without_a_wi_fi_only_the_join_code_is_there() -> None:
    content = poster(day(), None, JOIN, PAPERS[PaperName.A4], MADE_AT)
    assert scanned(content) == {JOIN}
    assert "Wi-Fi" not in text_of(opened(content)[0])


def test_an_open_wi_fi_needs_no_password() -> None:
    assert Wifi("Meadow", "").scan_text == "WIFI:S:Meadow;;"
