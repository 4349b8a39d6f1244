"""The review's pages: what happened, who was on air at a minute, tables to take away."""

from collections.abc import Callable

import pytest

from meetapp.store.engine import Store
from tests.desk import Desk
from tests.heat_desk import HeatDesk
from tests.meet_day import close_it, fly_a_day
from tests.surfer import Surfer
from tests.web.ladder import field_value, post
from tests.world import Clock, World

PATHS = [
    "review",
    "review/at?minute=14:00",
    "review/causes",
    "review/causes/1",
    "review/several-meets",
    "report.pdf",
    "loans.csv",
    "journal.csv",
    "reports.csv",
    "export.json",
]


@pytest.fixture
def day(store: Store, world: World, clock: Clock) -> Desk:
    """A day that was flown, the meet still open."""
    desk = Desk(store, world, clock)
    fly_a_day(desk)
    return desk


def test_the_review_tells_the_day(organiser: Surfer, day: Desk) -> None:
    close_it(day)
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    for words in (
        "closed from 2026-06-14 14:00 to 14:46",
        "5, 4 of them by 3 pilots",
        "2 ended with a token",
        "pauses taken out",
        "Times in Europe/Berlin.",
        "Cy lines or snow, in the air F1, 5740 MHz =by the second gate every cause",
        "below a floor: the camera can't do another channel",
        "Alarm: Stray transmitter",
        "Pause: wind 14:10 14:30",
        "ended missing",
        "Below a floor for 5 min in all.",
    ):
        assert words in organiser.text, words
    organiser.open(f"/organiser/meets/{day.world.meet}")
    assert "Nothing in it changes any more." in organiser.text


