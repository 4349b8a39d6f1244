"""A club moves between SQLite and PostgreSQL with all it has, or it stays whole where it was."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import text

from meetapp.flows.files.meet_file import export_meet, meet_file_text
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from meetapp.store.forward import CantOpen
from meetapp.store.moving import move
from tests.desk import Desk
from tests.meet_day import close_it, fly_a_day, plan_heats
from tests.world import Clock

pytestmark = pytest.mark.postgres


@pytest.fixture
def other_file(empty_database: Path, tmp_path: Path) -> Iterator[Store]:
    """Another SQLite file with all tables and no rows."""
    store = Store(sqlite_url(Path(shutil.copy(empty_database, tmp_path / "other.db"))))
    yield store
    store.close()


def rows_of(store: Store) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table, as the program reads it."""
    with store.read() as session:
        return {
            table.name: sorted((tuple(row) for row in session.execute(table.select())), key=repr)
            for table in t.metadata.sorted_tables
        }


def meet_text(store: Store, meet_id: int, clock: Clock) -> str:
    return meet_file_text(export_meet(store, meet_id, clock()))


def test_a_club_goes_to_postgresql_and_back_with_every_row_and_the_same_meet_file(
    desk: Desk, postgres_store: Store, other_file: Store, clock: Clock
) -> None:
    fly_a_day(desk)
    plan_heats(desk)
    close_it(desk)
    before, text_before = rows_of(desk.store), meet_text(desk.store, desk.world.meet, clock)
    assert all(before[name] for name in ("loan", "journal_line", "heat_seat", "operation", "clash_report"))

    there = move(desk.store.url, postgres_store.url)
    back = move(postgres_store.url, other_file.url)

    assert there == back
    assert there.rows == {name: len(rows) for name, rows in before.items()}
    assert rows_of(desk.store) == rows_of(postgres_store) == rows_of(other_file) == before
    assert meet_text(postgres_store, desk.world.meet, clock) == text_before
    assert meet_text(other_file, desk.world.meet, clock) == text_before


def test_the_meet_goes_on_where_the_club_was_moved_to(desk: Desk, postgres_store: Store, other_file: Store) -> None:
    desk.hand_out("Ana", "R1")
    move(desk.store.url, postgres_store.url)
    there = Desk(postgres_store, desk.world, desk.clock)
    there.take_back("Ana")
    there.hand_out("Bo", "R1")
    move(postgres_store.url, other_file.url)
    back = Desk(other_file, desk.world, desk.clock)
    back.take_back("Bo")
    back.hand_out("Cy", "R1")
    assert back.kinds() == ["handed_out", "taken_back"] * 2 + ["handed_out"]
    assert list(back.on_air()) == ["Cy"]


@pytest.mark.parametrize("way", ["to PostgreSQL", "to SQLite"])
def test_a_database_that_holds_something_is_refused(
    desk: Desk, postgres_store: Store, other_file: Store, way: str
) -> None:
    target = postgres_store if way == "to PostgreSQL" else other_file
    with target.write() as session:
        session.add(t.BandProfile(name="there already", source="a test"))
        session.commit()
    held = rows_of(target)
    with pytest.raises(CantOpen, match=r"holds something already \(band_profile\): nothing was changed"):
        move(desk.store.url, target.url)
    assert rows_of(target) == held


def test_a_row_that_arrives_otherwise_than_it_was_sent_ends_the_move(desk: Desk, postgres_store: Store) -> None:
    with postgres_store.write() as session:
        session.execute(
            text(
                "CREATE FUNCTION spoil() RETURNS trigger LANGUAGE plpgsql AS "
                "$$ BEGIN IF NEW.name = 'Cy' THEN NEW.name := 'Cyd'; END IF; RETURN NEW; END $$"
            )
        )
        session.execute(text("CREATE TRIGGER spoil BEFORE INSERT ON pilot FOR EACH ROW EXECUTE FUNCTION spoil()"))
        session.commit()
    with pytest.raises(CantOpen, match=r"isn't what was sent \(table pilot\): nothing was kept"):
        move(desk.store.url, postgres_store.url)
    assert not any(rows_of(postgres_store).values())


def test_a_row_that_the_other_database_refuses_ends_the_move(desk: Desk, postgres_store: Store) -> None:
    with postgres_store.write() as session:
        session.execute(text("ALTER TABLE token ADD CONSTRAINT none_called_t2 CHECK (code <> 'T2')"))
        session.commit()
    with pytest.raises(CantOpen, match="refused what it was given: nothing was kept"):
        move(desk.store.url, postgres_store.url)
    assert not any(rows_of(postgres_store).values())
