"""How the database is opened: what survives, what waits, what is rolled back."""

from threading import Event, Thread

import pytest
from sqlalchemy import text
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import make_world


@pytest.mark.parametrize(
    ("pragma", "value"),
    [("journal_mode", "wal"), ("synchronous", 2), ("foreign_keys", 1), ("secure_delete", 1), ("busy_timeout", 10_000)],
)
def test_each_connection_is_prepared(store: Store, pragma: str, value: object) -> None:
    with store.read() as session:
        assert session.connection().exec_driver_sql(f"PRAGMA {pragma}").scalar() == value


def test_a_write_that_is_not_committed_is_rolled_back(any_store: Store) -> None:
    world = make_world(any_store)
    with any_store.write() as session:
        session.get_one(t.Site, world.site).note = "never kept"
        session.flush()
    with any_store.read() as session:
        assert session.get_one(t.Site, world.site).note == ""


def test_a_second_process_waits_for_a_write_to_end(store: Store) -> None:
    world = make_world(store)
    other = Store(store.url)  # its own process would have its own lock, as this has
    began, order = Event(), []

    def second() -> None:
        began.wait()
        with other.write() as session:
            order.append(session.get_one(t.Site, world.site).note)

    waiting = Thread(target=second)
    waiting.start()
    with store.write() as session:
        session.get_one(t.Site, world.site).note = "first"
        session.flush()
        began.set()
        waiting.join(0.2)
        assert waiting.is_alive()
        session.commit()
    waiting.join()
    other.close()
    assert order == ["first"]


def test_readers_do_not_wait_for_a_write(any_store: Store) -> None:
    world = make_world(any_store)
    with any_store.write() as writing:
        writing.get_one(t.Site, world.site).note = "not yet"
        writing.flush()
        with any_store.read() as reading:
            assert reading.get_one(t.Site, world.site).note == ""


def test_a_read_sees_all_tables_as_they_were_at_one_moment(any_store: Store) -> None:
    world = make_world(any_store)
    with any_store.read() as reading:
        assert reading.get_one(t.Site, world.site).note == ""
        with any_store.write() as writing:
            writing.get_one(t.Meet, world.meet).name = "renamed meanwhile"
            writing.commit()
        assert reading.get_one(t.Meet, world.meet).name != "renamed meanwhile"
    with any_store.read() as reading:
        assert reading.get_one(t.Meet, world.meet).name == "renamed meanwhile"


def test_a_read_keeps_nothing(any_store: Store) -> None:
    world = make_world(any_store)
    with any_store.read() as session:
        session.get_one(t.Site, world.site).note = "never kept"
        session.flush()
    with any_store.read() as session:
        assert session.exec(select(t.Site.note)).one() == ""


def test_each_table_can_be_written_and_read_on_both(any_store: Store) -> None:
    with any_store.read() as session:
        for table in t.metadata.sorted_tables:
            session.execute(text(f'SELECT count(*) FROM "{table.name}"'))
