"""Settings: where the database is, where to listen. Read once at the start and handed down as values."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

DEFAULT_PORT = 8022
DATABASE_URL = "MEETAPP_DATABASE_URL"
NAMES = "MEETAPP_NAMES"


@dataclass(frozen=True, slots=True)
class Settings:
    """What the program was started with. `database_url` is SQLAlchemy's; `is_demo` marks a throwaway club.

    `names`: further ones under which it answers. `certificate` and `key`: PEM files, for TLS.
    `search_seconds`: how long a page may look for a better answer; 0: one look, bounded by steps, the same each time.
    """

    database_url: str
    host: str = "0.0.0.0"
    port: int = DEFAULT_PORT
    is_demo: bool = False
    search_seconds: float = 2
    names: tuple[str, ...] = ()
    certificate: Path | None = None
    key: Path | None = None

    @property
    def scheme(self) -> str:
        """How the server's addresses begin."""
        return "http" if self.certificate is None else "https"


def default_database_path(environ: Mapping[str, str] = os.environ) -> Path:
    """Where the club's file lives unless told otherwise: MEETAPP_DATABASE, else ~/.local/share/meetapp/club.db.

    The folder follows XDG_DATA_HOME where that is set (XDG base directory specification).
    """
    if named := environ.get("MEETAPP_DATABASE"):
        return Path(named).expanduser()
    base = environ.get("XDG_DATA_HOME") or "~/.local/share"
    return Path(base).expanduser() / "meetapp" / "club.db"


def data_folder(name: str) -> Path:
    """The folder of templates, static files or migrations, in an installed wheel or in a checkout."""
    here = Path(__file__).resolve().parent
    packed = here / "_data" / name
    return packed if packed.is_dir() else here.parent / name
