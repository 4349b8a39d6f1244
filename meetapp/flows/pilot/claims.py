"""A pilot claims their name at the open meet, or adds themself.

The secret of a pilot's own page is made outside (so that a resend can make it again) and kept here as a hash only.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.club.own_links import OWN_PAGE, listed_pilot
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.pilot.self_check_in import (
    Brought,
    OwnTransmitter,
    attend,
    brought_transmitter,
    kinds_to_choose,
    own_transmitters,
)
from meetapp.flows.readings import one_line, same_name
from meetapp.flows.secrets import secret_hash
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

BOARD_NAME_MAX = 24
SHOWN_AT_MOST = 60
"""Names on one page: more are found by typing."""


@dataclass(frozen=True, slots=True)
class Name:
    """A pilot on the list of names. `is_expected`: at this meet, now or later (`is_here`: checked in already).

    `is_taken`: a page of their own was given out already.
    """

    pilot_id: int
    board_name: str
    is_expected: bool
    is_here: bool
    is_taken: bool


@dataclass(frozen=True, slots=True)
class JoinView:
    """The open meet's public page. `names`: not yet claimed, expected first; while searching, everybody who fits."""

    meet_name: str | None
    search: str
    names: tuple[Name, ...]
    more: int


@dataclass(frozen=True, slots=True)
class ClaimView:
    """One name to claim, with what can be said about today's transmitter."""

    pilot_id: int
    board_name: str
    own: tuple[OwnTransmitter, ...]
    chosen_id: int | None
    kinds: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Claim:
    """What a pilot sends: who they are, today's transmitter, and whether they are at the field."""

    pilot_id: int
    brought: Brought
    is_here: bool


@dataclass(frozen=True, slots=True)
class Newcomer:
    """A pilot who isn't on the list: the name, the name for the board ('' for the same), and the rest as above."""

    name: str
    board_name: str
    brought: Brought
    is_here: bool


def join_view(store: Store, search: str = "") -> JoinView:
    """The list of names to claim at the open meet."""
    wanted = same_name(search)
    with store.read() as session:
        meet = queries.open_meet(session)
        if meet is None:
            return JoinView(None, search, (), 0)
        rows = queries.attendances(session, meet.id)
        expected = {pilot.id for row, pilot in rows if row.left_at is None}
        here = {pilot.id for row, pilot in rows if row.checked_in_at is not None and row.left_at is None}
        pilots = session.exec(
            select(t.Pilot).where(col(t.Pilot.retired_at).is_(None)).order_by(col(t.Pilot.board_name), col(t.Pilot.id))
        ).all()
    fitting = [pilot for pilot in pilots if _fits(pilot, wanted)]
    names = [
        Name(each.id, each.board_name, each.id in expected, each.id in here, _is_taken(each)) for each in fitting
    ]
    names.sort(key=lambda name: not name.is_expected)
    return JoinView(meet.name, search, tuple(names[:SHOWN_AT_MOST]), max(0, len(names) - SHOWN_AT_MOST))


def _fits(pilot: t.Pilot, wanted: str) -> bool:
    if not wanted:
        return not _is_taken(pilot)
    return wanted in same_name(pilot.board_name) or wanted in same_name(pilot.name)


def _is_taken(pilot: t.Pilot) -> bool:
    return pilot.link_hash is not None


def claim_view(store: Store, pilot_id: int) -> ClaimView:
    """What is asked before a name is claimed.

    Raises:
        NotFound: no such pilot. Refused: taken, or no meet is open.
    """
    with store.read() as session:
        pilot = _claimable(session, pilot_id)
        own = own_transmitters(session, pilot_id)
        today = _today(session, pilot_id)
        return ClaimView(pilot.id, pilot.board_name, own, today, kinds_to_choose(session))


def kinds_for_newcomer(store: Store) -> tuple[tuple[int, str], ...]:
    """The kinds of transmitter a newcomer can choose from, as (id, name)."""
    with store.read() as session:
        return kinds_to_choose(session)


def _today(session: Session, pilot_id: int) -> int | None:
    meet = queries.open_meet(session)
    rows = queries.attendances(session, meet.id) if meet else ()
    return next((row.transmitter_id for row, pilot in rows if pilot.id == pilot_id), None)


