"""The roster as a table of text: who comes, and what their transmitter can make."""

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence

from meetapp.spectrum.carriers import check_width
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem, ChannelPlan, exact_mhz
from meetapp.spectrum.heats.problem import MOST_PILOTS, HeatPilot
from meetapp.spectrum.tuning import Setting, Tuning, parse_tuning, setting_for

_NEEDED = ("pilot", "channels")
_WIDTH = re.compile(r"[0-9]{1,3}(\.[0-9])?")
_LONGEST_NAME = 80


def parse_roster(text: str, plans: Sequence[ChannelPlan]) -> tuple[HeatPilot, ...]:
    """Read pilots from a table with the columns `pilot` and `channels`, in any order, and others that don't matter.

    Commas, semicolons or tabs between cells, quotes where a cell holds one (RFC 4180). `channels` is read like any
    tuning: `A B`, `R3`, `5740`, `5650-5925/1`. Two columns may come on top: `wake` (a label or MHz: what the
    transmitter comes up on) and `width` (MHz, else 20). Empty rows are passed over.
    Raises: BadProblem whose field and sentence name the row, counted in lines of the file with the header as row 1.

    >>> from meetapp.data.catalog import published_plans
    >>> pilots = parse_roster("pilot,channels\\nAda,R1 R2\\nBo,5740", published_plans())
    >>> [(pilot.name, [setting.label for setting in pilot.settings]) for pilot in pilots]
    [('Ada', ['R1', 'R2']), ('Bo', ['5740 MHz'])]
    >>> parse_roster("pilot,channels\\nAda,R9", published_plans())
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: Row 2 (Ada): 'R9' is no plan, channel, frequency or range; there is R1 to R8.
    """
    reader = _Reader(plans)
    pilots: dict[str, HeatPilot] = {}
    row_of: dict[str, int] = {}
    for row, cells in _rows(text):
        pilot = reader.pilot(row, cells)
        if pilot.name in pilots:
            raise _bad(row, f"'{pilot.name}' stands in row {row_of[pilot.name]} already: tell them apart.")
        pilots[pilot.name] = pilot
        row_of[pilot.name] = row
        if len(pilots) > MOST_PILOTS:
            raise _bad(row, f"That is more than {MOST_PILOTS} pilots.")
    if not pilots:
        raise BadProblem("roster", "The roster has no pilots: one row each under the header 'pilot,channels'.")
    return tuple(pilots.values())


def _rows(text: str) -> Iterator[tuple[int, dict[str, str]]]:
    """The rows under the header with their numbers, as cells by column."""
    lines = io.StringIO(text.removeprefix("\ufeff"), newline="")
    header: list[str] | None = None
    delimiter = _delimiter(text)
    table = csv.reader(lines, delimiter=delimiter, strict=True)
    while True:
        row = table.line_num + 1
        try:
            cells = next(table, None)
        except csv.Error as error:
            raise _bad(row, f"it can't be read as a table ({error}).") from None
        if cells is None:
            break
        if not any(cell.strip() for cell in cells):
            continue
        if header is None:
            header = _header([cell.strip().casefold() for cell in cells])
            continue
        if any(cell.strip() for cell in cells[len(header) :]):
            raise _bad(row, f"it has more cells than the header: quote a cell that holds '{delimiter}'.")
        yield row, {name: cell.strip() for name, cell in zip(header, cells, strict=False)}


def _header(names: list[str]) -> list[str]:
    missing = [name for name in _NEEDED if name not in names]
    if missing:
        wanted = "' and '".join(missing)
        raise BadProblem("roster", f"The roster has no column '{wanted}': its first row must be a header.")
    twice = [name for name in (*_NEEDED, "wake", "width") if names.count(name) > 1]
    if twice:
        raise BadProblem("roster", f"The roster has the column '{twice[0]}' twice.")
    return names


def _delimiter(text: str) -> str:
    """What stands between the cells of the header."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    return max(",;\t", key=lambda sign: (first.count(sign), sign == ","))


class _Reader:
    """Reads rows; many pilots have the same kit, so each text is read once."""

    def __init__(self, plans: Sequence[ChannelPlan]) -> None:
        self._plans = plans
        self._settings: dict[str, tuple[Setting, ...]] = {}

    def pilot(self, row: int, cells: Mapping[str, str]) -> HeatPilot:
        name = " ".join(cells.get("pilot", "").split())
        if not name:
            raise _bad(row, "the pilot has no name.")
        if len(name) > _LONGEST_NAME:
            raise _bad(row, f"a name has at most {_LONGEST_NAME} letters.")
        try:
            return HeatPilot(
                name,
                self._settings_of(cells.get("channels", "")),
                _width(cells.get("width", "")),
                wake_mhz=self._wake(cells.get("wake", "")),
            )
        except BadProblem as error:
            raise BadProblem(f"row {row}", f"Row {row} ({name}): {error.reason}") from None

    def _settings_of(self, text: str) -> tuple[Setting, ...]:
        if text not in self._settings:
            tuning = parse_tuning(text, self._plans)
            self._settings[text] = tuple(self._setting(mhz, tuning) for mhz in sorted(tuning.all_mhz()))
        return self._settings[text]

    def _setting(self, mhz: int, tuning: Tuning) -> Setting:
        setting = setting_for(mhz, 0, tuning, None, self._plans)
        assert setting is not None  # the tuning makes each of its frequencies
        return setting

    def _wake(self, text: str) -> int | None:
        if not text:
            return None
        frequencies = parse_tuning(text, self._plans).all_mhz()
        if len(frequencies) > 1:
            raise BadProblem("wake", f"'{text}' is more than one channel to wake on.")
        return min(frequencies)


def _width(text: str) -> float:
    if not text:
        return REFERENCE_WIDTH_MHZ
    if not _WIDTH.fullmatch(text):
        raise BadProblem("width", f"A width must be a number of MHz, not '{text}'.")
    check_width(float(text))
    return exact_mhz(float(text))


def _bad(row: int, reason: str) -> BadProblem:
    return BadProblem(f"row {row}", f"Row {row}: {reason}")
