"""Rows of a paper loan sheet, as typed: read against the meet, each bad row named, before anything is written."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from meetapp.flows.errors import Refused
from meetapp.flows.snapshot import Person, Snapshot, TokenNow
from meetapp.rules.clock import BadTime, time_on_day
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.tuning import Setting


@dataclass(frozen=True, slots=True)
class PaperRow:
    """One row as typed: its number on the page, times as written, MHz only where the sheet says it."""

    number: int
    token_id: int | None
    pilot_id: int | None
    out: str
    back: str = ""
    mhz: int | None = None


@dataclass(frozen=True, slots=True)
class PaperLoan:
    """One row understood. `in_at` None: not back yet."""

    number: int
    token: TokenNow
    person: Person
    setting: Setting
    width_mhz: float
    out_at: datetime
    in_at: datetime | None

    @property
    def carrier(self) -> Carrier:
        """What it put on air."""
        return Carrier(self.setting.mhz, self.width_mhz)

    def overlaps(self, out_at: datetime, in_at: datetime | None) -> bool:
        """Whether it shares a moment with another stretch (None: still running)."""
        return (in_at is None or self.out_at < in_at) and (self.in_at is None or out_at < self.in_at)


class BadRows(Refused):
    """What has to be corrected on the sheet, by field name ('out_3': the time out in row 3)."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("Something on the sheet needs correcting.", "Nothing was entered yet.")
        self.errors = dict(errors)


class _BadCell(Exception):
    def __init__(self, column: str, sentence: str) -> None:
        super().__init__(sentence)
        self.column = column


def read_rows(
    rows: Sequence[PaperRow], day: date, snapshot: Snapshot, people: Mapping[int, Person]
) -> tuple[PaperLoan, ...]:
    """The rows as loans, in the order typed. `people`: everybody who may stand on the sheet, by pilot id.

    Raises:
        BadRows: one sentence for each bad row.
    """
    errors: dict[str, str] = {}
    loans: list[PaperLoan] = []
    for row in rows:
        try:
            loan = _read(row, day, snapshot, people)
            _check_against(loan, loans)
        except _BadCell as bad:
            errors[f"{bad.column}_{row.number}"] = f"Row {row.number}: {bad}"
        else:
            loans.append(loan)
    if not rows:
        errors[""] = "Nothing is filled in. Type at least one row."
    if errors:
        raise BadRows(errors)
    return tuple(loans)


def _read(row: PaperRow, day: date, snapshot: Snapshot, people: Mapping[int, Person]) -> PaperLoan:
    token = snapshot.token(row.token_id) if row.token_id is not None else None
    if token is None:
        raise _BadCell("token", "choose the token.")
    person = people.get(row.pilot_id) if row.pilot_id is not None else None
    if person is None:
        raise _BadCell("pilot", "choose the pilot.")
    out_at = _moment("out", row.out, day, snapshot)
    in_at = _moment("back", row.back, day, snapshot) if row.back else None
    if in_at is not None and in_at < out_at:
        raise _BadCell("back", f"back at {row.back} is before out at {row.out}.")
    if in_at is None and token.state in ("missing", "withdrawn"):
        raise _BadCell("back", f"{token.label} is marked {token.state}, so say when it came back.")
    setting = _setting(row, token, person, snapshot)
    width = person.kit.width_mhz if person.kit else REFERENCE_WIDTH_MHZ
    return PaperLoan(row.number, token, person, setting, width, out_at, in_at)


def _moment(column: str, text: str, day: date, snapshot: Snapshot) -> datetime:
    if not text:
        raise _BadCell(column, "write when it went out, like 14:32.")
    try:
        moment = time_on_day(text, day, snapshot.zone)
    except BadTime as error:
        raise _BadCell(column, str(error)) from error
    if moment > snapshot.now:
        raise _BadCell(column, f"{text} is still to come.")
    return moment


def _setting(row: PaperRow, token: TokenNow, person: Person, snapshot: Snapshot) -> Setting:
    """What was set: the MHz on the sheet, else the nearest to the token that the transmitter makes."""
    if row.mhz is not None:
        own = person.kit.tuning.channels if person.kit else ()
        label = next((channel.label for channel in own if channel.mhz == row.mhz), snapshot.name_of(row.mhz))
        return Setting(label, row.mhz)
    if person.kit is None:
        raise _BadCell("mhz", f"nobody told which transmitter {person.board_name} has: type the MHz that was set.")
    setting = snapshot.setting(person, token.nominal_mhz)
    if setting is None:
        raise _BadCell(
            "mhz", f"'{person.kit.name}' of {person.board_name} can't make {token.label}: type the MHz that was set."
        )
    return setting


def _check_against(loan: PaperLoan, earlier: Sequence[PaperLoan]) -> None:
    for other in earlier:
        if not loan.overlaps(other.out_at, other.in_at):
            continue
        if other.token.token_id == loan.token.token_id:
            raise _BadCell("token", f"{loan.token.label} is out at the same time in row {other.number}.")
        if other.person.pilot_id == loan.person.pilot_id:
            raise _BadCell("pilot", f"{loan.person.board_name} has a token at the same time in row {other.number}.")


@dataclass(frozen=True, slots=True)
class KnownLoan:
    """A loan that the tables have already, with the names of its token and holder."""

    token_id: int | None
    token_label: str
    pilot_id: int | None
    who: str
    out_at: datetime
    in_at: datetime | None


def clashes_with(loans: Sequence[PaperLoan], known: Sequence[KnownLoan], zone: ZoneInfo) -> dict[str, str]:
    """What stands in the way of these rows among the loans already known, by field name."""
    return dict(_clashes(loans, known, zone))


def _clashes(loans: Sequence[PaperLoan], known: Sequence[KnownLoan], zone: ZoneInfo) -> Iterator[tuple[str, str]]:
    for loan in loans:
        for other in known:
            if not loan.overlaps(other.out_at, other.in_at):
                continue
            when = _stretch(other, zone)
            if other.token_id == loan.token.token_id:
                yield f"token_{loan.number}", f"Row {loan.number}: {loan.token.label} was with {other.who} {when}."
            elif other.pilot_id == loan.person.pilot_id:
                sentence = f"Row {loan.number}: {other.who} had {other.token_label} {when}."
                yield f"pilot_{loan.number}", sentence


def _stretch(loan: KnownLoan, zone: ZoneInfo) -> str:
    out = loan.out_at.astimezone(zone).strftime("%H:%M")
    return f"from {out} to {loan.in_at.astimezone(zone):%H:%M}" if loan.in_at else f"since {out}"
