"""What commands ask of a database before they use it: is a club there, of this version, or can it be made ready."""

from datetime import datetime

from meetapp.config import data_folder
from meetapp.store.engine import file_of, is_file
from meetapp.store.forward import CantOpen, bring_file_forward, file_revision, newest_revision
from meetapp.store.server_database import check_server, give_tables_if_none


def refuse_unless_current(url: str) -> None:
    """Look whether a database has this program's tables; changes nothing.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    migrations = data_folder("migrations")
    if not is_file(url):
        check_server(url, migrations)
        return
    path = file_of(url)
    stored = file_revision(path, migrations)
    if stored is None:
        raise CantOpen(f"There is no club in {path}. Name the club's file.")
    if stored != newest_revision(migrations):
        raise CantOpen(f"The database {path} is from an older version. Run 'meetapp migrate' on it first.")


def refuse_missing(url: str) -> None:
    """Whether the club's file is there: a command that only uses one makes none.

    Raises:
        CantOpen: it isn't there.
    """
    path = file_of(url)
    if is_file(url) and not path.exists():
        raise CantOpen(f"There is no file {path}. Name the club's file with --database.")


def is_file_behind(url: str) -> bool:
    """Whether this is a file that has to be brought forward before it is used.

    Raises:
        CantOpen: it is no club's file, or from a newer version.
    """
    migrations = data_folder("migrations")
    return is_file(url) and file_revision(file_of(url), migrations) != newest_revision(migrations)


def prepare_target(url: str, now: datetime) -> None:
    """Give a new database this program's tables; one that has tables must have these.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    if is_file(url):
        path = file_of(url)
        if path.exists() and path.stat().st_size:
            refuse_unless_current(url)
        else:
            bring_file_forward(path, data_folder("migrations"), now)
    else:
        give_tables_if_none(url, data_folder("migrations"))
