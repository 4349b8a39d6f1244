"""Checking pilots in at the desk with today's transmitter, new ones too, and letting them go home."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import Kit, kits_of, plans_of
from meetapp.flows.loans import line_rows, loan_rows
from meetapp.flows.loans.wording import holds_since
from meetapp.flows.pilot.claims import BOARD_NAME_MAX
from meetapp.flows.pilot.self_check_in import Brought, attend, attendance_of, brought_transmitter, kinds_to_choose
from meetapp.flows.readings import one_line, same_name
from meetapp.flows.snapshot import OnAir, Snapshot, locked_snapshot, take_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store

PAGE = "/desk/check-in"


@dataclass(frozen=True, slots=True)
class Arrival:
    """A pilot on the check-in page. `kits`: what they own; `kit`: today's, told or likely (None: nothing is known).

    `holds`: the token they have now; `since`: checked in at; `left_at`: gone home at.
    """

    pilot_id: int
    name: str
    board_name: str
    kits: tuple[Kit, ...]
    kit: Kit | None
    holds: OnAir | None
    since: datetime | None
    left_at: datetime | None


@dataclass(frozen=True, slots=True)
class CheckInPage:
    """Everybody of the club, sorted by whether they are here. `wanted`: what was searched for."""

    zone: ZoneInfo
    wanted: str
    expected: tuple[Arrival, ...]
    others: tuple[Arrival, ...]
    here: tuple[Arrival, ...]
    gone: tuple[Arrival, ...]


@dataclass(frozen=True, slots=True)
class OnePilot:
    """One pilot's check-in: what they own, and the kinds that something new could be of."""

    zone: ZoneInfo
    pilot: Arrival
    kinds: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class CheckIn:
    """A known pilot is here with this transmitter."""

    meet_id: int
    pilot_id: int
    brought: Brought


@dataclass(frozen=True, slots=True)
class NewPilot:
    """Somebody the club doesn't know yet: a name and a kind of transmitter. `wake` is a channel as typed, or ''."""

    meet_id: int
    name: str
    kind_id: int
    board_name: str = ""
    wake: str = ""


def check_in_page(store: Store, meet_id: int, now: datetime, wanted: str = "") -> CheckInPage:
    """The people to check in, the expected ones first; `wanted` narrows them down by name."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        rows = {row.pilot_id: row for row in _attendances(session, meet_id)}
        pilots = [pilot for pilot in _club_pilots(session, rows) if _is_wanted(pilot, wanted)]
        arrivals = [
            (_arrival(pilot, rows.get(pilot.id), kits, snapshot), rows.get(pilot.id))
            for pilot, kits in _with_kits(session, pilots)
        ]
        return CheckInPage(
            zone=snapshot.zone,
            wanted=wanted,
            expected=tuple(who for who, row in arrivals if _is_due(row) and row is not None and row.is_expected),
            others=tuple(who for who, row in arrivals if _is_due(row) and not (row and row.is_expected)),
            here=tuple(who for who, row in arrivals if row and row.checked_in_at and not row.left_at),
            gone=tuple(who for who, row in arrivals if row and row.checked_in_at and row.left_at),
        )


def one_pilot(store: Store, meet_id: int, pilot_id: int, now: datetime) -> OnePilot:
    """One pilot's check-in page."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        pilot = _known(session, pilot_id)
        [(_pilot, kits)] = _with_kits(session, [pilot])
        row = attendance_of(session, meet_id, pilot_id)
        return OnePilot(snapshot.zone, _arrival(pilot, row, kits, snapshot), kinds_to_choose(session))


def new_pilot_kinds(store: Store) -> tuple[tuple[int, str], ...]:
    """The kinds of transmitter that a new pilot can have, as (id, name)."""
    with store.read() as session:
        return kinds_to_choose(session)


def check_in(store: Store, deed: Deed, order: CheckIn) -> Answer:
    """A known pilot is here, with today's transmitter; for one who is here already it changes the transmitter."""

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(order.meet_id)
        pilot = _known(work.session, order.pilot_id)
        if pilot.retired_at is not None:
            raise Refused(f"{pilot.board_name} is retired from the club's list.", "The organiser can bring them back.")
        row = attendance_of(work.session, meet.id, pilot.id)
        was_here = row is not None and row.checked_in_at is not None and row.left_at is None
        transmitter_id = brought_transmitter(work, pilot.id, order.brought)
        if was_here:
            _check_may_change(work, meet, pilot)
        attend(work, meet.id, pilot.id, transmitter_id, is_here=True)
        kind = "transmitter_today" if was_here else "checked_in"
        facts = {"pilot": pilot.id, "transmitter": transmitter_id}
        line_id = work.note(kind, facts, meet_id=meet.id, is_undoable=True)
        words = _transmitter_words(work.session, meet.id, pilot.id)
        return Answer(PAGE, f"{pilot.board_name} is here with {words}.", undo_id=line_id, made_id=pilot.id)

    return do_once(store, deed, work)


