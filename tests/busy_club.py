"""A club in the middle of its day, in one file made once: something of everything, each of its people signed in."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from itertools import count
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from sqlmodel import select

from meetapp.config import Settings
from meetapp.flows import access
from meetapp.flows.guessing import Guesses
from meetapp.flows.loans import pass_offers
from meetapp.flows.planning.choosing import SearchJobs
from meetapp.flows.secrets import secret_hash
from meetapp.main import app_state, routed_app
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from meetapp.web.security import DESK_COOKIE, PILOT_COOKIE
from tests.acting import run_by_pilots
from tests.desk import Desk
from tests.kept import no_copies
from tests.meet_day import fly_a_day, plan_heats
from tests.world import DESK_LINK, ORGANISER_PASSWORD, Clock, World


def own_link(name: str) -> str:
    """The secret of a pilot's own address."""
    return f"the-link-of-{name}s-own-page"


def nickname(name: str) -> str:
    """What only a pilot and the desk read: what they call their transmitter."""
    return f"the blue one of {name}"


@dataclass(frozen=True)
class BusyClub:
    """The file, its ids by name, the time it is there, the cookies of each of its people ('bystander': none; pilots by
    their names).
    """

    file: Path
    world: World
    clock: Clock
    cookies: dict[str, dict[str, str]]


def make_busy_club(source: Path, world: World, file: Path) -> BusyClub:
    """A meet under way that pilots run themselves, one planned, one closed. Bo and Di fly by turns, Cy offers a token
    to Fay, who waits with Ed; Ana has nothing. Everybody's name is claimed.
    """
    shutil.copy(source, file)
    store = Store(sqlite_url(file))
    desk = Desk(store, world, Clock())
    fly_a_day(desk)
    plan_heats(desk)
    desk.join("Ed", "Fay")
    run_by_pilots(store)
    pass_offers.offer(store, desk.as_pilot("Cy").deed(), world.meet, world.pilots["Cy"], world.pilots["Fay"])
    with store.write() as session:
        for name, state in (("July meet", "planned"), ("May meet", "closed")):
            session.add(t.Meet(name=name, on_date=date(2026, 7, 1), site_id=world.site, state=state, fly_at_once=4))
        for name, pilot_id in world.pilots.items():
            session.get_one(t.Pilot, pilot_id).link_hash = secret_hash(own_link(name))
            session.get_one(t.PilotTransmitter, world.transmitters[name]).nickname = nickname(name)
        session.commit()
    now = desk.clock.forward(minutes=5)
    organiser = access.sign_in_organiser(store, ORGANISER_PASSWORD, now)
    marshal = access.sign_in_marshal_by_link(store, DESK_LINK, "Lu", now)
    pilots = {name: access.sign_in_pilot(store, world.pilots[name], name, now) for name in world.pilots}
    cookies = {name: {PILOT_COOKIE: session.secret} for name, session in pilots.items()}
    cookies |= {"organiser": {DESK_COOKIE: organiser.secret}, "marshal": {DESK_COOKIE: marshal.secret}}
    cookies |= {"pilot": cookies["Bo"], "bystander": {}}
    with store.read() as session:
        assert session.exec(select(t.Heat)).first() is not None
    store.close()
    return BusyClub(file, world, desk.clock, cookies)


class ServedClub:
    """The app over a copy of the busy club that can be put back to how it was. `put` lays the copy where `url` says."""

    def __init__(self, club: BusyClub, url: str, put: Callable[[], None]) -> None:
        self._put = put
        put()
        ticks = count()
        jobs = SearchJobs(clock=lambda: next(ticks), start=lambda run: run(), rest=lambda: None)
        self.app: FastAPI = routed_app()
        where = Settings(database_url=url, search_seconds=0)
        self.app.state.meetapp = app_state(where, Clock(club.clock.now), jobs, no_copies)

    @property
    def store(self) -> Store:
        store: Store = self.app.state.meetapp.store
        return store

    def put_back(self) -> None:
        """Everything as it was at first."""
        self.store.close()
        self._put()
        self.app.state.meetapp = replace(self.app.state.meetapp, guesses=Guesses())

    def rows(self) -> dict[str, list[Any]]:
        """Every row of every table."""
        with self.store.read() as session:
            return {
                table.name: list(session.execute(table.select().order_by(*table.primary_key.columns)))
                for table in t.metadata.sorted_tables
            }


def served_from_file(club: BusyClub, folder: Path) -> ServedClub:
    """The app over a copy of the club's file."""
    file = folder / "club.db"

    def put() -> None:
        for each in folder.glob(f"{file.name}*"):
            each.unlink()
        shutil.copy(club.file, file)

    return ServedClub(club, sqlite_url(file), put)
