"""Kill the program while it starts, on a database of the oldest tables: they are as they were, or all brought forward.

Part of `tests.bench.kills`. A file is brought forward by `serve`, a server's database by `migrate`.
"""

import random
import shutil
import sqlite3
import tempfile
import time
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from alembic import command
from sqlalchemy import create_engine, text

from meetapp.config import data_folder
from meetapp.store.engine import file_of, is_file, sqlite_url
from meetapp.store.forward import alembic_config, file_revision, newest_revision, server_revision
from tests.migrations.test_migrations import put_rows
from tests.quick_start import Started, serving, started

OLDEST = "0001"
MIGRATIONS = data_folder("migrations")
Rows = dict[str, dict[str, object]]


@dataclass
class StartTally:
    """What was found after the kills: the tables as they were, or brought forward."""

    old: int = 0
    new: int = 0
    faults: list[str] = field(default_factory=list)


def kill_while_brought_forward(url: str, kills: int, dice: random.Random) -> StartTally:
    """Kill so many starts, each on the oldest tables with a row in each; then let one through."""
    tally = StartTally()
    with tempfile.TemporaryDirectory(prefix="meetapp-starts-") as folder:
        for number in range(kills):
            if is_file(url):
                place = sqlite_url(Path(folder, str(number), "club.db"))
                Path(folder, str(number)).mkdir()
            else:
                place = url
                _empty_server(url)
            put = _make_old(place)
            _kill_one(place, dice)
            _judge(place, put, tally)
            _let_one_through(place)
            if _revision(place) != newest_revision(MIGRATIONS):
                tally.faults.append("the start after a kill did not bring the tables forward")
            tally.faults += _missing(place, put)
            if is_file(url):
                shutil.rmtree(Path(folder, str(number)))
    if not is_file(url):
        _empty_server(url)
    return tally


def _start(url: str) -> Any:
    return serving("serve", "--database", url) if is_file(url) else started("migrate", "--database", url)


def _kill_one(url: str, dice: random.Random) -> None:
    """At any moment: soon after the start, or a moment after something was written or locked."""
    with _start(url) as program:
        if dice.random() < 0.7:
            wait = _wait_for_a_file if is_file(url) else _wait_for_a_lock
            wait(url, program)
            time.sleep(dice.uniform(0, 0.1))
        else:
            time.sleep(dice.uniform(0, 0.3))


def _wait_for_a_file(url: str, program: Started) -> None:
    """Until anything lies beside the database: a copy, a journal."""
    folder = Path(file_of(url)).parent
    before = len(list(folder.iterdir()))
    while program.process.is_alive() and len(list(folder.iterdir())) <= before:
        pass


def _wait_for_a_lock(url: str, program: Started) -> None:
    """Until somebody holds a lock that only a change of tables takes."""
    asked = text("SELECT count(*) FROM pg_locks WHERE mode = 'AccessExclusiveLock' AND locktype = 'relation'")
    engine = create_engine(url, isolation_level="AUTOCOMMIT")
    with engine.connect() as looking:
        while program.process.is_alive() and not looking.execute(asked).scalar_one():
            pass
    engine.dispose()


def _let_one_through(url: str) -> None:
    with _start(url) as program:
        _wait_until_done(url, program)


def _wait_until_done(url: str, program: Started) -> None:
    if is_file(url):
        program.address()
    else:
        program.process.join()


def _judge(url: str, put: Rows, tally: StartTally) -> None:
    """After a kill: sound, and as it was or brought forward, with every row in it."""
    if is_file(url):
        with closing(sqlite3.connect(file_of(url))) as connection:
            if (said := connection.execute("PRAGMA integrity_check").fetchone()[0]) != "ok":
                tally.faults.append(f"a file that isn't sound: {said}")
    revision = _revision(url)
    if revision == OLDEST:
        tally.old += 1
    elif revision == newest_revision(MIGRATIONS):
        tally.new += 1
    else:
        tally.faults.append(f"the tables are half way, at {revision}")
    tally.faults += _missing(url, put)


def _revision(url: str) -> str | None:
    if is_file(url):
        return file_revision(Path(file_of(url)), MIGRATIONS)
    engine = create_engine(url)
    try:
        with engine.connect() as connection:
            return server_revision(connection)
    finally:
        engine.dispose()


def _missing(url: str, put: Rows) -> list[str]:
    """The rows that were put in and aren't there any more as they were."""
    engine = create_engine(url)
    faults = []
    with engine.connect() as connection:
        for table, row in put.items():
            kept = connection.execute(text(f"SELECT {', '.join(row)} FROM {table}")).one()
            if [_plain(value) for value in kept] != [_plain(value) for value in row.values()]:
                faults.append(f"a row of {table} is {list(kept)}, it was {list(row.values())}")
    engine.dispose()
    return faults


def _plain(value: object) -> str:
    """A value as text: times to the second, without zones; yes and no as a file keeps them."""
    said = str(int(value)) if isinstance(value, bool) else str(value)
    return said[:19] if said[4:5] == said[7:8] == "-" else said


def _make_old(url: str) -> Rows:
    engine = create_engine(url)
    config = alembic_config(MIGRATIONS)
    with engine.begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, OLDEST)
        put = put_rows(connection)
    engine.dispose()
    return put


def _empty_server(url: str) -> None:
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text("DROP SCHEMA public CASCADE"))
        connection.execute(text("CREATE SCHEMA public"))
    engine.dispose()
