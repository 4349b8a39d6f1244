"""Pilots from a list: a preview that names every bad row, then all of them or none."""

from dataclasses import dataclass, field
from difflib import get_close_matches

from sqlmodel import Session, select

from meetapp.flows.club.pilot_sheet import NAME_LENGTH_MAX, Sheet, SheetRow, SheetTransmitter, read_sheet
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import read_wake, same_name
from meetapp.spectrum.channels import ChannelPlan, name_of
from meetapp.spectrum.tuning import Tuning, parse_tuning
from meetapp.store import tables as t
from meetapp.store.engine import Store

NEAREST_SHOWN = 3
COMPARED_AT_MOST = 200
"""Kinds that get their nearest names: comparing takes time, and a list of other things needs no more of them."""


@dataclass(frozen=True, slots=True)
class BadRow:
    """A row that can't be taken, and why."""

    row: int
    name: str
    reason: str


@dataclass(frozen=True, slots=True)
class GoodRow:
    """A row as it would be taken. `transmitters`: their words, such as 'Analogue R, wakes on R3'."""

    row: int
    name: str
    board_name: str
    profile: str
    transmitters: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """What an import would do. It is done only if `bad` is empty."""

    good: tuple[GoodRow, ...]
    bad: tuple[BadRow, ...]
    unused: tuple[str, ...]
    has_heading: bool
    transmitter_count: int


@dataclass(frozen=True, slots=True)
class _Transmitter:
    kind_id: int
    kind_name: str
    nickname: str
    wake_mhz: int | None


@dataclass(frozen=True, slots=True)
class _Pilot:
    row: int
    name: str
    board_name: str
    profile_id: int | None
    profile: str
    transmitters: tuple[_Transmitter, ...]


@dataclass
class _Club:
    """What the rows are compared with; names as they are compared. `found`: kinds looked up, or why there is none."""

    plans: tuple[ChannelPlan, ...]
    kinds: dict[str, tuple[t.TransmitterKind, Tuning]]
    profiles: dict[str, t.BandProfile]
    pilots: dict[str, t.Pilot]
    board_names: set[str]
    found: dict[str, tuple[t.TransmitterKind, Tuning] | str] = field(default_factory=dict)


def preview(store: Store, text: str) -> Preview:
    """What importing this list would do; nothing is changed."""
    sheet = read_sheet(text)
    with store.read() as session:
        club = _club(session)
    pilots, bad = _checked(sheet, club)
    good = tuple(
        GoodRow(
            pilot.row,
            pilot.name,
            pilot.board_name,
            pilot.profile,
            tuple(_words(each, club.plans) for each in pilot.transmitters),
        )
        for pilot in pilots
    )
    count = sum(len(pilot.transmitters) for pilot in pilots)
    return Preview(good, tuple(bad), sheet.unused, sheet.has_heading, count)


def import_pilots(store: Store, deed: Deed, text: str) -> Answer:
    """Put everybody of this list on the club's list.

    Raises:
        Refused: a row is bad; then nobody is taken.
    """
    sheet = read_sheet(text)

    def work(work: Work) -> Answer:
        pilots, bad = _checked(sheet, _club(work.session))
        if bad:
            raise Refused(f"Nobody was taken: {_rows(len(bad))} can't be.", "Correct the list and look again.")
        rows = [
            t.Pilot(name=pilot.name, board_name=pilot.board_name, band_profile_id=pilot.profile_id) for pilot in pilots
        ]
        work.session.add_all(rows)
        work.session.flush()
        transmitters = [
            t.PilotTransmitter(
                pilot_id=row.id, kind_id=each.kind_id, nickname=each.nickname, wake_mhz=each.wake_mhz
            )
            for row, pilot in zip(rows, pilots, strict=True)
            for each in pilot.transmitters
        ]
        work.session.add_all(transmitters)
        work.note("pilots_imported", {"count": len(rows)})
        return Answer("/organiser/pilots", _told(len(rows), len(transmitters)))

    return do_once(store, deed, work)


def _told(pilots: int, transmitters: int) -> str:
    people = "1 pilot is" if pilots == 1 else f"{pilots} pilots are"
    kits = f" with {transmitters} transmitter{'' if transmitters == 1 else 's'}" if transmitters else ""
    return f"{people} on the list now{kits}."


def _rows(count: int) -> str:
    return "1 row" if count == 1 else f"{count} rows"


def _club(session: Session) -> _Club:
    plans = plans_of(session)
    pilots = session.exec(select(t.Pilot)).all()
    return _Club(
        plans,
        {
            same_name(kind.name): (kind, parse_tuning(kind.tuning, plans))
            for kind in session.exec(select(t.TransmitterKind))
        },
        {same_name(row.name): row for row in session.exec(select(t.BandProfile))},
        {same_name(pilot.name): pilot for pilot in pilots},
        {same_name(pilot.board_name) for pilot in pilots if pilot.retired_at is None},
    )


