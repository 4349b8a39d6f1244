"""Who is expected at a meet, and with which of their transmitters."""

from collections.abc import Mapping
from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.planning.meet_rows import find_meet, lock_unclosed
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class ExpectedPilot:
    """A pilot who may be ticked. `transmitters`: (id, name) pairs; `transmitter_id`: the one chosen (None: none known).

    `is_there`: checked in already, so the desk has the word on the transmitter.
    """

    pilot_id: int
    name: str
    board_name: str
    transmitters: tuple[tuple[int, str], ...]
    transmitter_id: int | None
    is_expected: bool
    is_there: bool


@dataclass(frozen=True, slots=True)
class ExpectedPage:
    """The pilots of the club for one meet, by name."""

    meet_id: int
    meet_name: str
    state: str
    pilots: tuple[ExpectedPilot, ...]

    @property
    def count(self) -> int:
        """How many are ticked."""
        return sum(pilot.is_expected for pilot in self.pilots)


def expected_page(store: Store, meet_id: int) -> ExpectedPage:
    """Read the page: everybody in the club who isn't retired."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        rows = _attendance_by_pilot(session, meet_id)
        transmitters = _transmitters(session)
        pilots = session.exec(
            select(t.Pilot).where(col(t.Pilot.retired_at).is_(None)).order_by(col(t.Pilot.name), col(t.Pilot.id))
        )
        return ExpectedPage(
            meet.id,
            meet.name,
            meet.state,
            tuple(_pilot_view(pilot, rows.get(pilot.id), transmitters.get(pilot.id, ())) for pilot in pilots),
        )


def _pilot_view(
    pilot: t.Pilot, row: t.Attendance | None, transmitters: tuple[tuple[int, str], ...]
) -> ExpectedPilot:
    own = row.transmitter_id if row else None
    return ExpectedPilot(
        pilot_id=pilot.id,
        name=pilot.name,
        board_name=pilot.board_name,
        transmitters=transmitters,
        transmitter_id=own if own is not None else next((each for each, _name in transmitters), None),
        is_expected=bool(row and row.is_expected),
        is_there=_is_there(row),
    )


def _is_there(row: t.Attendance | None) -> bool:
    return row is not None and row.checked_in_at is not None and row.left_at is None


def _attendance_by_pilot(session: Session, meet_id: int) -> dict[int, t.Attendance]:
    rows = session.exec(select(t.Attendance).where(t.Attendance.meet_id == meet_id))
    return {row.pilot_id: row for row in rows}


def _transmitters(session: Session) -> dict[int, tuple[tuple[int, str], ...]]:
    """The transmitters (not the retired ones) by pilot, as (id, name), the oldest first."""
    found: dict[int, tuple[tuple[int, str], ...]] = {}
    rows = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind.name)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(col(t.PilotTransmitter.retired_at).is_(None))
        .order_by(col(t.PilotTransmitter.id))
    )
    for own, kind_name in rows:
        name = f"{own.nickname} ({kind_name})" if own.nickname else kind_name
        found[own.pilot_id] = (*found.get(own.pilot_id, ()), (own.id, name))
    return found


def set_expected(store: Store, deed: Deed, meet_id: int, expected: Mapping[int, int | None]) -> Answer:
    """Say who is expected: pilot id to transmitter id (None: not known). Whoever is not named isn't expected.

    Who is checked in keeps the transmitter that the desk was told.
    """

    def work(work: Work) -> Answer:
        meet = lock_unclosed(work, meet_id)
        rows = _attendance_by_pilot(work.session, meet_id)
        transmitters = _transmitters(work.session)
        for pilot_id in sorted(expected):
            _check(work.session, pilot_id, expected[pilot_id], transmitters)
        for pilot_id in sorted(rows.keys() | expected.keys()):
            row = rows.get(pilot_id) or t.Attendance(meet_id=meet_id, pilot_id=pilot_id)
            row.is_expected = pilot_id in expected
            if row.is_expected and not _is_there(row):
                row.transmitter_id = expected[pilot_id]
            work.session.add(row)
        work.note("expected_set", {"count": len(expected)}, meet_id=meet_id)
        notice = f"{len(expected)} pilots are expected at '{meet.name}'."
        return Answer(f"/organiser/meets/{meet_id}", notice)

    return do_once(store, deed, work)


def _check(
    session: Session,
    pilot_id: int,
    transmitter_id: int | None,
    transmitters: Mapping[int, tuple[tuple[int, str], ...]],
) -> None:
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None:
        raise Refused("One of the pilots isn't in the club's list any more.", "Load the page again.")
    if pilot.retired_at is not None:
        raise Refused(f"{pilot.name} is retired.", "Bring them back first, on their own page.")
    own = {each for each, _name in transmitters.get(pilot_id, ())}
    if transmitter_id is not None and transmitter_id not in own:
        raise Refused(f"That transmitter isn't one of {pilot.name}'s.", "Load the page again.")
