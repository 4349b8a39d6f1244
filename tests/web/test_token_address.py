"""A tag scanned by the desk, by a pilot, by a stranger."""

from collections.abc import Callable

import pytest
from sqlmodel import select

from meetapp.flows.loans import line, loans, token_states
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.surfer import Surfer
from tests.web.own_phones import phone_of
from tests.world import World

NewSurfer = Callable[[], Surfer]


def hand_out(store: Store, world: World, name: str, token: str) -> None:
    loans.hand_out(store, deed(), HandOut(world.meet, world.pilots[name], world.tokens[token]))


def test_a_stranger_learns_whom_to_ask_and_nothing_else(surfer: NewSurfer, store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    stranger = surfer()
    pages = []
    for code in ("T1", "T2", "NOPE"):
        stranger.open(f"/t/{code}")
        pages.append((stranger.status, stranger.text))
    assert pages[0] == pages[1] == pages[2]
    assert pages[0][0] == 200
    assert "This is a token of Lower Meadow Flyers. Please bring it to the desk" in pages[0][1]
    for secret in ("R1", "Ana", "5658", "T1"):
        assert secret not in pages[0][1]


@pytest.mark.parametrize("typed", ["T1", "t1", " ti ", "tI"])
def test_a_typed_code_does_the_same_as_scanning(typed: str, marshal: Surfer) -> None:
    marshal.open("/t")
    marshal.press("Open", code=typed)
    assert marshal.status == 200
    assert "Token R1" in marshal.text


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        pytest.param("", "Type the code that stands on the tag.", id="nothing"),
        pytest.param("???", "Type the code that stands on the tag.", id="only signs"),
        pytest.param("ZZZ", "No token has the code 'ZZZ'.", id="unknown"),
        pytest.param("../../etc", "No token has the code", id="a path"),
    ],
)
def test_a_code_that_is_none_can_be_typed_again(typed: str, sentence: str, marshal: Surfer) -> None:
    marshal.open("/t")
    marshal.press("Open", code=typed)
    assert sentence in marshal.text
    marshal.press("Open", code="T1")
    assert "Token R1" in marshal.text


def test_the_desk_hands_out_what_it_scans(marshal: Surfer, store: Store, world: World) -> None:
    line.join_line(store, deed(), world.meet, world.pilots["Bo"])
    marshal.open("/t/T1")
    marshal.press("Hand out R1 to Bo")
    assert marshal.path.startswith("/desk/loans/")
    assert journal_kinds(store)[-1] == "handed_out"


def test_the_desk_chooses_somebody_who_is_not_in_the_line(marshal: Surfer, store: Store, world: World) -> None:
    marshal.open("/t/T1")
    marshal.press("Hand out : R1 to Cy")
    assert marshal.path.startswith("/desk/loans/")
    with store.read() as session:
        assert session.exec(select(t.Loan)).one().pilot_id == world.pilots["Cy"]


def test_the_desk_takes_back_what_it_scans(marshal: Surfer, store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    marshal.open("/t/T1")
    assert "Out with Ana since 14:00" in marshal.text
    marshal.press("Take back R1")
    assert journal_kinds(store)[-1] == "taken_back"


def test_the_desk_hands_over_what_it_scans(marshal: Surfer, store: Store, world: World) -> None:
    hand_out(store, world, "Ana", "R1")
    line.join_line(store, deed(), world.meet, world.pilots["Bo"])
    marshal.open("/t/T1")
    marshal.press("Hand over : R1 to Bo")
    assert journal_kinds(store)[-1] == "handed_over"


def test_the_desk_finds_a_missing_one(marshal: Surfer, store: Store, world: World) -> None:
    token_states.mark_missing(store, deed(), world.meet, world.tokens["R1"])
    marshal.open("/t/T1")
    assert "Missing since" in marshal.text
    marshal.press("It is found")
    assert journal_kinds(store)[-1] == "token_found"


def test_a_withdrawn_one_says_so_to_everybody_of_the_meet(
    marshal: Surfer, surfer: NewSurfer, store: Store, world: World
) -> None:
    token_states.withdraw(store, deed(), world.meet, world.tokens["R1"])
    ana = phone_of("Ana", surfer, world)
    for person in (marshal, ana):
        person.open("/t/T1")
        assert "Withdrawn since" in person.text
        assert "Hand out" not in person.text


def test_a_pilot_is_sent_to_the_desk(surfer: NewSurfer, store: Store, world: World) -> None:
    ana = phone_of("Ana", surfer, world)
    ana.open("/t/T1")
    assert "Ask the desk" in ana.text
    hand_out(store, world, "Ana", "R1")
    ana.open("/t/T1")
    assert "This is yours: set" in ana.text
    ana.open("/t/T9")
    assert ana.status == 404
    assert "No token has the code 'T9'." in ana.text


def test_after_the_meet_the_desk_is_told_that_none_is_open(organiser: Surfer, store: Store, world: World) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().state = "closed"
        session.commit()
    organiser.open("/t/T1")
    assert "Not in use now: no meet is open." in organiser.text
