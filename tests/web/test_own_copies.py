"""A copy of the club is made by itself when a meet opens and closes, and how that went is said to the organiser."""

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from sqlmodel import Session, select

from meetapp.config import data_folder
from meetapp.flows.club.own_copies import COPIES_KEPT, OwnCopies
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from meetapp.store.forward import bring_file_forward
from tests.surfer import Surfer
from tests.world import NOON, Clock, World

MIGRATIONS = data_folder("migrations")


def at_once(work: Callable[[], None]) -> None:
    work()


@pytest.fixture
def club(tmp_path: Path) -> Path:
    """A club's file as `serve` makes it."""
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOON)
    return path


@pytest.fixture
def copies(club: Path, app: FastAPI) -> OwnCopies:
    """The copies of that club, made before the answer, behind the app's pages."""
    made = OwnCopies(sqlite_url(club), MIGRATIONS, at_once)
    app.state.meetapp = replace(app.state.meetapp, copies=made)
    return made


def names(club: Path) -> list[str]:
    return sorted(path.name for path in club.with_name("club-copies").iterdir())


def test_the_organiser_sees_when_a_copy_was_made(
    copies: OwnCopies, club: Path, organiser: Surfer, world: World, clock: Clock
) -> None:
    organiser.open("/organiser")
    assert "None yet: one is made by itself whenever a meet opens or closes" in organiser.text
    organiser.open(f"/organiser/meets/{world.meet}/close")
    organiser.press("Close the meet")
    assert names(club) == ["club-20260614-120000-closed.db"]
    organiser.open("/organiser")
    assert "made and checked when a meet was closed" in organiser.text
    assert "club-20260614-120000-closed.db" in organiser.text


def test_opening_makes_one_too(copies: OwnCopies, club: Path, organiser: Surfer, world: World, store: Store) -> None:
    with store.write() as session:
        session.exec(select(t.Meet)).one().state = "planned"
        session.commit()
    organiser.open(f"/organiser/meets/{world.meet}")
    organiser.press("Open the meet")
    assert names(club) == ["club-20260614-120000-opened.db"]


def test_a_copy_that_fails_is_told_and_the_meet_goes_on(
    copies: OwnCopies, club: Path, organiser: Surfer, world: World, store: Store
) -> None:
    club.with_name("club-copies").write_text("a file in the way of the folder")
    organiser.open(f"/organiser/meets/{world.meet}/close")
    organiser.press("Close the meet")
    with store.read() as session:
        assert session.exec(select(t.Meet)).one().state == "closed"
    organiser.open("/organiser")
    assert "could not be made" in organiser.text
    assert "meetapp backup FILE" in organiser.text


def test_the_next_that_succeeds_takes_the_warning_away(copies: OwnCopies, club: Path) -> None:
    in_the_way = club.with_name("club-copies")
    in_the_way.write_text("a file in the way of the folder")
    copies.begin("opened", NOON)
    assert copies.view().failed
    in_the_way.unlink()
    copies.begin("closed", NOON + timedelta(hours=4))
    view = copies.view()
    assert view.failed == ""
    assert view.newest is not None
    assert view.newest.made_at == NOON + timedelta(hours=4)


def test_a_copy_is_a_club_that_can_be_served(copies: OwnCopies, club: Path) -> None:
    store = Store(sqlite_url(club))
    with store.write() as session:
        session.add(t.Club(id=1, name="Marsh", password_hash="x", safety_words="x", made_at=NOON))
        session.commit()
    copies.begin("opened", NOON)
    store.close()
    newest = copies.view().newest
    assert newest is not None
    with Session(Store(sqlite_url(newest.path)).engine) as session:
        assert session.get_one(t.Club, 1).name == "Marsh"


def test_a_few_are_kept_and_none_of_the_organiser_s_is_deleted(copies: OwnCopies, club: Path) -> None:
    for hour in range(COPIES_KEPT + 3):
        copies.begin("opened", NOON + timedelta(hours=hour))
        club.with_name("club-copies").joinpath("before the big meet.db").touch()
    found = names(club)
    assert "before the big meet.db" in found
    assert len(found) == COPIES_KEPT + 1
    assert "club-20260614-120000-opened.db" not in found


def test_the_same_tap_sent_again_makes_no_second_copy(copies: OwnCopies, club: Path) -> None:
    copies.begin("closed", NOON)
    copies.begin("closed", NOON)
    assert len(names(club)) == 1


def test_on_a_database_server_the_organiser_is_sent_to_its_tools(app: FastAPI, organiser: Surfer) -> None:
    elsewhere = OwnCopies("postgresql+psycopg://somewhere/club", MIGRATIONS, at_once)
    elsewhere.begin("opened", NOON)
    app.state.meetapp = replace(app.state.meetapp, copies=elsewhere)
    organiser.open("/organiser")
    assert "with the server's own tools" in organiser.text
