"""The club's pilots: who they are, what the board calls them, and the transmitters they own."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.club.bands import profiles_to_choose
from meetapp.flows.club.former_names import is_former
from meetapp.flows.club.transmitters import (
    TransmitterDraft,
    TransmitterRow,
    fill_transmitter,
    find_pilot,
    transmitter_rows,
)
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.pilot.self_check_in import kinds_to_choose
from meetapp.flows.planning.meet_rows import zone_of
from meetapp.flows.readings import one_line, same_name
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

SHOWN_AT_MOST = 200
"""Pilots on one page: more are found by typing."""


@dataclass(frozen=True, slots=True)
class PilotRow:
    """A pilot in the list. `transmitters`: their names in one line."""

    pilot_id: int
    name: str
    board_name: str
    transmitters: str
    is_retired: bool


@dataclass(frozen=True, slots=True)
class PilotsView:
    """The list of pilots. `more`: how many fit the search but aren't shown."""

    rows: tuple[PilotRow, ...]
    search: str
    flying_count: int
    retired_count: int
    more: int


@dataclass(frozen=True, slots=True)
class PilotView:
    """The page of one pilot; `pilot_id` None: a new one. `profiles`: (id, name) to choose from.

    `link`: 'none', 'given' (not opened yet) or 'bound' (a phone has opened it).
    """

    pilot_id: int | None
    name: str
    board_name: str
    band_profile_id: int | None
    profiles: tuple[tuple[int, str], ...]
    kinds: tuple[tuple[int, str], ...]
    transmitters: tuple[TransmitterRow, ...] = ()
    link: str = "none"
    is_retired: bool = False


@dataclass(frozen=True, slots=True)
class PilotDraft:
    """What the organiser typed about a pilot; an empty board name means the name."""

    name: str
    board_name: str
    band_profile_id: int | None


def list_pilots(store: Store, search: str = "") -> PilotsView:
    """The pilots by name, the retired ones last; only those that fit what was typed, and no former ones."""
    wanted = same_name(search)
    with store.read() as session:
        pilots = [pilot for pilot in session.exec(select(t.Pilot)) if not is_former(pilot)]
        names = _transmitter_names(session)
    fitting = [each for each in pilots if wanted in same_name(each.name) or wanted in same_name(each.board_name)]
    fitting.sort(key=lambda pilot: (pilot.retired_at is not None, same_name(pilot.name)))
    rows = tuple(
        PilotRow(
            pilot.id,
            pilot.name,
            pilot.board_name,
            ", ".join(names.get(pilot.id, ())),
            pilot.retired_at is not None,
        )
        for pilot in fitting[:SHOWN_AT_MOST]
    )
    retired = sum(pilot.retired_at is not None for pilot in pilots)
    more = max(0, len(fitting) - SHOWN_AT_MOST)
    return PilotsView(rows, one_line(search), len(pilots) - retired, retired, more)


def _transmitter_names(session: Session) -> dict[int, list[str]]:
    names: dict[int, list[str]] = {}
    rows = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(col(t.PilotTransmitter.retired_at).is_(None))
        .order_by(col(t.PilotTransmitter.id))
    )
    for own, kind in rows:
        names.setdefault(own.pilot_id, []).append(own.nickname or kind.name)
    return names


def new_pilot_view(store: Store) -> PilotView:
    """The page of a pilot who isn't there yet."""
    with store.read() as session:
        return PilotView(None, "", "", None, profiles_to_choose(session, None), kinds_to_choose(session))


def pilot_view(store: Store, pilot_id: int) -> PilotView:
    """The page of one pilot."""
    with store.read() as session:
        pilot = find_pilot(session, pilot_id)
        link = "none" if pilot.link_hash is None else "bound" if pilot.claimed_at else "given"
        return PilotView(
            pilot.id,
            pilot.name,
            pilot.board_name,
            pilot.band_profile_id,
            profiles_to_choose(session, pilot.band_profile_id),
            kinds_to_choose(session),
            transmitter_rows(session, pilot.id),
            link,
            pilot.retired_at is not None,
        )


def add_pilot(store: Store, deed: Deed, draft: PilotDraft, transmitter: TransmitterDraft | None) -> Answer:
    """Put a pilot on the list, with a first transmitter where one is told."""

    def work(work: Work) -> Answer:
        pilot = t.Pilot(name="", board_name="")
        _fill(work.session, pilot, draft)
        facts = {"pilot": pilot.id}
        if transmitter is not None:
            own = t.PilotTransmitter(pilot_id=pilot.id, kind_id=transmitter.kind_id)
            facts["transmitter"] = fill_transmitter(work.session, own, transmitter).id
        work.note("pilot_added", facts)
        return Answer(_page(pilot.id), f"{pilot.board_name} is on the list.", made_id=pilot.id)

    return do_once(store, deed, work)


