"""Undo at the desk: one's own last deed, told what to fetch back; refused in words on the desk."""

from collections.abc import Callable

import pytest
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds, loans_of, post, press_twice
from tests.world import PIN, World


def last_line(store: Store) -> int:
    with store.read() as session:
        return session.exec(select(t.JournalLine.id).order_by(col(t.JournalLine.id).desc())).first() or 0


def test_the_notice_after_a_deed_undoes_it_once(marshal: Surfer, world: World, store: Store) -> None:
    marshal.open("/desk")
    marshal.press("Into the line : Ana")
    press_twice(marshal, "Undo")
    assert "Undone." in marshal.text
    assert journal_kinds(store)[-2:] == ["line_joined", "undone"]


def test_the_last_own_deed_stays_in_reach_at_the_end_of_the_desk(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
    marshal.open("/desk")
    assert "Your last deed" in marshal.text
    assert "R1 handed out to Ana" in marshal.text
    marshal.press("Undo")
    assert "Fetch tag R1 back from Ana" in marshal.text
    with store.read() as session:
        assert loans_of(session, world.pilots["Ana"]) == []


def test_somebody_elses_deed_is_not_undone(
    marshal: Surfer, world: World, store: Store, surfer: Callable[[], Surfer]
) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    other = surfer()
    other.join_desk(PIN, "Mel")
    other.open("/desk")
    assert "Your last deed" not in other.text
    post(other, f"/undo/{last_line(store)}")
    assert other.page.find(id="desk") is not None
    assert "Mo did this." in other.text
    assert "undone" not in journal_kinds(store)


def test_an_earlier_deed_is_not_undone_before_the_later_one(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    first = last_line(store)
    post(marshal, f"/desk/line/{world.pilots['Bo']}/join")
    post(marshal, f"/undo/{first}")
    assert "Only your own last action can be undone" in marshal.text


@pytest.mark.parametrize("path", ["/undo/4711", "/undo/99999999999999999999", "/undo/x"])
def test_what_isnt_in_the_journal_cant_be_undone(path: str, marshal: Surfer) -> None:
    post(marshal, path)
    assert marshal.status == 404


def test_undo_is_never_done_by_a_link(marshal: Surfer, world: World, store: Store) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    marshal.open(f"/undo/{last_line(store)}")
    assert marshal.status == 405
    assert "undone" not in journal_kinds(store)


def test_a_bystander_undoes_nothing(marshal: Surfer, world: World, store: Store, surfer: Callable[[], Surfer]) -> None:
    post(marshal, f"/desk/line/{world.pilots['Ana']}/join")
    person = surfer()
    post(person, f"/undo/{last_line(store)}")
    assert person.status in (403, 409)
    assert "undone" not in journal_kinds(store)
