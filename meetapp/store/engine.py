"""The one place that knows how SQLite and PostgreSQL are opened, begun and locked."""

import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlmodel import Session, create_engine

from meetapp.store.change_feed import Changes, InProcessChanges
from meetapp.store.kept import Kept
from meetapp.store.one_writer import OneWriter
from meetapp.store.write_session import WriteSession

BUSY_TIMEOUT_MS = 10_000
"""How long a write waits for another to end, on both databases."""
IDLE_IN_WRITE_MS = 30_000
"""When a server ends a transaction whose client has gone silent (its machine lost power, say): its locks go with it."""
_IN_EACH_OTHER_S_WAY = ("40001", "40P01", "55P03")
"""PostgreSQL's codes for: not serializable, deadlock, lock not to be had (PostgreSQL manual, appendix A)."""
POSTGRESQL = ("postgresql", "postgres")


def sqlite_url(path: Path) -> str:
    """The database URL of a SQLite file."""
    return f"sqlite:///{path}"


def is_file(url: str) -> bool:
    """Whether a database URL names a SQLite file."""
    return url.startswith("sqlite")


def file_of(url: str) -> Path:
    """The file that a SQLite database URL names."""
    return Path(make_url(url).database or "")


def open_engine(url: str) -> Engine:
    """An engine for the club's database, prepared for its kind.

    On SQLite each connection gets WAL, synchronous=FULL, foreign keys and a busy timeout; transactions begin as the
    engine's execution option `sqlite_begin` says (DEFERRED unless a write asks for IMMEDIATE). On PostgreSQL (always by
    psycopg) nobody waits for a lock, or keeps one in silence, for ever. No error of either tells the values that were
    sent: they would stand in a log.
    """
    if not is_file(url):
        limits = f"-c lock_timeout={BUSY_TIMEOUT_MS} -c idle_in_transaction_session_timeout={IDLE_IN_WRITE_MS}"
        return create_engine(
            _by_psycopg(url),
            pool_pre_ping=True,
            pool_size=10,
            max_overflow=10,
            hide_parameters=True,
            connect_args={"options": limits},
        )
    engine = create_engine(
        url,
        connect_args={"check_same_thread": False},
        pool_size=10,
        max_overflow=20,
        pool_timeout=30,
        hide_parameters=True,
    )
    event.listen(engine, "connect", _prepare_sqlite_connection)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _by_psycopg(url: str) -> URL:
    parsed = make_url(url)
    return parsed.set(drivername="postgresql+psycopg") if parsed.get_backend_name() in POSTGRESQL else parsed


def is_worth_another_try(error: DBAPIError) -> bool:
    """Whether a write failed only because another was in its way, or because its connection was cut."""
    if error.connection_invalidated or getattr(error.orig, "sqlstate", None) in _IN_EACH_OTHER_S_WAY:
        return True
    return "database is locked" in str(error.orig)


def _prepare_sqlite_connection(dbapi_connection: Any, _record: Any) -> None:
    # The driver must not begin transactions by itself: only then can a write begin as IMMEDIATE.
    dbapi_connection.isolation_level = None
    for pragma in (
        "journal_mode=WAL",
        "synchronous=FULL",
        f"busy_timeout={BUSY_TIMEOUT_MS}",
        "foreign_keys=ON",
        # What was deleted or written over is no more to be read in the file (https://sqlite.org/pragma.html).
        "secure_delete=ON",
    ):
        dbapi_connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    mode = connection.get_execution_options().get("sqlite_begin", "DEFERRED")
    connection.exec_driver_sql(f"BEGIN {mode}")


def for_reading(engine: Engine) -> Engine:
    """Transactions that see the whole database at one moment, though others go on writing."""
    return engine if engine.dialect.name == "sqlite" else engine.execution_options(isolation_level="REPEATABLE READ")


def for_writing(engine: Engine) -> Engine:
    """Transactions that write: on SQLite they hold its one lock from the beginning."""
    return engine.execution_options(sqlite_begin="IMMEDIATE")


class Store:
    """The club's database, handed to flows: `read()` sees a snapshot, `write()` rolls back unless committed.

    A page reads many tables: on PostgreSQL only REPEATABLE READ shows them all as they were at one moment (SQLite
    always does). A write there is READ COMMITTED, so that behind the lock on its meet it sees what others did before.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        self.engine = open_engine(url)
        self._write_engine, self._read_engine = for_writing(self.engine), for_reading(self.engine)
        # SQLite's own waiting is unfair to those who wait longest; one lock in the process keeps the order.
        self._write_lock = threading.Lock()
        self.changes = self._changes()
        # Several processes write to a database server, and none hears of it in time: what one keeps could be old.
        self.kept = Kept() if self.is_sqlite else None
        self._writer = OneWriter(self._write_engine)
        event.listen(self._write_engine, "before_cursor_execute", self._note)

    def _note(self, _connection: Connection, _cursor: Any, statement: str, _values: Any, context: Any, *_: Any) -> None:
        if self.kept is not None:
            self.kept.note(statement, context)

    @property
    def is_sqlite(self) -> bool:
        """Whether the database is a SQLite file."""
        return self.engine.dialect.name == "sqlite"

    @staticmethod
    def is_out_of_reach(error: DBAPIError) -> bool:
        """Whether the database server doesn't answer, or cut the connection; never so for a file."""
        code = getattr(error.orig, "sqlstate", "of a file")
        # The driver has no code where it got no answer; class 57P: the server is being stopped or started.
        has_no_answer = isinstance(error, OperationalError) and (code is None or code.startswith("57P"))
        return error.connection_invalidated or has_no_answer

    def _changes(self) -> Changes:
        if self.is_sqlite:
            return InProcessChanges()
        from meetapp.store.server_changes import ServerChanges  # its driver is there only where it is used

        return ServerChanges(self.engine)

    @contextmanager
    def read(self) -> Iterator[Session]:
        """A session for reading; nothing it does is kept."""
        with Session(self._read_engine, expire_on_commit=False) as session:
            if self.kept is not None:
                # Who holds the lock has looked just now, and others are kept out meanwhile.
                if self._write_lock.acquire(blocking=False):
                    try:
                        self._forget_what_others_changed(self.kept)
                    finally:
                        self._write_lock.release()
                self.kept.begin(session)
            yield session

    @contextmanager
    def write(self) -> Iterator[WriteSession]:
        """A session for one write transaction: commit inside the block, or everything is rolled back.

        What was committed is published, after the block.
        """
        committed: list[Session] = []
        try:
            with self._writing() as session:
                session.before_commit.append(self.changes.announce)
                session.after_commit.append(committed.append)
                yield session
        finally:
            if committed:
                self.changes.publish()

    @contextmanager
    def _writing(self) -> Iterator[WriteSession]:
        if (kept := self.kept) is None:
            with WriteSession(self._write_engine) as session:
                yield session
            return
        with self._write_lock, ExitStack() as committing, WriteSession(self._writer.connection()) as session:
            session.connection()  # begins: no other process writes from here on
            self._forget_what_others_changed(kept)
            kept.begin_write(session)
            session.before_commit.append(lambda _: committing.enter_context(kept.commit()))
            yield session

    def _forget_what_others_changed(self, kept: Kept) -> None:
        if self._writer.others_wrote():
            kept.forget()

    def close(self) -> None:
        """Let go of every connection, and of what was kept: another file may lie there next time."""
        self.changes.close()
        self._writer.close()
        if self.kept is not None:
            self.kept.forget()
        self.engine.dispose()
