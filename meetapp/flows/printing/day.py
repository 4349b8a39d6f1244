"""What the pages of one day have in common: whose day it is, where and when, and the club's words."""

from dataclasses import dataclass
from datetime import date

from sqlmodel import Session

from meetapp.flows.frame import safety_lines_of
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class Day:
    """A meet as it stands at the top of a printed page, with the club's safety words."""

    club_name: str
    meet_name: str
    site_name: str
    on_date: date
    safety_words: tuple[str, ...]


def day_of(session: Session, meet: t.Meet) -> Day:
    """The day of a meet."""
    club = session.get_one(t.Club, 1)
    return Day(
        club_name=club.name,
        meet_name=meet.name,
        site_name=session.get_one(t.Site, meet.site_id).name,
        on_date=meet.on_date,
        safety_words=safety_lines_of(club),
    )
