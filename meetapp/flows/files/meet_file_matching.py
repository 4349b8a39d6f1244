"""Which rows of a meet file this club has already, by their natural keys, and which would have to be made.

A site, a kind, a band profile goes by its name, a pilot by their name, a transmitter by its pilot, kind and nickname, a
token by its code and frequency, a channel plan by its letter.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session, col, select

from meetapp.flows.files.meet_file_checks import plans_in
from meetapp.flows.files.meet_file_reading import BadMeetFile
from meetapp.flows.files.meet_file_shape import BandPart, KindPart, MeetFile, PilotPart, PlanPart, TokenPart
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import same_name
from meetapp.spectrum.tuning import parse_tuning
from meetapp.store import tables as t


@dataclass(slots=True)
class Matches:
    """Ids of this club's rows by ref of the file (or by name, letter); a row that isn't there has to be made.

    `twin` is a meet of the same name and day that is here already (None: there is none).
    """

    site_id: int | None = None
    bands: dict[str, int] = field(default_factory=dict)
    plans: dict[str, int] = field(default_factory=dict)
    kinds: dict[int, int] = field(default_factory=dict)
    pilots: dict[int, int] = field(default_factory=dict)
    transmitters: dict[int, int] = field(default_factory=dict)
    tokens: dict[int, int] = field(default_factory=dict)
    twin: int | None = None


def match(session: Session, file: MeetFile) -> Matches:
    """Look every row up.

    Raises:
        BadMeetFile: a kind that would have to be made names a plan that means other frequencies here.
    """
    found = Matches()
    found.site_id = _by_name(session, t.Site).get(same_name(file.site.name))
    bands = _by_name(session, t.BandProfile)
    found.bands = {band.name: bands[same_name(band.name)] for band in bands_in(file) if same_name(band.name) in bands}
    letters = {row.letter: row.id for row in session.exec(select(t.ChannelPlanRow))}
    found.plans = {plan.letter: letters[plan.letter] for plan in file.plans if plan.letter in letters}
    kinds = _by_name(session, t.TransmitterKind)
    found.kinds = {kind.ref: kinds[same_name(kind.name)] for kind in file.kinds if same_name(kind.name) in kinds}
    _match_pilots(session, file, found)
    found.tokens = dict(_match_tokens(session, file))
    twin = select(t.Meet.id).where(t.Meet.name == file.meet.name, t.Meet.on_date == file.meet.on_date)
    found.twin = session.exec(twin).first()
    problems = tuple(_plan_problems(session, file, found))
    if problems:
        raise BadMeetFile(problems)
    return found


def bands_in(file: MeetFile) -> list[BandPart]:
    """The band profiles that the file names, each once."""
    every = [file.site.band_profile, *(pilot.band_profile for pilot in file.pilots if pilot.band_profile)]
    return list({same_name(band.name): band for band in reversed(every)}.values())[::-1]


def missing_plans(file: MeetFile, found: Matches) -> list[PlanPart]:
    """The channel plans that have to be made."""
    return [plan for plan in file.plans if plan.letter not in found.plans]


def missing_kinds(file: MeetFile, found: Matches) -> list[KindPart]:
    """The kinds that have to be made, in the order of their refs."""
    return sorted((kind for kind in file.kinds if kind.ref not in found.kinds), key=lambda kind: kind.ref)


def missing_pilots(file: MeetFile, found: Matches) -> list[PilotPart]:
    """The pilots who have to be made, in the order of their refs."""
    return sorted((pilot for pilot in file.pilots if pilot.ref not in found.pilots), key=lambda pilot: pilot.ref)


def missing_tokens(file: MeetFile, found: Matches) -> list[TokenPart]:
    """The tokens that have to be made, in the order of their refs."""
    return sorted((token for token in file.tokens if token.ref not in found.tokens), key=lambda token: token.ref)


def _by_name(session: Session, table: type[Any]) -> dict[str, int]:
    """Ids by name, capitals and spaces aside; of two, the older."""
    rows = session.exec(select(table.name, table.id).order_by(table.id.desc()))
    return {same_name(name): row_id for name, row_id in rows}


def _match_pilots(session: Session, file: MeetFile, found: Matches) -> None:
    """Each pilot of the club stands for one of the file at most: two of one name stay two."""
    rows = session.exec(select(t.Pilot).order_by(col(t.Pilot.retired_at).is_not(None), col(t.Pilot.id)))
    free: dict[str, list[int]] = {}
    for row in rows:
        free.setdefault(same_name(row.name), []).append(row.id)
    for pilot in sorted(file.pilots, key=lambda pilot: pilot.ref):
        same = free.get(same_name(pilot.name), [])
        if same:
            found.pilots[pilot.ref] = same.pop(0)
            _match_transmitters(session, pilot, found)


def _match_transmitters(session: Session, pilot: PilotPart, found: Matches) -> None:
    rows = session.exec(
        select(t.PilotTransmitter)
        .where(t.PilotTransmitter.pilot_id == found.pilots[pilot.ref])
        .order_by(col(t.PilotTransmitter.id))
    )
    free = list(rows)
    for own in sorted(pilot.transmitters, key=lambda own: own.ref):
        kind_id = found.kinds.get(own.kind)
        same = next((row for row in free if row.kind_id == kind_id and row.nickname == own.nickname), None)
        if same is not None:
            found.transmitters[own.ref] = same.id
            free.remove(same)


def _match_tokens(session: Session, file: MeetFile) -> Iterator[tuple[int, int]]:
    known = {(row.code.upper(), row.nominal_mhz): row.id for row in session.exec(select(t.Token))}
    for token in file.tokens:
        if (row_id := known.get((token.code.upper(), token.nominal_mhz))) is not None:
            yield token.ref, row_id


def _plan_problems(session: Session, file: MeetFile, found: Matches) -> Iterator[str]:
    """A kind that has to be made must mean here what it means in the file."""
    ours, theirs = plans_of(session), plans_in(file)
    merged = [*ours, *(plan for plan in theirs if plan.letter not in {each.letter for each in ours})]
    for number, kind in enumerate(file.kinds):
        if kind.ref in found.kinds:
            continue
        for name, text in (("tuning", kind.tuning), ("goggles", kind.goggles)):
            if text and parse_tuning(text, merged).all_mhz() != parse_tuning(text, theirs).all_mhz():
                yield (
                    f"kinds[{number}].{name} '{text}' means other frequencies with this club's channel plans. "
                    "Write its channels as MHz in the file."
                )