def test_an_open_meet_can_be_looked_at_already(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    assert "open from 2026-06-14 14:00 to now" in organiser.text


def test_a_report_leads_to_its_minute(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    organiser.follow("Clash report, 14:43, Cy: lines or snow, in the air")
    assert organiser.status == 200
    assert "On air at 14:43" in organiser.text
    assert "F1, 5740 MHz Cy F1 25 mW 20 MHz" in organiser.text
    assert "5735 MHz line camera without a token" in organiser.text
    assert "Below a floor of the meet." in organiser.text
    # The picture says the same in words: 5735 (the camera), 5740 (Cy) and 5820 (Bo), with what falls between them.
    assert "3 carriers from 5735 to 5820 MHz" in organiser.text
    assert "5740 F1 Cy 5730 to 5750" in organiser.text
    assert "75 MHz: 2 x 5740 - 5820 = 5660" in organiser.text
    organiser.follow("Before: 14:42")
    assert "On air at 14:42" in organiser.text


def test_the_day_is_drawn_and_each_bar_leads_to_its_loan(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    bars = {title.get_text(): str(a["href"]) for a in organiser.page.select("svg a") if (title := a.find("title"))}
    [(bar, href)] = [(text, href) for text, href in bars.items() if text.startswith("R1, Ana: ")]
    assert bar == "R1, Ana: 14:00 to 14:40, set to R1, 5658 MHz, 25 mW; then R1, 5658 MHz, 200 mW"
    organiser.open(f"{organiser.path}{href}")
    row = organiser.page.find(id=href.partition("#")[2])
    assert row is not None
    assert row.get_text(" ").startswith("14:00 to 14:40 ")
    assert [text for text in bars if "ended missing" in text] == [
        "R1, Cy: 14:40 to 14:41, set to R1, 5658 MHz, 25 mW, ended missing"
    ]
    for text in ("Paused, wind: 14:10 to 14:30", "Stray transmitter: 14:41 to now", "line camera, line camera: 14:41"):
        assert any(bar.startswith(text) for bar in bars), text


def test_a_day_without_anything_is_not_drawn(organiser: Surfer, world: World) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/review")
    assert organiser.page.find(id="day") is None
    assert "Nothing was handed out." in organiser.text


def test_any_minute_is_asked_by_a_form(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    form, _button = organiser.form_with("Who was on air then")
    assert form["method"] == "get"
    organiser.open(f"{form['action']}?minute=14.05")
    assert "R1, 5658 MHz Ana R1 25 mW 20 MHz" in organiser.text
    organiser.open(f"{form['action']}?minute=9:00")
    assert "Nobody was on air by the journal." in organiser.text


@pytest.mark.parametrize(
    ("query", "sentence"),
    [
        pytest.param("minute=noonish", "'noonish' is no time of day.", id="a word"),
        pytest.param("minute=25:00", "'25:00' is no time of day.", id="no hour"),
        pytest.param("minute=" + "1" * 50, "20 characters at most", id="long"),
        pytest.param("minute=14:00&day=soon", "The day must be a date", id="no day"),
        pytest.param("minute=14:00&day=0001-01-01", "The day must be at least 2000-01-01.", id="long ago"),
        pytest.param("", "is no time of day", id="nothing"),
    ],
)
def test_a_minute_that_can_not_be_meant(organiser: Surfer, world: World, query: str, sentence: str) -> None:
    organiser.open(f"/organiser/meets/{world.meet}/review/at?{query}")
    assert organiser.status == 422
    assert sentence in organiser.text
    if query.startswith("minute=n"):
        assert field_value(organiser, "minute") == "noonish"


@pytest.mark.parametrize("path", PATHS)
def test_the_review_is_the_organisers_alone(
    marshal: Surfer, surfer: Callable[[], Surfer], world: World, path: str
) -> None:
    marshal.open(f"/organiser/meets/{world.meet}/{path}")
    assert marshal.status == 403
    stranger = surfer()
    stranger.open(f"/organiser/meets/{world.meet}/{path}")
    assert stranger.path == "/sign-in"


@pytest.mark.parametrize("path", PATHS)
def test_a_meet_that_is_not_there_has_no_review(organiser: Surfer, path: str) -> None:
    organiser.open(f"/organiser/meets/999/{path}")
    assert organiser.status == 404


@pytest.mark.parametrize(
    ("name", "first"),
    [
        ("loans.csv", "out,in,minutes,token"),
        ("journal.csv", "line,happened,entered"),
        ("reports.csv", "when,give or take"),
    ],
)
def test_tables_are_taken_away_as_files(organiser: Surfer, day: Desk, name: str, first: str) -> None:
    response = organiser.client.get(f"/organiser/meets/{day.world.meet}/{name}")
    assert response.headers["content-type"] == "text/csv; charset=utf-8"
    assert response.headers["content-disposition"] == f'attachment; filename="{name[:-4]}-2026-06-14.csv"'
    assert response.content.decode("utf-8-sig").startswith(first)


def test_a_name_with_markup_is_only_text(organiser: Surfer, marshal: Surfer, world: World) -> None:
    post(marshal, "/desk/ground", holder_name="<script>alert(1)</script>", mhz="5780", width_mhz="20")
    organiser.open(f"/organiser/meets/{world.meet}/review")
    assert "<script>alert" not in organiser.response.text


def test_the_heats_are_listed_as_they_were_flown(organiser: Surfer, store: Store, world: World, clock: Clock) -> None:
    desk = Desk(store, world, clock)
    heats = HeatDesk(desk)
    heats.plan({"Ana": "R1", "Bo": "F1"}, {"Cy": "R1", "Di": "F5"}, {"Ana": "F5", "Bo": "R1"}, rounds=(1, 1, 2))
    heats.call()
    heats.miss(1, "Bo")
    desk.clock.forward(minutes=4)
    heats.call()
    organiser.open(f"/organiser/meets/{desk.world.meet}/review")
    table = organiser.page.find("div", {"aria-label": "Heats"})
    assert table is not None
    told = [" ".join(row.get_text(" ").split()) for row in table.find_all("tr")[1:]]
    assert told == [
        "Round 1, heat 1: flown 14:01 , who was on air then to 14:06 Ana (R1, 5658 MHz) Bo: did not come",
        "Round 1, heat 2: in the air 14:06 , who was on air then Cy (R1, 5658 MHz), Di (F5, 5820 MHz) –",
        "Round 2, heat 1: not called – Ana (F5, 5820 MHz), Bo (R1, 5658 MHz) –",
    ]


def test_a_meet_without_heats_lists_none(organiser: Surfer, day: Desk) -> None:
    organiser.open(f"/organiser/meets/{day.world.meet}/review")
    assert organiser.page.find(id="heats") is None
