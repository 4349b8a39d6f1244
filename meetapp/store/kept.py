"""What was read for one page is kept for the next, until somebody writes: 300 phones ask for the same meet at once."""

import threading
from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from time import monotonic
from typing import Any, TypeVar

from sqlalchemy import event
from sqlmodel import Session

Value = TypeVar("Value")

LONGEST_S = 2.0
"""How long a value is kept at most: what another process writes to the file is seen by then."""
_INFO, _UNCHANGED = "kept", "kept, nothing changed yet"


class Kept:
    """Values by key, read at one moment of the database. Only for a database that one process writes to."""

    def __init__(self, clock: Callable[[], float] = monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._moment = 0
        self._commits = 0
        self._places: dict[Hashable, _Place] = {}

    def begin(self, session: Session) -> None:
        """Let a session that is about to read use what is kept, unless a commit is on its way."""
        with self._lock:
            if not self._commits:
                session.info[_INFO] = (self, self._moment)

    def begin_write(self, session: Session) -> None:
        """Let a session that holds the write lock look at what is kept, until it changes anything itself."""
        session.info[_UNCHANGED] = self
        event.listen(session, "before_flush", _changes)
        event.listen(session, "do_orm_execute", lambda doing: None if doing.is_select else _changes(doing.session))

    def look_up(self, key: Hashable) -> Any:
        """What is kept under a key now; None where nothing is."""
        with self._lock:
            place = self._places.get(key)
            is_good = place is not None and place.is_made and self._clock() - place.since <= LONGEST_S
            return place.value if place is not None and is_good else None

    @contextmanager
    def commit(self) -> Iterator[None]:
        """Around a commit: nothing that was read before counts afterwards, nothing is kept meanwhile."""
        with self._lock:
            self._commits += 1
            self._moment += 1
            self._places.clear()
        try:
            yield
        finally:
            with self._lock:
                self._commits -= 1
                self._moment += 1

    def get(self, moment: int, key: Hashable, make: Callable[[], Value]) -> Value:
        """The value of a key at that moment, made by the first who asks; the others wait for it."""
        place = self._place(moment, key)
        if place is None:
            return make()
        with place.lock:
            if not place.is_made:
                place.value = make()
                place.is_made = True
            value: Value = place.value
        return value

    def _place(self, moment: int, key: Hashable) -> "_Place | None":
        with self._lock:
            if self._commits or moment != self._moment:
                return None
            place = self._places.get(key)
            if place is None or self._clock() - place.since > LONGEST_S:
                place = self._places[key] = _Place(self._clock())
            return place


class _Place:
    def __init__(self, since: float) -> None:
        self.since = since
        self.lock = threading.Lock()
        self.is_made = False
        self.value: Any = None


def _changes(session: Any, *_more: object) -> None:
    session.info.pop(_UNCHANGED, None)


def kept_before_writing(session: Session, key: Hashable) -> Any:
    """What a page keeps under this key, for a session that writes and has changed nothing yet; else None.

    It stands as this process left it: the caller makes sure that no other process wrote to the file since.
    """
    found: Kept | None = session.info.get(_UNCHANGED)
    if found is None or session.new or session.dirty or session.deleted:
        return None
    return found.look_up(key)


def keep(session: Session, key: Hashable, make: Callable[[], Value]) -> Value:
    """What `make` reads in this session: made anew where the session writes, else kept for others. A frozen value,
    never rows: it outlives the session and is shared between threads.
    """
    found: tuple[Kept, int] | None = session.info.get(_INFO)
    return make() if found is None else found[0].get(found[1], key, make)
