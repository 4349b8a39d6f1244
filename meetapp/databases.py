"""The two databases of a move: one that holds a club of this version, one that is made ready for it."""

from datetime import datetime
from pathlib import Path

from sqlalchemy.engine import make_url

from meetapp.config import data_folder
from meetapp.store.engine import is_file
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
    path = Path(make_url(url).database or "")
    stored = file_revision(path, migrations)
    if stored is None:
        raise CantOpen(f"There is no club in {path}. Name the club's file.")
    if stored != newest_revision(migrations):
        raise CantOpen(f"The database {path} is from an older version. Run 'meetapp migrate' on it first.")


def prepare_target(url: str, now: datetime) -> None:
    """Give a new database this program's tables; one that has tables must have these.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    if is_file(url):
        path = Path(make_url(url).database or "")
        if path.exists() and path.stat().st_size:
            refuse_unless_current(url)
        else:
            bring_file_forward(path, data_folder("migrations"), now)
    else:
        give_tables_if_none(url, data_folder("migrations"))
