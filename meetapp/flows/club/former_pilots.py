"""Deleting pilots' names for good: the loans and reports stay, as those of a former pilot.

It can't be undone, so it is one step of its own, and refused while a pilot is in the middle of a meet.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlmodel import Session, col, select

from meetapp.flows.club.former_names import former_name, is_former
from meetapp.flows.club.name_traces import Hiding, hide
from meetapp.flows.club.pilots import refuse_busy
from meetapp.flows.club.transmitters import find_pilot
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.readings import same_name
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

_MONTHS_A_YEAR = 12
_LAST_DAY_OF_ANY_MONTH = 28


@dataclass(frozen=True, slots=True)
class NameRow:
    """A pilot whose name may go. `last_seen`: the day of the last meet they came to (None: none yet)."""

    pilot_id: int
    name: str
    board_name: str
    last_seen: date | None


@dataclass(frozen=True, slots=True)
class NamesView:
    """The names offered for deleting; `months`: not seen for so long (None: they were chosen one by one)."""

    rows: tuple[NameRow, ...]
    months: int | None


def names_not_seen(store: Store, months: int, now: datetime) -> NamesView:
    """Pilots who came to no meet for so many months, and who are expected at none; by name."""
    with store.read() as session:
        coming = _expected_now(session)
        seen = _last_seen(session)
        pilots = [pilot for pilot in _named(session) if pilot.id not in coming]
    limit = _months_before(now.date(), months)
    rows = [row for row in _rows(pilots, seen) if row.last_seen is None or row.last_seen < limit]
    return NamesView(tuple(rows), months)


def names_chosen(store: Store, pilot_ids: Sequence[int]) -> NamesView:
    """These pilots, as far as they have a name; by name."""
    with store.read() as session:
        pilots = [pilot for pilot in _named(session) if pilot.id in pilot_ids]
        return NamesView(tuple(_rows(pilots, _last_seen(session))), None)


def delete_names(store: Store, deed: Deed, pilot_ids: Sequence[int]) -> Answer:
    """Delete the names of these pilots everywhere in the club's database, for good; their phones are let go.

    Raises:
        Refused: nobody was chosen, or one of them is at the open meet; then no name is deleted.
        NotFound: one of them isn't there, or has no name any more.
    """
    chosen = sorted(set(pilot_ids))
    if not chosen:
        raise Refused("Nobody is chosen.", "Tick the names that have to go.", field="pilot_id")

    def work(work: Work) -> Answer:
        pilots = [find_pilot(work.session, pilot_id) for pilot_id in chosen]
        for pilot in pilots:
            refuse_busy(work, pilot)
            _refuse_here(work.session, pilot)
        instead = {name: former_name(pilot.id) for pilot in pilots for name in (pilot.name, pilot.board_name)}
        staying = [pilot for pilot in _named(work.session) if pilot.id not in chosen]
        others = [name for pilot in staying for name in (pilot.name, pilot.board_name)]
        hide(work.session, {pilot.id: former_name(pilot.id) for pilot in pilots}, Hiding(instead, others), work.now)
        for pilot in pilots:
            _forget(work, pilot)
            work.note("name_deleted", {"pilot": pilot.id})
        count = "The name is" if len(pilots) == 1 else f"{len(pilots)} names are"
        return Answer("/organiser/pilots", f"{count} deleted. Loans and reports stay, as those of a former pilot.")

    return do_once(store, deed, work)


def _refuse_here(session: Session, pilot: t.Pilot) -> None:
    meet = queries.open_meet(session)
    if meet is None:
        return
    for row, other in queries.attendances(session, meet.id):
        if other.id == pilot.id and row.checked_in_at is not None and row.left_at is None:
            raise Refused(f"{pilot.board_name} is at '{meet.name}' now.", "Say at the desk that they went home first.")


def _forget(work: Work, pilot: t.Pilot) -> None:
    pilot.name = pilot.board_name = former_name(pilot.id)
    pilot.link_hash = pilot.claimed_at = None
    # A licence can name its holder.
    pilot.band_profile_id = None
    pilot.retired_at = pilot.retired_at or work.now
    work.session.add(pilot)
    to_come = select(t.Attendance).join(t.Meet, col(t.Meet.id) == t.Attendance.meet_id)
    for row in work.session.exec(to_come.where(t.Attendance.pilot_id == pilot.id, t.Meet.state != "closed")):
        row.is_expected = False
        work.session.add(row)


def _named(session: Session) -> list[t.Pilot]:
    return [pilot for pilot in session.exec(select(t.Pilot)) if not is_former(pilot)]


def _rows(pilots: Sequence[t.Pilot], seen: dict[int, date]) -> list[NameRow]:
    rows = [NameRow(pilot.id, pilot.name, pilot.board_name, seen.get(pilot.id)) for pilot in pilots]
    return sorted(rows, key=lambda row: same_name(row.name))


def _last_seen(session: Session) -> dict[int, date]:
    """The day of the last meet each pilot came to, or had a token at (from paper)."""
    came = (
        select(col(t.Attendance.pilot_id), col(t.Meet.on_date))
        .join(t.Meet, col(t.Meet.id) == t.Attendance.meet_id)
        .where(col(t.Attendance.checked_in_at).is_not(None))
    )
    flew = (
        select(col(t.Loan.pilot_id), col(t.Meet.on_date))
        .join(t.Meet, col(t.Meet.id) == t.Loan.meet_id)
        .where(col(t.Loan.pilot_id).is_not(None), col(t.Loan.voided_at).is_(None))
    )
    seen: dict[int, date] = {}
    for pilot_id, day in [*session.exec(came), *session.exec(flew)]:
        if pilot_id is not None:
            seen[pilot_id] = max(day, seen.get(pilot_id, day))
    return seen


def _expected_now(session: Session) -> set[int]:
    """Who is expected at a meet that is planned or open."""
    rows = select(t.Attendance.pilot_id).join(t.Meet, col(t.Meet.id) == t.Attendance.meet_id)
    return set(session.exec(rows.where(t.Meet.state != "closed", col(t.Attendance.is_expected).is_(True))))


def _months_before(day: date, months: int) -> date:
    year, month = divmod(day.year * _MONTHS_A_YEAR + day.month - 1 - months, _MONTHS_A_YEAR)
    return date(year, month + 1, min(day.day, _LAST_DAY_OF_ANY_MONTH))
