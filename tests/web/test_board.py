"""The board, read by anybody, changed by nobody."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows.desk import alarms, pauses
from meetapp.flows.loans import line, loans
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed
from tests.surfer import Surfer
from tests.world import NOON, Clock, World

HTMX = {"hx-request": "true"}


@pytest.fixture
def tablet(surfer: Callable[[], Surfer], world: World) -> Surfer:
    """A tablet on which nobody signed in."""
    return surfer()


def hand_out(store: Store, world: World, name: str, token: str) -> None:
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots[name], world.tokens[token]))


def test_anybody_reads_who_is_on_air_what_is_free_and_who_is_next(
    tablet: Surfer, store: Store, world: World, clock: Clock
) -> None:
    hand_out(store, world, "Ana", "R1")
    line.join_line(store, deed(), world.meet, world.pilots["Bo"])
    clock.forward(minutes=12)
    tablet.open("/board")
    assert tablet.status == 200
    slot = tablet.page.find(class_="slot")
    assert slot is not None
    assert " ".join(slot.get_text(" ").split()) == "R1 5658 MHz Ana 12 min"
    assert "Next Bo" in tablet.text
    assert "Free F1 F5 R8" in tablet.text
    assert "No power before you hold the token." in tablet.text


def test_what_is_on_air_is_drawn_with_the_same_in_a_table(
    tablet: Surfer, store: Store, world: World
) -> None:
    tablet.open("/board")
    assert tablet.page.find("svg", role="img") is None
    hand_out(store, world, "Ana", "R1")
    hand_out(store, world, "Bo", "F5")
    tablet.open("/board")
    drawings = tablet.page.find_all("svg", role="img")
    assert len(drawings) == 2
    for drawing in drawings:
        assert "2 carriers from 5658 to 5820 MHz" in drawing.get_text(" ")
        assert {"R1", "F5"} <= {text.get_text() for text in drawing.find_all("text")}
    picture = tablet.page.find(attrs={"aria-label": "What is on air, drawn"})
    assert picture is not None
    rows = [" ".join(row.get_text(" ").split()) for row in picture.select("tbody tr")]
    assert [row.split()[:2] for row in rows] == [["5658", "R1"], ["5820", "F5"]]


def test_only_board_names_stand_on_the_board(tablet: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        pilot = session.get_one(t.Pilot, world.pilots["Ana"])
        pilot.name, pilot.board_name = "Anastasia Long-Name", "Ana"
        session.commit()
    hand_out(store, world, "Ana", "R1")
    tablet.open("/board")
    assert "Ana" in tablet.text
    assert "Anastasia" not in str(tablet.page)


def test_the_board_has_nothing_to_press(tablet: Surfer, store: Store, world: World) -> None:
    tablet.open("/board")
    assert tablet.page.find_all("form") == []
    assert tablet.client.post("/board").status_code == 405


def test_pause_alarm_missing_and_lower_floors_are_told_in_words(tablet: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().lower_floors_reason = "only four tokens in the car"
        session.get_one(t.Token, world.tokens["F5"]).state = "missing"
        session.commit()
    pauses.pause(store, deed(), world.meet, "wind")
    alarms.raise_alarm(store, deed(), "stray")
    tablet.open("/board")
    for words in (
        "Paused since 14:00: wind",
        "Stray transmitter",
        "F5 missing",
        "Lower floors today: only four tokens in the car.",
    ):
        assert words in tablet.text


def test_without_a_meet_the_board_says_so(tablet: Surfer, store: Store) -> None:
    with store.write() as session:
        meet = session.exec(select(t.Meet)).one()
        meet.state, meet.closed_at = "closed", NOON
        session.commit()
    tablet.open("/board")
    assert "No meet is open now." in tablet.text


def test_before_the_first_visit_the_board_says_so_too(surfer: Callable[[], Surfer]) -> None:
    tablet = surfer()
    tablet.open("/board")
    assert tablet.status == 200
    assert "No meet is open now." in tablet.text


def test_the_live_part_is_a_fragment_and_nothing_where_nothing_changed(
    tablet: Surfer, store: Store, world: World, clock: Clock
) -> None:
    tablet.open("/board")
    part = tablet.page.find(id="board-live")
    assert part is not None
    address = str(part["hx-get"])
    assert (part["hx-trigger"], part["data-live"]) == ("live", "meet")
    assert address.endswith(f"?seen={part['data-seen']}")
    assert tablet.client.get(address, headers=HTMX).status_code == 204
    hand_out(store, world, "Ana", "R1")
    changed = tablet.client.get(address, headers=HTMX)
    assert changed.status_code == 200
    assert "<html" not in changed.text
    assert 'id="board-live"' in changed.text
    clock.forward(minutes=1)
    assert tablet.client.get(address, headers=HTMX).status_code == 200


def test_without_javascript_the_board_comes_again_by_itself(tablet: Surfer) -> None:
    tablet.open("/board")
    noscript = tablet.page.find("noscript")
    assert noscript is not None
    assert 'http-equiv="refresh"' in str(noscript)
