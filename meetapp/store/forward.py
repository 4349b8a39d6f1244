"""Bring a club's database forward to this program's tables, after a verified copy; refuse what isn't ours to change."""

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, event
from sqlalchemy.pool import NullPool

from meetapp.store.engine import sqlite_url


class CantOpen(Exception):
    """The database can't be used. The text is one plain sentence; nothing was touched."""


def alembic_config(migrations: Path) -> Config:
    """Alembic's configuration for a folder of migrations."""
    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    return config


def newest_revision(migrations: Path) -> str:
    """The revision that this program's tables have."""
    head = ScriptDirectory.from_config(alembic_config(migrations)).get_current_head()
    assert head is not None, "the program comes with at least one migration"
    return head


def known_revisions(migrations: Path) -> frozenset[str]:
    """Every revision that this program can bring forward."""
    scripts = ScriptDirectory.from_config(alembic_config(migrations)).walk_revisions()
    return frozenset(script.revision for script in scripts)


def file_revision(path: Path, migrations: Path) -> str | None:
    """The revision of a club's file, read without touching it; None for a file that isn't there or is empty.

    Raises:
        CantOpen: no database, another program's database, or one from a newer version.
    """
    if not path.exists() or (path.is_file() and path.stat().st_size == 0):
        return None
    revision = _stored_revision(path)
    if revision not in known_revisions(migrations):
        raise CantOpen(
            f"The database {path} was written by a newer version of meetapp. Start that version, or name another file."
        )
    return revision


def _stored_revision(path: Path) -> str:
    try:
        with closing(sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)) as connection:
            tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
            if "alembic_version" not in tables or "club" not in tables:
                raise CantOpen(f"The file {path} is a database, but not one of meetapp. Name another file.")
            row = connection.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.DatabaseError as error:
        raise CantOpen(f"The file {path} is no database that can be read. Name another file.") from error
    return str(row[0]) if row else ""


def bring_file_forward(path: Path, migrations: Path, now: datetime) -> Path | None:
    """Make the file's tables this program's; an old file is copied first and the copy verified.

    Returns the copy's path, or None where none was needed (a new file, or nothing to change).

    Raises:
        CantOpen: the folder can't be written, the file isn't ours, or the change failed (the file is as it was).
    """
    stored = file_revision(path, migrations)
    if stored == newest_revision(migrations):
        _check_writable(path)
        return None
    copy = None
    if stored is None:
        _make_folder(path)
    else:
        copy = path.with_name(f"{path.stem}-before-{newest_revision(migrations)}-{now:%Y%m%d-%H%M%S}{path.suffix}")
        copy_verified(path, copy)
    try:
        with migration_connection(path) as connection:
            upgrade(connection, migrations)
    except Exception as error:
        kept = f" The copy is {copy}." if copy else ""
        raise CantOpen(f"The database {path} could not be brought forward; it is as it was.{kept} ({error})") from error
    return copy


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA user_version")
            connection.execute("BEGIN IMMEDIATE")
    except (OSError, sqlite3.Error) as error:
        raise CantOpen(f"The folder {path.parent} can't be written. Choose another with --database.") from error


def _check_writable(path: Path) -> None:
    try:
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("BEGIN IMMEDIATE")
            connection.execute("ROLLBACK")
    except sqlite3.Error as error:
        raise CantOpen(f"The database {path} can't be written ({error}). Check the folder and the disk.") from error


def copy_verified(path: Path, copy: Path) -> None:
    """Copy a SQLite file that may be in use, open the copy and compare it: sound, and as many rows in each table.

    Raises:
        CantOpen: the copy could not be made or isn't equal; the original is untouched.
    """
    try:
        with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(copy)) as target:
            source.backup(target)
            if target.execute("PRAGMA integrity_check").fetchone()[0] != "ok" or _counts(source) != _counts(target):
                raise CantOpen(f"The copy {copy} is not equal to the database; nothing was changed.")
    except sqlite3.Error as error:
        raise CantOpen(f"The database {path} can't be copied to {copy} ({error}); nothing was changed.") from error


def _counts(connection: sqlite3.Connection) -> dict[str, int]:
    tables = [row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
    return {table: connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0] for table in tables}


@contextmanager
def migration_connection(path: Path) -> Iterator[Connection]:
    """A connection to a file whose tables change; committed at the end, unless a row would point nowhere then."""
    # Changing a table on SQLite copies and drops it: foreign keys are off meanwhile and checked after.
    engine = create_engine(sqlite_url(path), poolclass=NullPool)
    event.listen(engine, "connect", lambda raw, _record: setattr(raw, "isolation_level", None))
    event.listen(engine, "connect", lambda raw, _record: raw.execute("PRAGMA foreign_keys=OFF"))
    event.listen(engine, "begin", lambda connection: connection.exec_driver_sql("BEGIN IMMEDIATE"))
    with engine.begin() as connection:
        yield connection
        if broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
            raise RuntimeError(f"{len(broken)} rows would point nowhere")
    engine.dispose()


def upgrade(connection: Connection, migrations: Path) -> None:
    """Run the missing migrations on an open connection; the caller commits."""
    config = alembic_config(migrations)
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def server_revision(connection: Connection) -> str | None:
    """The revision of a database server's tables; None where there are none."""
    return MigrationContext.configure(connection).get_current_revision()
