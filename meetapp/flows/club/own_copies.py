"""Copies of the club's file that the tool makes by itself, when a meet opens and when it closes."""

import re
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from meetapp.store.backup import back_up
from meetapp.store.engine import file_of, is_file
from meetapp.store.forward import CantOpen

COPIES_KEPT = 12
"""How many are kept beside the club's file; older ones that the tool made itself are deleted."""

Occasion = Literal["opened", "closed"]
Start = Callable[[Callable[[], None]], None]


@dataclass(frozen=True, slots=True)
class OwnCopy:
    """A copy that is there: its file, when it was made (UTC) and why, and how large it is."""

    path: Path
    made_at: datetime
    occasion: str
    size: int

    @property
    def megabytes(self) -> float:
        """Its size, a tenth of a megabyte at least."""
        return max(0.1, round(self.size / 1_000_000, 1))


@dataclass(frozen=True, slots=True)
class CopiesView:
    """What the organiser is told. `failed`: why the last one since the start couldn't be made, '' where it could."""

    is_file: bool
    newest: OwnCopy | None
    failed: str
    failed_at: datetime | None


def in_a_thread(work: Callable[[], None]) -> None:
    """Have the work done beside everything else."""
    threading.Thread(target=work, name="copy of the club", daemon=True).start()


class OwnCopies:
    """Makes the copies of one club, each beside the answer to the tap that called for it, never in its way."""

    def __init__(self, url: str, migrations: Path, start: Start = in_a_thread) -> None:
        self._path = file_of(url) if is_file(url) else None
        self._migrations = migrations
        self._start = start
        self._lock = threading.Lock()
        self._failed: tuple[str, datetime] | None = None

    def begin(self, occasion: Occasion, now: datetime) -> None:
        """Make a copy after what was done now. A database server comes with tools of its own for that."""
        if (path := self._path) is not None:
            self._start(lambda: self._make(path, occasion, now))

    def view(self) -> CopiesView:
        """How it stands with the copies."""
        failed, failed_at = self._failed or ("", None)
        newest = max(_made_by_us(self._path), key=lambda copy: copy.made_at, default=None) if self._path else None
        return CopiesView(self._path is not None, newest, failed, failed_at)

    def _make(self, path: Path, occasion: Occasion, now: datetime) -> None:
        folder = _folder(path)
        copy = folder / f"{path.stem}-{now.astimezone(UTC):%Y%m%d-%H%M%S}-{occasion}{path.suffix}"
        with self._lock:
            try:
                folder.mkdir(exist_ok=True)
                if not copy.exists():
                    back_up(path, copy, self._migrations)
                self._failed = None
            except (CantOpen, OSError) as error:
                self._failed = (str(error), now)
                return
            for old in sorted(_made_by_us(path), key=lambda copy: copy.made_at)[:-COPIES_KEPT]:
                with suppress(OSError):
                    old.path.unlink()


def _folder(path: Path) -> Path:
    return path.with_name(f"{path.stem}-copies")


def _made_by_us(path: Path) -> list[OwnCopy]:
    """The copies in the folder that bear a name of ours; what the organiser put there isn't among them."""
    name = re.compile(rf"{re.escape(path.stem)}-(\d{{8}}-\d{{6}})-(opened|closed){re.escape(path.suffix)}")
    found = []
    with suppress(OSError):
        for each in _folder(path).iterdir():
            if fits := name.fullmatch(each.name):
                made_at = datetime.strptime(fits.group(1), "%Y%m%d-%H%M%S").replace(tzinfo=UTC)
                found.append(OwnCopy(each, made_at, fits.group(2), each.stat().st_size))
    return found
