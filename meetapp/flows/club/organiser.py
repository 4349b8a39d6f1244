"""The organiser's first page: what is set up, what comes next, which meet is open or coming."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Select
from sqlmodel import Session, col, func, select

from meetapp.flows.journal import Names, sentence_of
from meetapp.flows.planning.meet_rows import home_zone
from meetapp.flows.steps import DONE, NEXT, TO_DO, Step, state_of, with_next
from meetapp.store import tables as t
from meetapp.store.engine import Store

CHANGES_SHOWN = 8


@dataclass(frozen=True, slots=True)
class MeetRow:
    """A meet that is open or planned."""

    meet_id: int
    name: str
    on_date: date
    site_name: str
    state: str


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the journal outside meets: when, and what in a sentence."""

    at: datetime
    sentence: str


@dataclass(frozen=True, slots=True)
class OrganiserHome:
    """The organiser's first page. `meets`: the open one first, then the planned ones by date.

    `changes`: the latest first; `zone`: the one that times are shown in.
    """

    steps: tuple[Step, ...]
    meets: tuple[MeetRow, ...]
    changes: tuple[Change, ...]
    zone: ZoneInfo

    @property
    def next_step(self) -> Step | None:
        """The step to do now; None where everything is set up."""
        return next((step for step in self.steps if step.state == NEXT), None)


def organiser_home(store: Store) -> OrganiserHome:
    """How far the setting-up is."""
    with store.read() as session:
        meets = _meets(session)
        found = (
            _club_step(session),
            _site_step(session),
            _kinds_step(session),
            _pilots_step(session),
            _tokens_step(session),
            _meet_step(meets),
        )
        return OrganiserHome(with_next(found), meets, _changes(session), home_zone(session))


def _changes(session: Session) -> tuple[Change, ...]:
    names = Names(session)
    lines = select(t.JournalLine).where(col(t.JournalLine.meet_id).is_(None))
    latest = session.exec(lines.order_by(col(t.JournalLine.id).desc()).limit(CHANGES_SHOWN))
    return tuple(Change(line.happened_at, sentence_of(line, names)) for line in latest)


def _club_step(session: Session) -> Step:
    club = session.get(t.Club, 1)
    name, address = (club.name, club.field_address) if club else ("", "")
    detail = f"{name}, field address {address}" if address else f"{name} has no field address yet"
    return Step("Club and field address", "/organiser/club", state_of(bool(address)), detail)


def _site_step(session: Session) -> Step:
    sites = session.exec(select(t.Site.name).where(col(t.Site.retired_at).is_(None))).all()
    detail = ", ".join(sorted(sites)) if sites else "where you fly, its band profile, what else is on air beside it"
    return Step("Sites", "/organiser/sites" if sites else "/organiser/sites/new", state_of(bool(sites)), detail)


def _kinds_step(session: Session) -> Step:
    count = _count(session, select(t.TransmitterKind).where(col(t.TransmitterKind.retired_at).is_(None)))
    detail = f"{_many(count, 'kind')}; compare them with the transmitters that your pilots own"
    return Step("Transmitter kinds", "/organiser/kinds", state_of(count > 0), detail)


def _pilots_step(session: Session) -> Step:
    there = select(t.Pilot).where(col(t.Pilot.retired_at).is_(None))
    count = _count(session, there)
    owns = select(t.PilotTransmitter.pilot_id).where(col(t.PilotTransmitter.retired_at).is_(None))
    without = _count(session, there.where(col(t.Pilot.id).not_in(owns)))
    detail = _many(count, "pilot") if count else "type them in, or take them from a list that you have"
    if without:
        detail += f", {without} without a transmitter yet"
    return Step("Pilots", "/organiser/pilots" if count else "/organiser/pilots/import", state_of(count > 0), detail)


def _tokens_step(session: Session) -> Step:
    count = _count(session, select(t.Token).where(t.Token.state == "usable"))
    detail = f"{_many(count, 'token')} in use" if count else "take over the tags you own; a meet makes the rest"
    # A meet's choice of channels makes tokens too.
    return Step("Tokens", "/organiser/tokens", state_of(count > 0), detail, may_wait=True)


def _meet_step(meets: tuple[MeetRow, ...]) -> Step:
    if not meets:
        return Step("A meet", "/organiser/meets/new", TO_DO, "date, site, how many fly at once, the channels")
    return Step("A meet", "/organiser/meets", DONE, f"{meets[0].name}, {meets[0].on_date:%Y-%m-%d}, {meets[0].state}")


def _meets(session: Session) -> tuple[MeetRow, ...]:
    rows = session.exec(
        select(t.Meet, t.Site).join(t.Site, col(t.Site.id) == t.Meet.site_id).where(t.Meet.state != "closed")
    )
    meets = [MeetRow(meet.id, meet.name, meet.on_date, site.name, meet.state) for meet, site in rows]
    return tuple(sorted(meets, key=lambda meet: (meet.state != "open", meet.on_date, meet.meet_id)))


def _count(session: Session, rows: Select[Any]) -> int:
    return session.exec(select(func.count()).select_from(rows.subquery())).one()


def _many(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
