"""A list of pilots as people have it (CSV, from a file or typed): its columns found, its rows read, nothing judged."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.flows.csv_cells import plain_cell
from meetapp.flows.errors import Refused
from meetapp.flows.readings import one_line, same_name

ROWS_MAX = 5_000
BYTES_MAX = 1_000_000
NAME_LENGTH_MAX = 80
_LINES_LOOKED_AT = 50
_DELIMITERS = ("\t", ";", ",")

_COLUMNS = {
    "name": ("name", "names", "pilot", "pilots", "pilot name", "full name"),
    "first": ("first name", "given name", "forename"),
    "last": ("last name", "surname", "family name"),
    "board": ("board name", "board", "nickname", "call sign", "callsign"),
    "profile": ("band profile", "band"),
    "kind": ("transmitter", "transmitter kind", "kind", "kind of transmitter", "video transmitter", "vtx"),
    "called": ("transmitter nickname", "called", "transmitter name"),
    "wake": ("wake channel", "wake", "wakes on", "channel"),
}
_COLUMN_OF = {words: column for column, all_words in _COLUMNS.items() for words in all_words}
_REPEATABLE = ("kind", "called", "wake")

Column = tuple[str, int]
"""What a column holds, and for which of a pilot's transmitters (1 for the first)."""

_WITHOUT_HEADING: tuple[Column, ...] = (("name", 1), ("kind", 1), ("wake", 1))


@dataclass(frozen=True, slots=True)
class SheetTransmitter:
    """A transmitter as its row names it; each text may be empty, never all three."""

    kind: str
    nickname: str
    wake: str


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One pilot as the list has them. `row` is the line in the list, from 1; `problem` says why it can't be read."""

    row: int
    name: str
    board_name: str = ""
    profile: str = ""
    transmitters: tuple[SheetTransmitter, ...] = ()
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole list. `unused`: headings of columns that nothing is taken from."""

    rows: tuple[SheetRow, ...]
    has_heading: bool
    unused: tuple[str, ...]


def text_from(content: bytes) -> tuple[str, str]:
    """The text of a file, and a remark on how it was read ('' for UTF-8).

    Raises:
        Refused: no text.
    """
    if b"\x00" in content or content.startswith((b"PK", b"\xff\xfe", b"\xfe\xff")):
        raise Refused(
            "This file is not a text file: it looks like a spreadsheet.",
            "Save the list as CSV (UTF-8) first, then choose that file.",
            field="file",
        )
    try:
        return content.decode("utf-8-sig"), ""
    except UnicodeDecodeError:
        # What a spreadsheet writes on an older Windows machine; every byte has a meaning there, so look at the names.
        text = content.decode("cp1252", errors="replace")
        return text, "The file is not in UTF-8 and was read as Windows text: look at names with accents."


def read_sheet(text: str) -> Sheet:
    """Read a list of pilots.

    Separators: comma, semicolon or tab. A heading is found by its words; without one the columns are name,
    transmitter, wake channel.

    Raises:
        Refused: nobody in it, too long, two columns for one thing, no column for the name, a stray quotation mark.
    """
    if len(text.encode()) > BYTES_MAX:
        raise Refused("This list is longer than 1 MB.", "Send it in two parts.", field="text")
    lines = list(_cells(text.removeprefix("\ufeff")))
    if not lines:
        raise Refused("There is nobody in this list.", "Type one pilot per line, or choose a file.", field="text")
    heading = [_column_of(cell) for cell in lines[0][1]]
    has_heading = any(heading)
    columns: Sequence[Column | None] = _checked(heading) if has_heading else _WITHOUT_HEADING
    unused = [cell for cell, column in zip(lines[0][1], heading, strict=True) if cell and column is None]
    body = lines[1:] if has_heading else lines
    if not body:
        raise Refused("There is a heading, and nobody below it.", "Add one pilot per line.", field="text")
    if len(body) > ROWS_MAX:
        raise Refused(f"This list has {len(body)} rows; {ROWS_MAX} at most.", "Send it in parts.", field="text")
    rows = tuple(_row(number, cells, columns) for number, cells in body)
    return Sheet(rows, has_heading, tuple(unused) if has_heading else ())


def _cells(text: str) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_delimiter(text), skipinitialspace=True, strict=True)
    begins = 1
    try:
        for cells in reader:
            plain = [plain_cell(one_line(cell)) for cell in cells]
            if any(plain):
                yield begins, plain
            begins = reader.line_num + 1
    except csv.Error as error:
        raise Refused(
            f"Row {begins} can't be read: a quotation mark is not closed, or text stands behind it.",
            "Put quotation marks around the whole cell, or take them out.",
            field="text",
        ) from error


def _delimiter(text: str) -> str:
    lines = [line for line in text.splitlines()[:_LINES_LOOKED_AT] if line.strip()]
    if not lines:
        return ","
    for delimiter in _DELIMITERS:
        if delimiter in lines[0] and any(_column_of(cell.strip(' "')) for cell in lines[0].split(delimiter)):
            return delimiter
    # A real separator stands in nearly every line; a comma may also stand inside the name of a kind.
    return max(_DELIMITERS, key=lambda delimiter: sum(delimiter in line for line in lines))


def _column_of(cell: str) -> Column | None:
    words = re.sub(r"[_\-*:.]+", " ", same_name(cell))
    number = re.search(r"\d{1,2}", words)
    column = _COLUMN_OF.get(" ".join(re.sub(r"\d+", " ", words).split()))
    if column is None or (number and column not in _REPEATABLE):
        return None
    return column, int(number[0]) if number else 1


def _checked(heading: list[Column | None]) -> list[Column | None]:
    found = [column for column in heading if column is not None]
    if twice := next((column for column in found if found.count(column) > 1), None):
        words = _COLUMNS[twice[0]][0]
        raise Refused(f"Two columns are headed '{words}'.", "Keep one of them.", field="text")
    if not any(column[0] in ("name", "first", "last") for column in found):
        raise Refused("The heading has no column for the name.", "Head it 'name'.", field="text")
    return heading


def _row(number: int, cells: list[str], columns: Sequence[Column | None]) -> SheetRow:
    given = {column: cell for column, cell in zip(columns, cells, strict=False) if column is not None and cell}
    name = given.get(("name", 1)) or " ".join(filter(None, (given.get(("first", 1)), given.get(("last", 1)))))
    board_name = given.get(("board", 1), "")
    extra = [cell for cell in cells[len(columns) :] if cell]
    return SheetRow(
        number,
        name,
        board_name,
        given.get(("profile", 1), ""),
        _transmitters(given),
        _problem(name, board_name, extra, len(columns)),
    )


def _transmitters(given: dict[Column, str]) -> tuple[SheetTransmitter, ...]:
    numbers = sorted({number for column, number in given if column in _REPEATABLE})
    return tuple(
        SheetTransmitter(*(given.get((column, number), "") for column in _REPEATABLE)) for number in numbers
    )


def _problem(name: str, board_name: str, extra: list[str], width: int) -> str:
    if not name:
        return "It has no name."
    if extra:
        return f"It has more cells than the {width} columns: '{extra[0][:30]}' is left over."
    if len(name) > NAME_LENGTH_MAX or len(board_name) > NAME_LENGTH_MAX:
        return f"The name is longer than {NAME_LENGTH_MAX} characters."
    return ""
