"""What was read for one page is kept for the next, until somebody writes: 300 phones ask for the same meet at once.

A value that says which tables it was read from outlives writes to others. Whoever finds that another process wrote to
the file has all of it forgotten.
"""

import threading
from collections.abc import Callable, Hashable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from sqlmodel import Session, SQLModel

from meetapp.store.write_session import WriteSession

Value = TypeVar("Value")

MOST_KEPT = 2000
"""How many values are kept at most; all are let go of then."""
_INFO = "kept"
_ANY = "*"
"""Stands for every table: where a value or a statement doesn't say which."""
_CHANGES_NOTHING = ("BEGIN", "SELECT", "SAVEPOINT", "RELEASE")


class Kept:
    """Values by key, read at one moment of the database. Only for a database that one process writes to."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._moment = 0
        self._commits = 0
        self._places: dict[Hashable, _Place] = {}
        self._written: set[str] = set()

    def note(self, statement: str, context: Any) -> None:
        """Note which tables a statement changes, of the one transaction that writes."""
        if context is not None and (context.isinsert or context.isupdate or context.isdelete):
            table = getattr(context.compiled.statement, "table", None)
            self._written.add(getattr(table, "name", _ANY))
        elif not statement.lstrip().upper().startswith(_CHANGES_NOTHING):
            self._written.add(_ANY)

    def begin(self, session: Session) -> None:
        """Let a session that is about to read use what is kept, unless a commit is on its way."""
        with self._lock:
            if not self._commits:
                session.info[_INFO] = (self, self._moment)

    def begin_write(self, session: WriteSession) -> None:
        """Let a session that holds the write lock use what is kept, and keep more, until it changes anything itself."""
        self._written.clear()
        with self._lock:
            session.info[_INFO] = (self, self._moment)
        session.before_flush.append(_changes)
        session.before_bulk.append(_changes)

    def forget(self) -> None:
        """Let go of everything."""
        with self._lock:
            self._moment += 1
            self._places.clear()

    @contextmanager
    def commit(self) -> Iterator[None]:
        """Around a commit with its last flush: nothing that was read before from a table that it changed counts
        afterwards, nothing is kept or given meanwhile.
        """
        with self._lock:
            self._commits += 1
            self._moment += 1
        try:
            yield
        finally:
            with self._lock:
                self._places = {
                    key: place for key, place in self._places.items() if not place.is_touched(self._written)
                }
                self._commits -= 1
                self._moment += 1

    def get(self, moment: int, key: Hashable, make: Callable[[], Value], tables: frozenset[str] | None = None) -> Value:
        """The value of a key at that moment, made by the first who asks; the others wait for it. `tables`: what it is
        read from; None: it may be any.
        """
        place = self._place(moment, key, tables)
        if place is None:
            return make()
        with place.lock:
            if not place.is_made:
                place.value = make()
                place.is_made = True
            value: Value = place.value
        return value

    def _place(self, moment: int, key: Hashable, tables: frozenset[str] | None) -> "_Place | None":
        with self._lock:
            if self._commits or moment != self._moment:
                return None
            place = self._places.get(key)
            if place is None:
                if len(self._places) >= MOST_KEPT:
                    self._places.clear()
                place = self._places[key] = _Place(tables)
            return place


class _Place:
    def __init__(self, tables: frozenset[str] | None) -> None:
        self.tables = tables
        self.lock = threading.Lock()
        self.is_made = False
        self.value: Any = None

    def is_touched(self, written: set[str]) -> bool:
        """Whether a write to these tables may have changed it."""
        return self.tables is None or _ANY in written or not self.tables.isdisjoint(written)


def _changes(session: Session) -> None:
    session.info.pop(_INFO, None)


def keep(
    session: Session, key: Hashable, make: Callable[[], Value], of: Iterable[type[SQLModel]] | None = None
) -> Value:
    """What `make` reads in this session: made anew where the session has changed anything, else kept for others. A
    frozen value, never rows: it outlives the session and is shared between threads.

    `of`: every table that `make` reads; it is then kept over writes to others. None: any write ends it.
    """
    found: tuple[Kept, int] | None = session.info.get(_INFO)
    if found is None or session.new or session.dirty or session.deleted:
        return make()
    tables = frozenset(str(table.__tablename__) for table in of) if of is not None else None
    return found[0].get(found[1], key, make, tables)
