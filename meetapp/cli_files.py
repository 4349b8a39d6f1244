"""Files that a command reads and writes: what went wrong with one, in a sentence that says what to do."""

import errno
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from meetapp.flows.errors import MeetError

BAD_INPUT = 2

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT)


def read_text(path: Path) -> str:
    """The text of a meet file.

    Raises:
        MeetError: it isn't there, can't be read or is no text.
    """
    try:
        return read_bytes(path).decode("utf-8")
    except UnicodeDecodeError as error:
        raise MeetError(f"{path} is no text file.", "Give a meet file that an export wrote.") from error


def read_bytes(path: Path) -> bytes:
    """What a file holds, whatever it is.

    Raises:
        MeetError: it isn't there or can't be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        raise _refusal(path, error, f"There is no file {path}.") from error


def write_texts(texts: Mapping[Path, str], *, overwrite: bool) -> None:
    """Write each text to its file: all of them, or none that wasn't there before.

    Raises:
        MeetError: a file is there already and isn't to be replaced, or can't be written.
    """
    made: list[Path] = []
    for path, text in texts.items():
        try:
            is_new = not path.exists()
            with path.open("w" if overwrite else "x", encoding="utf-8") as out:
                made += [path] if is_new else []
                out.write(text)
        except OSError as error:
            for each in made:
                with suppress(OSError):
                    each.unlink()
            raise _refusal(path, error, f"There is no folder {path.parent} to write {path.name} into.") from error


def _refusal(path: Path, error: OSError, not_there: str) -> MeetError:
    if path.is_dir():
        return MeetError(f"{path} is a folder.", "Give the name of a file in it.")
    if isinstance(error, FileExistsError):
        return MeetError(f"{path} is there already.", "Give another name, or replace it with --overwrite.")
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return MeetError(not_there, "Check the name and the folder.")
    if isinstance(error, PermissionError):
        return MeetError(f"This user may not read or write {path}.", "Give another place, or change its owner.")
    if error.errno in _NO_ROOM:
        return MeetError(f"There is no room on the disk for {path}.", "Make room, or give another place.")
    return MeetError(f"{path} can't be read or written: {error.strerror}.", "Try another place.")
