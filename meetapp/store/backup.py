"""Copies of a club's file that can be relied on, and putting one back; one server at a time on a file."""

import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path

from meetapp.store.forward import CantOpen, bring_file_forward, file_revision


@contextmanager
def only_one(path: Path) -> Iterator[None]:
    """Hold the club's file for this process, until it ends in whatever way; others may still read and back up.

    The lock is SQLite's own on an empty file beside it, so it works alike on every system and dies with the process.

    Raises:
        CantOpen: another server holds it, or the folder can't be written.
    """
    with closing(_held(path)):
        yield


def _held(path: Path) -> sqlite3.Connection:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        connection = sqlite3.connect(path.with_name(f"{path.name}.lock"), timeout=0, isolation_level=None)
    except (OSError, sqlite3.Error) as error:
        raise CantOpen(f"The folder {path.parent} can't be written. Choose another with --database.") from error
    try:
        connection.execute("BEGIN EXCLUSIVE")
    except sqlite3.Error as error:
        connection.close()
        if "locked" not in str(error):
            raise CantOpen(f"The folder {path.parent} can't be written. Choose another with --database.") from error
        raise CantOpen(f"A server runs on {path} already: only one at a time may. Stop that one first.") from error
    return connection


def back_up(path: Path, copy: Path, migrations: Path) -> None:
    """Copy a club's file, in use or not, to one new file and open that to see that it is sound.

    The copy gets its name only once it has been checked and synced to the disk.

    Raises:
        CantOpen: no such club, the copy's name is taken, or it can't be written or isn't sound.
    """
    revision = file_revision(path, migrations)
    if revision is None:
        raise CantOpen(f"There is no club in {path}. Name the club's file with --database.")
    if copy.is_dir():
        raise CantOpen(f"{copy} is a folder. Name a file in it, such as {copy / 'club-copy.db'}.")
    if not copy.parent.is_dir():
        raise CantOpen(f"There is no folder {copy.parent} to write {copy.name} into. Is the stick in?")
    if copy.exists():
        raise CantOpen(f"{copy} is there already. Give another name.")
    part = copy.with_name(f"{copy.name}.part")
    part.unlink(missing_ok=True)
    try:
        _copy(path, part)
        _check(part)
        if file_revision(part, migrations) != revision:
            raise CantOpen(f"The copy of {path} is not equal to it. Try again.")
        with part.open("rb+") as written:
            os.fsync(written.fileno())
        part.replace(copy)
    except (sqlite3.Error, OSError) as error:
        hint = "Check the folder and the room on the disk."
        raise CantOpen(f"{path} can't be copied to {copy} ({error}). {hint}") from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def restore(copy: Path, path: Path, migrations: Path, now: datetime) -> Path | None:
    """Put a backup in the place of the club's file; an older version's is brought forward.

    Gives the name under which the file that stood there is kept; None where there was none. The backup is untouched.

    Raises:
        CantOpen: it is no backup of ours, isn't sound or is from a newer version, or a server runs on the file.
    """
    if path.exists() and copy.exists() and copy.samefile(path):
        raise CantOpen(f"{copy} is the club's own file. Name the backup's file.")
    if file_revision(copy, migrations) is None:
        raise CantOpen(f"There is no club in {copy}. Name the backup's file.")
    with only_one(path):
        part = path.with_name(f"{path.name}.part")
        part.unlink(missing_ok=True)
        try:
            _copy(copy, part)
            _check(part)
            before = bring_file_forward(part, migrations, now)
            if before is not None:
                before.unlink()
            _check(part)
            kept = _put_aside(path, now) if path.exists() else None
            part.replace(path)
        except (sqlite3.Error, OSError) as error:
            hint = "The club's file is as it was, or kept beside."
            raise CantOpen(f"{copy} can't be put back ({error}). {hint}") from error
        finally:
            with suppress(OSError):
                part.unlink(missing_ok=True)
    return kept


def _copy(path: Path, target: Path) -> None:
    source_uri = f"{path.resolve().as_uri()}?mode=ro"
    with closing(sqlite3.connect(source_uri, uri=True)) as source, closing(sqlite3.connect(target)) as made:
        source.backup(made)
        # The copy says of itself that it is written ahead; without that it stays one file when it is opened.
        made.execute("PRAGMA journal_mode=DELETE")


def _check(path: Path) -> None:
    with closing(sqlite3.connect(path)) as connection:
        sound = connection.execute("PRAGMA integrity_check").fetchone()[0]
        if sound != "ok" or connection.execute("PRAGMA foreign_key_check").fetchone():
            raise CantOpen(f"The copy in {path} is not sound: the file it was made from is damaged.")


def _put_aside(path: Path, now: datetime) -> Path:
    """Keep a file that is to be replaced under another name, with what a killed server left written ahead beside it.

    It stays in its place too, until the other one takes that: whoever dies in between leaves the club there.
    """
    stem = f"{path.stem}-replaced-{now:%Y%m%d-%H%M%S}"
    kept = path.with_name(f"{stem}{path.suffix}")
    number = 1
    while kept.exists():
        number += 1
        kept = path.with_name(f"{stem}-{number}{path.suffix}")
    with suppress(sqlite3.Error), closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    try:
        os.link(path, kept)
    except OSError:  # some file systems (a stick's, say) know one name for a file only
        shutil.copy2(path, kept)
    for end in ("-wal", "-shm"):
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.rename(kept.with_name(kept.name + end))
    return kept
