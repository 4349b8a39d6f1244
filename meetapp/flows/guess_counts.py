"""Where wrong guesses are counted: in the process, or in the database where several processes serve one club."""

import threading
from collections import defaultdict
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol

from sqlalchemy import delete
from sqlalchemy.dialects.postgresql import insert
from sqlmodel import Session, col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(slots=True)
class Source:
    """One source: its wrong ones in a row, when it tried last, and whether it was right once."""

    wrong: int = 0
    last_at: datetime | None = None
    has_fitted: bool = False


@dataclass(slots=True)
class Crowd:
    """The wrong ones of all sources, oldest first, and when the next attempt has its turn."""

    wrong_at: list[datetime] = field(default_factory=list)
    next_turn: datetime | None = None


@dataclass(slots=True)
class Counts:
    """What is known of one source and of all together, for one kind of secret."""

    source: Source
    crowd: Crowd


class GuessCounts(Protocol):
    """A place for counts."""

    def opened(self, what: str, source: str, most: int) -> AbstractContextManager[Counts]:
        """The counts of a source, nobody else's meanwhile; what is changed stays so if the block ends well.

        `most`: so many sources are kept, those that tried last.
        """
        ...  # pragma: no cover


class InProcess:
    """Counts of this process alone: a restart forgets them."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sources: dict[tuple[str, str], Source] = {}
        self._crowds: dict[str, Crowd] = defaultdict(Crowd)

    @contextmanager
    def opened(self, what: str, source: str, most: int) -> Iterator[Counts]:
        """See `GuessCounts`."""
        with self._lock:
            known = self._sources.pop((what, source), None) or Source()
            self._sources[what, source] = known  # the one asked for last stands last
            if len(self._sources) > most:
                del self._sources[next(iter(self._sources))]
            yield Counts(known, self._crowds[what])


class InDatabase:
    """Counts that all processes share (PostgreSQL): two small tables, written only where somebody types a secret.

    An attempt that is sent away writes nothing. The row of the crowd is the lock, so attempts have one order.
    """

    def __init__(self, store: Store) -> None:
        self._store = store

    @contextmanager
    def opened(self, what: str, source: str, most: int) -> Iterator[Counts]:
        """See `GuessCounts`."""
        with self._store.write() as session:
            session.execute(insert(t.GuessCrowd).values(what=what, wrong_at=[]).on_conflict_do_nothing())
            locked = select(t.GuessCrowd).where(t.GuessCrowd.what == what).with_for_update()
            crowd_row = session.exec(locked.execution_options(populate_existing=True)).one()
            row = session.get(t.GuessSource, (what, source)) or t.GuessSource(what=what, source=source)
            counts = Counts(
                Source(row.wrong, row.last_at, row.has_fitted),
                Crowd([datetime.fromisoformat(each) for each in crowd_row.wrong_at], crowd_row.next_turn),
            )
            yield counts
            known, crowd = counts.source, counts.crowd
            row.wrong, row.last_at, row.has_fitted = known.wrong, known.last_at, known.has_fitted
            crowd_row.wrong_at, crowd_row.next_turn = [each.isoformat() for each in crowd.wrong_at], crowd.next_turn
            session.add_all((row, crowd_row))
            session.flush()
            _forget_the_oldest(session, most)
            session.commit()


def _forget_the_oldest(session: Session, most: int) -> None:
    newest = col(t.GuessSource.last_at).desc()
    oldest_kept = session.exec(select(t.GuessSource.last_at).order_by(newest).offset(most - 1).limit(1)).first()
    if oldest_kept is not None:
        session.execute(delete(t.GuessSource).where(col(t.GuessSource.last_at) < oldest_kept))


def counts_of(store: Store) -> GuessCounts:
    """The counts that hold for every process which serves this club: a file has one."""
    return InProcess() if store.is_sqlite else InDatabase(store)
