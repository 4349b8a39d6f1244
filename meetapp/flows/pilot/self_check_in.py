"""A pilot says what they brought today and that they are here: shared by claiming a name and the own page."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Work
from meetapp.flows.errors import Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.readings import read_wake
from meetapp.spectrum.channels import name_of
from meetapp.spectrum.tuning import parse_tuning
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class Brought:
    """Today's transmitter: one of the pilot's own, or one of a kind that the club knows, or not told (both None).

    `wake` is what was typed for a new one: a channel (`R3`), its MHz, or nothing where it isn't known.
    """

    transmitter_id: int | None = None
    kind_id: int | None = None
    wake: str = ""


@dataclass(frozen=True, slots=True)
class OwnTransmitter:
    """One of a pilot's transmitters, to choose from; `wakes_on` is a channel name, '' where it isn't known."""

    transmitter_id: int
    name: str
    wakes_on: str


def own_transmitters(session: Session, pilot_id: int) -> tuple[OwnTransmitter, ...]:
    """The pilot's transmitters that aren't retired, the oldest first."""
    plans = plans_of(session)
    rows = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(t.PilotTransmitter.pilot_id == pilot_id, col(t.PilotTransmitter.retired_at).is_(None))
        .order_by(col(t.PilotTransmitter.id))
    )
    return tuple(
        OwnTransmitter(
            own.id,
            f"{own.nickname} ({kind.name})" if own.nickname else kind.name,
            name_of(own.wake_mhz, plans) if own.wake_mhz is not None else "",
        )
        for own, kind in rows
    )


def kinds_to_choose(session: Session) -> tuple[tuple[int, str], ...]:
    """The club's kinds of transmitter that aren't retired, by name, as (id, name)."""
    kept = select(t.TransmitterKind).where(col(t.TransmitterKind.retired_at).is_(None))
    return tuple((row.id, row.name) for row in session.exec(kept.order_by(col(t.TransmitterKind.name))))


def brought_transmitter(work: Work, pilot_id: int, brought: Brought) -> int | None:
    """The id of the transmitter that was chosen; a new one is written down first.

    Raises:
        Refused: not the pilot's own, a kind that isn't there, or a wake channel that this kind can't have.
    """
    if brought.transmitter_id is not None:
        own = work.session.get(t.PilotTransmitter, brought.transmitter_id)
        if own is None or own.pilot_id != pilot_id or own.retired_at is not None:
            raise Refused("This transmitter isn't on the list any more.", "Choose another one.", field="transmitter")
        return own.id
    if brought.kind_id is None:
        return None
    kind = work.session.get(t.TransmitterKind, brought.kind_id)
    if kind is None or kind.retired_at is not None:
        raise Refused("This kind of transmitter isn't there any more.", "Choose another one.", field="kind_id")
    plans = plans_of(work.session)
    wake_mhz = read_wake(brought.wake, kind.name, parse_tuning(kind.tuning, plans), plans, "wake")
    made = t.PilotTransmitter(pilot_id=pilot_id, kind_id=kind.id, wake_mhz=wake_mhz)
    work.session.add(made)
    work.session.flush()
    return made.id


def attend(work: Work, meet_id: int, pilot_id: int, transmitter_id: int | None, *, is_here: bool) -> None:
    """Write down that a pilot comes to a meet, with today's transmitter where one is told, and that they are here.

    Who owns one transmitter only has brought that one unless told otherwise.
    """
    row = attendance_of(work.session, meet_id, pilot_id) or t.Attendance(meet_id=meet_id, pilot_id=pilot_id)
    row.transmitter_id = transmitter_id or row.transmitter_id or _only_one(work.session, pilot_id)
    if is_here and (row.checked_in_at is None or row.left_at is not None):
        row.checked_in_at = work.now
        row.left_at = None
    work.session.add(row)
    work.session.flush()


def _only_one(session: Session, pilot_id: int) -> int | None:
    own = own_transmitters(session, pilot_id)
    return own[0].transmitter_id if len(own) == 1 else None


def attendance_of(session: Session, meet_id: int, pilot_id: int) -> t.Attendance | None:
    """The row that says how this pilot stands at this meet."""
    own = select(t.Attendance).where(t.Attendance.meet_id == meet_id, t.Attendance.pilot_id == pilot_id)
    return session.exec(own).one_or_none()