def _checked(sheet: Sheet, club: _Club) -> tuple[list[_Pilot], list[BadRow]]:
    good: list[_Pilot] = []
    bad: list[BadRow] = []
    first_row: dict[str, int] = {}
    first_board: dict[str, int] = {}
    for row in sheet.rows:
        try:
            _check_names(row, club, first_row, first_board)
            good.append(_pilot(row, club))
        except Refused as problem:
            bad.append(BadRow(row.row, row.name[:NAME_LENGTH_MAX], problem.message))
        first_row.setdefault(same_name(row.name), row.row)
        first_board.setdefault(same_name(row.board_name or row.name), row.row)
    return good, bad


def _check_names(row: SheetRow, club: _Club, first_row: dict[str, int], first_board: dict[str, int]) -> None:
    if row.problem:
        raise Refused(row.problem)
    name, board_name = same_name(row.name), same_name(row.board_name or row.name)
    if known := club.pilots.get(name):
        state = "is in the club, retired: bring them back instead" if known.retired_at else "is in the club already"
        raise Refused(f"{known.name} {state}.")
    if name in first_row:
        raise Refused(f"The name stands in row {first_row[name]} already.")
    if board_name in club.board_names:
        raise Refused(f"The board calls somebody in the club '{row.board_name or row.name}' already.")
    if board_name in first_board:
        raise Refused(f"The board name stands in row {first_board[board_name]} already.")


def _pilot(row: SheetRow, club: _Club) -> _Pilot:
    profile = club.profiles.get(same_name(row.profile))
    if row.profile and profile is None:
        near = _nearest(row.profile, [each.name for each in club.profiles.values()])
        raise Refused(f"There is no band profile '{row.profile[:40]}'{near}.")
    return _Pilot(
        row.row,
        row.name,
        row.board_name or row.name,
        profile.id if profile else None,
        profile.name if profile else "",
        tuple(_transmitter(each, club) for each in row.transmitters),
    )


def _transmitter(given: SheetTransmitter, club: _Club) -> _Transmitter:
    if len(given.nickname) > NAME_LENGTH_MAX:
        raise Refused(f"The transmitter's nickname is longer than {NAME_LENGTH_MAX} characters.")
    if not given.kind:
        raise Refused(f"'{(given.wake or given.nickname)[:30]}' stands there without a kind of transmitter.")
    kind, tuning = _kind(given.kind, club)
    wake_mhz = read_wake(given.wake, kind.name, tuning, club.plans, "wake")
    return _Transmitter(kind.id, kind.name, given.nickname, wake_mhz)


def _kind(typed: str, club: _Club) -> tuple[t.TransmitterKind, Tuning]:
    """The kind of this name, or the only one whose name has all the words that were typed."""
    wanted = same_name(typed)
    if wanted not in club.found:
        club.found[wanted] = _looked_up(typed, club)
    found = club.found[wanted]
    if isinstance(found, str):
        raise Refused(found)
    return found


def _looked_up(typed: str, club: _Club) -> tuple[t.TransmitterKind, Tuning] | str:
    if (exact := club.kinds.get(same_name(typed))) is not None:
        return exact
    words = set(_bare(same_name(typed)))
    offered = {name: kind for name, kind in club.kinds.items() if kind[0].retired_at is None}
    fitting = [kind for name, kind in offered.items() if words and words <= set(_bare(name))]
    if len(fitting) == 1:
        return fitting[0]
    names = [kind.name for kind, _tuning in fitting or offered.values()]
    near = _nearest(typed, names) if len(club.found) < COMPARED_AT_MOST else ""
    return f"There is no kind '{typed[:40]}'{near}."


def _bare(name: str) -> list[str]:
    return "".join(sign if sign.isalnum() else " " for sign in name).split()


def _nearest(typed: str, names: list[str]) -> str:
    by_key = {same_name(name): name for name in names}
    keys = get_close_matches(same_name(typed), by_key, n=NEAREST_SHOWN, cutoff=0.3) or sorted(by_key)[:NEAREST_SHOWN]
    return "; nearest: " + ", ".join(f"'{by_key[key]}'" for key in keys) if keys else ""


def _words(each: _Transmitter, plans: tuple[ChannelPlan, ...]) -> str:
    called = f"{each.nickname} ({each.kind_name})" if each.nickname else each.kind_name
    return f"{called}, wakes on {name_of(each.wake_mhz, plans)}" if each.wake_mhz is not None else called
