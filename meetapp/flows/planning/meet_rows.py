"""The row of a meet, found or locked, with one refusal each for what isn't there and what is closed."""

from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Work
from meetapp.flows.errors import NotFound, Refused
from meetapp.spectrum.floors import Floors
from meetapp.store import tables as t


def find_meet(session: Session, meet_id: int) -> t.Meet:
    """The meet's row.

    Raises:
        NotFound: there is no such meet.
    """
    meet = session.get(t.Meet, meet_id)
    if meet is None:
        raise NotFound("This meet isn't there.", "Go back to the list of meets.")
    return meet


def lock_unclosed(work: Work, meet_id: int) -> t.Meet:
    """The meet's row, locked, if it may still be changed.

    Raises:
        Refused: the meet is closed.
    """
    meet = work.lock_meet(meet_id)
    if meet.state == "closed":
        raise Refused(f"The meet '{meet.name}' is closed: nothing in it changes any more.", "Look at its review.")
    return meet


def zone_of(session: Session, meet: t.Meet) -> ZoneInfo:
    """The time zone of the meet's site."""
    return ZoneInfo(session.get_one(t.Site, meet.site_id).time_zone)


def floors_of(meet: t.Meet) -> Floors | None:
    """The floors of a meet; None while they aren't set."""
    if meet.spacing_floor_mhz is None:
        return None
    return Floors(meet.spacing_floor_mhz, meet.clearance_floor_mhz)


def told_floors(meet: t.Meet) -> dict[str, Any]:
    """The floors of a meet as the journal tells them."""
    return {
        "spacing_mhz": meet.spacing_floor_mhz,
        "clearance_mhz": meet.clearance_floor_mhz,
        "reason": meet.lower_floors_reason,
    }


def home_zone(session: Session) -> ZoneInfo:
    """The zone that times outside a meet are shown in: the open meet's site's, else the newest site's, else UTC."""
    newest = select(t.Site).order_by(col(t.Site.id).desc()).limit(1)
    at_meet = newest.join(t.Meet, col(t.Meet.site_id) == t.Site.id).where(t.Meet.state == "open")
    site = session.exec(at_meet).first() or session.exec(newest).first()
    return ZoneInfo(site.time_zone) if site else ZoneInfo("UTC")
