"""What it may have been: every report with its causes, the air without a token, what to change; organiser only."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from bs4 import BeautifulSoup

from meetapp.flows.desk import reports
from meetapp.flows.files import meet_import
from meetapp.flows.files.meet_file import export_meet, meet_file_text
from meetapp.flows.printing.meet_report import nameless
from meetapp.flows.review.explanations import AdviceView, MayBeView, SilentView
from meetapp.flows.review.look_back import InUse, SilentFacts
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.desk import Desk
from tests.drawings.written import templates
from tests.meet_day import close_it, fly_a_day, organisers
from tests.paper.pages import quick_texts
from tests.surfer import Surfer
from tests.world import Clock, World


@pytest.fixture
def day(store: Store, world: World, clock: Clock) -> Desk:
    """A day with two reports: Cy beside a camera 5 MHz away, and somebody without a loan."""
    desk = Desk(store, world, clock)
    fly_a_day(desk)
    return desk


def section(person: Surfer, anchor: str) -> str:
    found = person.page.find(id=anchor)
    assert found is not None, anchor
    place = found if found.name == "section" else found.find_parent("section")
    assert place is not None
    return " ".join(place.get_text(" ").split())


def test_from_the_review_to_every_cause_of_a_report(organiser: Surfer, day: Desk) -> None:
    close_it(day)
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    organiser.follow("What it may have been")
    assert "So far" not in organiser.text
    row = next(tr for tr in organiser.page.find_all("tr") if "Cy" in tr.get_text())
    assert "two loans nearer than the picture bears" in row.get_text()
    assert re.search(r"own goggles, antenna, range or battery \(\d+\s%\)|little else", row.get_text())
    assert "in a third to a half of the reports" in section(organiser, "limits")
    organiser.follow("Cy: every cause")
    told = section(organiser, "report")
    for words in ("Who Cy", "14:43, give or take 2 min", "lines or snow", "in the air", "unsure", "5740 MHz"):
        assert words in told, words
    causes = section(organiser, "causes")
    assert "Possible: a transmitter without a pilot (given 5735 MHz), 5 MHz from the channel" in causes
    assert "5735 MHz a transmitter without a pilot 5 MHz" in section(organiser, "beside")
    shares = [cell.get_text() for cell in organiser.page.find_all("td", {"data-head": "How likely"})]
    whole = [int(share.split("\xa0")[0]) for share in shares if share[0].isdigit()]
    assert 90 <= sum(whole) <= 105
    assert whole == sorted(whole, reverse=True)
    organiser.follow("Who was on air at 14:43")
    assert "On air at 14:43" in organiser.text


def test_a_report_that_fits_no_loan_says_so(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review/causes")
    organiser.follow("somebody: every cause")
    assert "no one loan fits this report" in section(organiser, "report")
    assert organiser.page.find(id="beside") is None


def test_an_open_meet_is_explained_so_far(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review/causes")
    assert "So far The meet isn't closed, 3 tokens or transmitters are still out" in organiser.text


def test_a_set_with_one_token_less_is_flown_again_beside_the_wait_that_was(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review/causes")
    told = section(organiser, "again")
    assert "as it was 80 MHz" in told
    assert "without R8, 5917 MHz 80 MHz" in told
    assert "Really seen" in told
    assert "By the formula" in told


def test_a_meet_without_reports_has_its_waits_only(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/review")
    organiser.follow("Waits and what to change")
    assert "Nobody reported a clash so far." in organiser.text
    assert organiser.page.find(id="reports") is None
    assert "Nothing in this meet's record asks clearly for another set" in section(organiser, "change")


def test_a_report_that_was_undone_or_never_was_is_not_found(organiser: Surfer, day: Desk) -> None:
    with day.store.write() as session:
        session.get_one(t.ClashReport, 1).voided_at = day.clock()
        session.commit()
    for ref in (1, 99):
        organiser.open(f"/organiser/meets/{day.world.meet}/review/causes/{ref}")
        assert organiser.status == 404


def test_what_turns_up_at_two_meets_is_told_for_both(organiser: Surfer, day: Desk, store: Store) -> None:
    address = f"/organiser/meets/{day.world.meet}/review/several-meets"
    organiser.open(address)
    assert "It takes two meets with clash reports." in organiser.text
    draft = reports.ReportDraft(day.world.meet, day.world.pilots["Cy"], "other_picture", "flight", minutes_ago=1)
    reports.add(day.store, day.deed(), draft)
    close_it(day)
    text = meet_file_text(export_meet(store, day.world.meet, day.clock()))
    earlier = text.replace("June meet", "May meet").replace("2026-06-", "2026-05-")
    meet_import.import_meet(store, organisers(day), earlier)
    organiser.open(address)
    assert "At 2 meets pictures on 5740 MHz were possibly disturbed from outside" in section(organiser, "again")
    assert "Channels" in section(organiser, "again")
    assert "more reports by chance alone" in section(organiser, "again")
    assert "May meet 2026-05-14 3" in section(organiser, "meets")


def test_a_report_told_when_nothing_was_out_says_which_flight_it_is_taken_for(organiser: Surfer, day: Desk) -> None:
    day.clock.forward(minutes=20)
    draft = reports.ReportDraft(day.world.meet, day.world.pilots["Ana"], "lines", "flight", minutes_ago=0)
    reports.add(day.store, day.deed(), draft)
    home = f"/organiser/meets/{day.world.meet}/review"
    organiser.open(f"{home}/causes")
    organiser.follow("Ana: every cause")
    told = section(organiser, "report")
    assert "not at the time told, but of their flights the likeliest to be meant. All below is about that one." in told
    assert re.search(r"Set to \d+ MHz, from \d\d:\d\d to \d\d:\d\d: not at", told)
    organiser.open(f"{home}/causes")
    organiser.follow("Cy: every cause")
    assert "not at the time told" not in section(organiser, "report")


def test_the_report_to_send_says_what_it_may_have_been_and_never_who(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    organiser.follow("Report (PDF)")
    assert organiser.response.headers["content-disposition"].endswith('"meet-report-2026-06-14-a4.pdf"')
    [text] = quick_texts(organiser.response.content)
    for words in ("two loans nearer than the picture bears (beside 5735 MHz)", "14:43", "4 by 3 pilots", "so far"):
        assert words in " ".join(text.split()), words
    names = [name for pilot in day.rows(t.Pilot) for name in (pilot.name, pilot.board_name)]
    for secret in (*names, "line camera", "by the second gate", "Mo", "the camera can't do"):
        assert not re.search(rf"\b{re.escape(secret)}\b", text), secret


def test_advice_about_one_pilot_is_printed_without_the_pilot() -> None:
    ana = AdviceView("check_transmitter", "About one report may come from Ana's transmitter.", 1.2)
    bo = AdviceView("check_transmitter", "About one report may come from Bo's transmitter.", 0.9)
    kit = AdviceView("check_kit", "Own goggles may be the cause of Cy's report.", 0.8)
    new = AdviceView("something_new", "Di did it.", 0.7)
    other = AdviceView("token_count", "With 7 instead of 6 tokens.", 0.0)
    assert list(nameless((ana, bo, kit, new, other))) == [
        "About 2 reports may come from transmitters of 2 pilots on another channel than given: read channels back at "
        "the hand-out.",
        "About one report of one pilot may come from own goggles, antenna, range or battery: try the kit on the bench.",
        "About one report: the organiser's page says more.",
        other.sentence,
    ]


def test_a_transmitter_without_a_token_is_told_with_everybody_it_may_have_been() -> None:
    at = datetime(2026, 6, 14, 12, 40, tzinfo=UTC)
    curve = ((5690, 0.25), (5695, 0.745), (5800, 0.005))
    people = (MayBeView("Ana", 5695, 0.7), MayBeView("Bo", 5690, 0.3))
    likely = SilentView(5695, 5688, 5697, 0.62, at, at + timedelta(minutes=9), curve, (1, 2), people, "")
    hardly = replace(likely, mhz=5800, probability=0.06, may_be=())
    in_use = (InUse(5658, "Cy"), InUse(5740, "Di"))
    call = '{% from "review/_parts.html" import silent_transmitters %}{{ silent_transmitters(silent, zone) }}'
    silent = [SilentFacts(each, in_use) for each in (likely, hardly)]
    html = templates().from_string(call).render(silent=silent, zone=UTC)
    words = " ".join(BeautifulSoup(html, "html.parser").get_text(" ").split())
    for told in (
        "Near 5695 MHz, 12:40 to 12:49",
        "That there was one at all: 62 %, more likely than not.",
        "between 5688 and 5697 MHz in nine of ten cases, and would explain 2 reports",
        "5695 74 % anywhere else under 1 %",
        "5658 Cy 5740 Di",
        "Ana 5695 MHz 70 % Bo 5690 MHz 30 % somebody else – can't be told",
        "It may as well have been somebody whom the journal doesn't show.",
        "Another: 6 %, near 5800 MHz at 12:40",
        "Nobody in the journal had a transmitter that wakes near there.",
    ):
        assert told in words, told