def change_pilot(store: Store, deed: Deed, pilot_id: int, draft: PilotDraft) -> Answer:
    """Save what changed about a pilot."""

    def work(work: Work) -> Answer:
        pilot = find_pilot(work.session, pilot_id)
        _fill(work.session, pilot, draft)
        work.note("pilot_changed", {"pilot": pilot.id})
        return Answer(_page(pilot.id), f"{pilot.board_name} is saved.")

    return do_once(store, deed, work)


def _fill(session: Session, pilot: t.Pilot, draft: PilotDraft) -> None:
    if draft.band_profile_id is not None:
        profile = session.get(t.BandProfile, draft.band_profile_id)
        if profile is None or (profile.retired_at is not None and pilot.band_profile_id != profile.id):
            raise Refused("This band profile isn't offered any more.", "Choose another one.", field="band_profile_id")
    name = one_line(draft.name)
    board_name = one_line(draft.board_name) or name
    others = [other for other in session.exec(select(t.Pilot)) if other is not pilot]
    _refuse_known(others, name, board_name)
    pilot.name, pilot.board_name, pilot.band_profile_id = name, board_name, draft.band_profile_id
    session.add(pilot)
    session.flush()


def _refuse_known(others: list[t.Pilot], name: str, board_name: str) -> None:
    for other in others:
        if same_name(other.name) == same_name(name):
            hint = "Bring that one back" if other.retired_at else "If this is somebody else, add something to the name"
            raise Refused(f"There is a pilot named {other.name} already.", f"{hint}.", field="name")
        if other.retired_at is None and same_name(other.board_name) == same_name(board_name):
            raise Refused(
                f"The board calls {other.name} '{other.board_name}' already.",
                "Give this pilot another board name, so that the field knows who is meant.",
                field="board_name",
            )


def retire_pilot(store: Store, deed: Deed, pilot_id: int) -> Answer:
    """The pilot doesn't come any more. Refused while they hold a token or stand in the line; twice changes nothing."""

    def work(work: Work) -> Answer:
        pilot = find_pilot(work.session, pilot_id)
        refuse_busy(work, pilot)
        if pilot.retired_at is None:
            pilot.retired_at = work.now
            work.session.add(pilot)
            work.note("pilot_retired", {"pilot": pilot.id})
        return Answer("/organiser/pilots", f"{pilot.board_name} is retired: not offered any more, and not forgotten.")

    return do_once(store, deed, work)


def refuse_busy(work: Work, pilot: t.Pilot) -> None:
    """Raise Refused while the pilot holds a token or stands in the line; the open meet is locked then."""
    meet = queries.open_meet(work.session)
    if meet is None:
        return
    # Behind the meet's lock nobody hands this pilot a token while they are retired.
    work.lock_meet(meet.id)
    for loan, setting in queries.open_loans(work.session, meet.id):
        if loan.pilot_id == pilot.id:
            since = loan.out_at.astimezone(zone_of(work.session, meet))
            raise Refused(
                f"{pilot.board_name} is on air on {setting.label} since {since:%H:%M}.",
                "Take the token back first.",
            )
    if any(entry.pilot_id == pilot.id for entry in queries.standing_in_line(work.session, meet.id)):
        raise Refused(f"{pilot.board_name} stands in the waiting line.", "Take them out of the line first.")


def bring_back_pilot(store: Store, deed: Deed, pilot_id: int) -> Answer:
    """The pilot comes again. Refused where the board calls somebody else so by now; twice changes nothing."""

    def work(work: Work) -> Answer:
        pilot = find_pilot(work.session, pilot_id)
        if pilot.retired_at is not None:
            others = [other for other in work.session.exec(select(t.Pilot)) if other is not pilot]
            _refuse_known(others, pilot.name, pilot.board_name)
            pilot.retired_at = None
            work.session.add(pilot)
            work.note("pilot_brought_back", {"pilot": pilot.id})
        return Answer(_page(pilot.id), f"{pilot.board_name} is on the list again.")

    return do_once(store, deed, work)


def _page(pilot_id: int) -> str:
    return f"/organiser/pilots/{pilot_id}"