def check_in_new(store: Store, deed: Deed, new: NewPilot) -> Answer:
    """Add a pilot to the club with one transmitter and check them in, as one step."""

    def work(work: Work) -> Answer:
        meet = work.lock_open_meet(new.meet_id)
        name, board_name = one_line(new.name), one_line(new.board_name) or one_line(new.name)
        _check_length(board_name)
        _check_is_new(work.session, name, board_name)
        pilot = t.Pilot(name=name, board_name=board_name)
        work.session.add(pilot)
        work.session.flush()
        transmitter_id = brought_transmitter(work, pilot.id, Brought(kind_id=new.kind_id, wake=new.wake))
        attend(work, meet.id, pilot.id, transmitter_id, is_here=True)
        facts = {"pilot": pilot.id, "transmitter": transmitter_id, "kind_id": new.kind_id}
        line_id = work.note("checked_in_new", facts, meet_id=meet.id, is_undoable=True)
        words = _transmitter_words(work.session, meet.id, pilot.id)
        return Answer(PAGE, f"{board_name} is new and here with {words}.", undo_id=line_id, made_id=pilot.id)

    return do_once(store, deed, work)


def check_out(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """A pilot goes home: out of the line, and only without a token."""

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        pilot = _known(work.session, pilot_id)
        loan = snapshot.loan_of(pilot_id)
        if loan is not None:
            raise Refused(f"{pilot.board_name} {holds_since(snapshot, loan)}.", "Take it back first.")
        row = attendance_of(work.session, meet_id, pilot_id)
        if row is None or row.checked_in_at is None or row.left_at is not None:
            return Answer(PAGE, f"{pilot.board_name} isn't here any more.")
        row.left_at = work.now
        work.session.add(row)
        line_rows.leave(work, snapshot, pilot_id)
        loan_rows.end_turns(work, partner_id=pilot_id)
        line_id = work.note("went_home", {"pilot": pilot_id}, meet_id=meet_id, is_undoable=True)
        return Answer(PAGE, f"{pilot.board_name} went home.", undo_id=line_id)

    return do_once(store, deed, work)


def _attendances(session: Session, meet_id: int) -> list[t.Attendance]:
    return list(session.exec(select(t.Attendance).where(t.Attendance.meet_id == meet_id)))


def _club_pilots(session: Session, rows: Mapping[int, t.Attendance]) -> list[t.Pilot]:
    """Everybody who can be checked in or is here, by name (a retired one only while here)."""
    pilots = session.exec(select(t.Pilot).order_by(col(t.Pilot.name), col(t.Pilot.id)))
    return [pilot for pilot in pilots if pilot.retired_at is None or not _is_due(rows.get(pilot.id))]


def _is_wanted(pilot: t.Pilot, wanted: str) -> bool:
    return same_name(wanted) in same_name(f"{pilot.name} {pilot.board_name}")


def _is_due(row: t.Attendance | None) -> bool:
    return row is None or row.checked_in_at is None


def _with_kits(session: Session, pilots: list[t.Pilot]) -> list[tuple[t.Pilot, tuple[Kit, ...]]]:
    kits = kits_of(session, [pilot.id for pilot in pilots], plans_of(session))
    return [(pilot, kits.get(pilot.id, ())) for pilot in pilots]


def _arrival(pilot: t.Pilot, row: t.Attendance | None, kits: tuple[Kit, ...], snapshot: Snapshot) -> Arrival:
    told = next((kit for kit in kits if row is not None and kit.transmitter_id == row.transmitter_id), None)
    return Arrival(
        pilot_id=pilot.id,
        name=pilot.name,
        board_name=pilot.board_name,
        kits=kits,
        kit=told or next(iter(kits), None),
        holds=snapshot.loan_of(pilot.id),
        since=row.checked_in_at if row else None,
        left_at=row.left_at if row else None,
    )


def _known(session: Session, pilot_id: int) -> t.Pilot:
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None:
        raise NotFound("This pilot isn't in the club's list.", "Check them in as a new pilot.")
    return pilot


def _check_may_change(work: Work, meet: t.Meet, pilot: t.Pilot) -> None:
    snapshot = take_snapshot(work.session, meet, work.now)
    loan = snapshot.loan_of(pilot.id)
    if loan is not None:
        raise Refused(
            f"{pilot.board_name} {holds_since(snapshot, loan)}.",
            "Another transmitter during a loan is set on the loan's own page, where the floors are checked again.",
        )


def _transmitter_words(session: Session, meet_id: int, pilot_id: int) -> str:
    row = attendance_of(session, meet_id, pilot_id)
    kits = kits_of(session, [pilot_id], plans_of(session)).get(pilot_id, ())
    kit = next((kit for kit in kits if row is not None and kit.transmitter_id == row.transmitter_id), None)
    return f"'{kit.name}'" if kit else "no transmitter told yet"


def _check_length(board_name: str) -> None:
    if len(board_name) > BOARD_NAME_MAX:
        raise Refused(
            f"'{board_name}' is too long for the board: {BOARD_NAME_MAX} characters at most.",
            "Give a short board name.",
            field="board_name",
        )


def _check_is_new(session: Session, name: str, board_name: str) -> None:
    for pilot in session.exec(select(t.Pilot)):
        if same_name(pilot.name) == same_name(name):
            where = "check them in from the list" if pilot.retired_at is None else "the organiser can bring them back"
            state = "" if pilot.retired_at is None else ", retired"
            raise Refused(
                f"'{pilot.name}' is in the club's list already{state}.",
                f"If it is the same person, {where}; else add a letter to tell them apart.",
                field="name",
            )
        if pilot.retired_at is None and same_name(pilot.board_name) == same_name(board_name):
            raise Refused(
                f"The board name '{pilot.board_name}' is {pilot.name}'s.", "Choose another one.", field="board_name"
            )
