"""A full disk. SQLite's `max_page_count` gives the same error (SQLITE_FULL) as a disk without room."""

from collections.abc import Iterator
from contextlib import contextmanager

from fastapi import FastAPI
from sqlalchemy import Connection, event
from sqlmodel import select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import journal_kinds

LONG_NOTE = "it flickered " * 150


@contextmanager
def no_room(store: Store) -> Iterator[None]:
    """The database can't grow any more while this lasts."""

    def stay(connection: Connection) -> None:
        connection.exec_driver_sql("PRAGMA max_page_count = 1")  # means: no more pages than there are

    store.close()
    event.listen(store.engine, "begin", stay)
    yield
    event.remove(store.engine, "begin", stay)
    store.close()


def report(marshal: Surfer) -> None:
    marshal.open("/desk/reports/new")
    marshal.press("Write it down", look="lines", note=LONG_NOTE)


def notes(store: Store) -> list[str]:
    with store.read() as session:
        return [row.note for row in session.exec(select(t.ClashReport))]


def test_a_full_disk_is_told_nothing_is_half_done_and_it_works_again_with_room(
    marshal: Surfer, app: FastAPI, store: Store
) -> None:
    answered = 0
    with no_room(app.state.meetapp.store):
        while marshal.status == 200 and answered < 100:  # until the room in the pages that are there is used up
            report(marshal)
            answered += marshal.status == 200
        assert marshal.status == 507
        assert "is full, so this was not written" in marshal.text
        assert "Make room on that disk" in marshal.text
        assert notes(store) == [LONG_NOTE.strip()] * answered
        assert journal_kinds(store).count("report_added") == answered
    report(marshal)
    assert marshal.status == 200
    assert len(notes(store)) == answered + 1