def claim(store: Store, deed: Deed, sent: Claim, secret: str) -> Answer:
    """Bind a name on the list to this phone; the first claim wins."""

    def work(work: Work) -> Answer:
        meet = _lock_the_open_meet(work)
        pilot = _claimable(work.session, sent.pilot_id)
        transmitter_id = brought_transmitter(work, pilot.id, sent.brought)
        _bind(work, pilot, secret)
        attend(work, meet.id, pilot.id, transmitter_id, is_here=sent.is_here)
        _note(work, "name_claimed", meet.id, pilot.id, transmitter_id)
        return Answer(OWN_PAGE, _welcome(pilot), made_id=pilot.id)

    return do_once(store, deed, work)


def add_self(store: Store, deed: Deed, sent: Newcomer, secret: str) -> Answer:
    """Put a newcomer on the list and bind the name to this phone."""

    def work(work: Work) -> Answer:
        meet = _lock_the_open_meet(work)
        name = one_line(sent.name)
        board_name = one_line(sent.board_name) or name
        _check_lengths(name, board_name)
        _refuse_known_names(work.session, {"name": name, "board_name": board_name})
        pilot = t.Pilot(name=name, board_name=board_name)
        work.session.add(pilot)
        work.session.flush()
        transmitter_id = brought_transmitter(work, pilot.id, sent.brought)
        _bind(work, pilot, secret)
        attend(work, meet.id, pilot.id, transmitter_id, is_here=sent.is_here)
        _note(work, "pilot_added_self", meet.id, pilot.id, transmitter_id)
        return Answer(OWN_PAGE, _welcome(pilot), made_id=pilot.id)

    return do_once(store, deed, work)


def _claimable(session: Session, pilot_id: int) -> t.Pilot:
    # First, so that nobody learns between meets which numbers are somebody's.
    if queries.open_meet(session) is None:
        raise _no_meet()
    pilot = listed_pilot(session, pilot_id)
    if _is_taken(pilot):
        raise _taken(pilot.board_name)
    return pilot


def _no_meet() -> Refused:
    return Refused("No meet is open now.", "Names are claimed on the day, when the meet is open.")


def _taken(board_name: str, field: str | None = None) -> Refused:
    return Refused(
        f"The name {board_name} is taken: a phone is bound to it.",
        "Go to the desk: they can give you a new link.",
        field=field,
    )


def _lock_the_open_meet(work: Work) -> t.Meet:
    # Only the id is read before the lock: the row itself has to be fresh behind it.
    meet_id = work.session.exec(select(t.Meet.id).where(t.Meet.state == "open")).one_or_none()
    if meet_id is None:
        raise _no_meet()
    return work.lock_open_meet(meet_id)


def _check_lengths(name: str, board_name: str) -> None:
    if not name:
        raise Refused("Fill in: your name.", field="name")
    if len(board_name) > BOARD_NAME_MAX:
        raise Refused(
            f"{board_name} is too long for the board: {BOARD_NAME_MAX} characters at most.",
            "Give a shorter name for the board.",
            field="board_name",
        )


def _refuse_known_names(session: Session, typed: dict[str, str]) -> None:
    pilots: Sequence[t.Pilot] = session.exec(select(t.Pilot).where(col(t.Pilot.retired_at).is_(None))).all()
    known = {same_name(name): pilot for pilot in pilots for name in (pilot.name, pilot.board_name)}
    for field, name in typed.items():
        pilot = known.get(same_name(name))
        if pilot is None:
            continue
        if _is_taken(pilot):
            raise _taken(pilot.board_name, field)
        raise Refused(
            f"{pilot.board_name} is on the list already.",
            "Go back and claim that name, or give another one if it isn't you.",
            field=field,
        )


def _bind(work: Work, pilot: t.Pilot, secret: str) -> None:
    pilot.link_hash = secret_hash(secret)
    pilot.claimed_at = work.now
    work.session.add(pilot)
    work.session.flush()


def _note(work: Work, kind: str, meet_id: int, pilot_id: int, transmitter_id: int | None) -> None:
    work.note(kind, {"pilot": pilot_id, "transmitter": transmitter_id}, meet_id=meet_id)


def _welcome(pilot: t.Pilot) -> str:
    return f"Welcome, {pilot.board_name}. This page is yours: keep its address."
