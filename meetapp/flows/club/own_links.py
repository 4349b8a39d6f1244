"""The link to a pilot's own page: what it opens, and the new one that the desk gives out.

The secret in it is made outside (so that a resend can make it again) and kept here as a hash only.
"""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound
from meetapp.flows.loans.permissions import check_desk
from meetapp.flows.secrets import secret_hash
from meetapp.flows.sessions import end_sessions
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

OWN_PAGE = "/my"


@dataclass(frozen=True, slots=True)
class OwnPage:
    """Whose page a link opens."""

    pilot_id: int
    board_name: str


def new_link(store: Store, deed: Deed, pilot_id: int, secret: str) -> Answer:
    """Give a pilot a new link; the old one and every phone that was bound by it are let go."""
    check_desk(deed.actor)

    def work(work: Work) -> Answer:
        pilot = listed_pilot(work.session, pilot_id)
        pilot.link_hash = secret_hash(secret)
        pilot.claimed_at = None
        work.session.add(pilot)
        end_sessions(work, t.DeskSession.pilot_id == pilot_id)
        meet = queries.open_meet(work.session)
        work.note("link_renewed", {"pilot": pilot_id}, meet_id=meet.id if meet else None)
        return Answer(f"/desk/pilots/{pilot_id}", f"{pilot.board_name} has a new link; the old one is dead.")

    return do_once(store, deed, work)


def pilot_name(store: Store, pilot_id: int) -> str:
    """The board name of a pilot who isn't retired."""
    with store.read() as session:
        return listed_pilot(session, pilot_id).board_name


def open_link(store: Store, secret: str, now: datetime) -> OwnPage:
    """Whose page this secret opens; the first opening is remembered.

    Raises:
        NotFound: no such link (any more).
    """
    with store.read() as session:
        pilot = _by_secret(session, secret)
    if pilot.claimed_at is None:
        with store.write() as session:
            pilot = _by_secret(session, secret)
            pilot.claimed_at = now
            session.add(pilot)
            session.commit()
    return OwnPage(pilot.id, pilot.board_name)


def _by_secret(session: Session, secret: str) -> t.Pilot:
    bound = select(t.Pilot).where(t.Pilot.link_hash == secret_hash(secret), col(t.Pilot.retired_at).is_(None))
    pilot = session.exec(bound).one_or_none()
    if pilot is None:
        raise NotFound("This link isn't known, or a newer one replaced it.", "Ask the desk for a new one.")
    return pilot


def listed_pilot(session: Session, pilot_id: int) -> t.Pilot:
    """A pilot who is in the club's list and isn't retired. Raises NotFound."""
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None or pilot.retired_at is not None:
        raise NotFound("This pilot isn't on the list.", "Go back to the list and look again.")
    return pilot


def field_address(store: Store) -> str:
    """Where phones at the field reach the tool, '' where the organiser hasn't said."""
    with store.read() as session:
        club = session.get(t.Club, 1)
        return club.field_address if club else ""
