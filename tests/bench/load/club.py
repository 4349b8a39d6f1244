"""The club of a load run: the demo's meet with as many pilots as asked, each with a page of their own."""

import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sqlmodel import select

from meetapp import demo
from meetapp.flows.club import pilots
from meetapp.flows.club.transmitters import TransmitterDraft
from meetapp.flows.deeds import Actor, Deed
from meetapp.flows.desk import check_in
from meetapp.flows.pilot import claims
from meetapp.flows.pilot.self_check_in import Brought
from meetapp.flows.secrets import new_secret
from meetapp.serving import prepare_database
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url


@dataclass(frozen=True, slots=True)
class Club:
    """A database under load: the way to the desk, and a secret address for each pilot."""

    url: str
    desk_secret: str
    pilot_secrets: tuple[str, ...]


def make_club(folder: Path, count: int, now: datetime) -> Club:
    """The demo's open meet with `count` pilots checked in and claimed, in a new file."""
    url = sqlite_url(folder / "club.db")
    prepare_database(url, now)
    links = demo.make_demo(url, now - timedelta(minutes=1))
    store = Store(url)
    try:
        secrets = _pilots_with_pages(store, count, now)
    finally:
        store.close()
    return Club(url, links.desk_secret, secrets)


def _pilots_with_pages(store: Store, count: int, now: datetime) -> tuple[str, ...]:
    marshal = Actor("organiser", "Organiser")

    def deed() -> Deed:
        return Deed(uuid.uuid4().hex, "load", marshal, now)

    with store.read() as session:
        meet_id = session.exec(select(t.Meet.id).where(t.Meet.state == "open")).one()
        kind_id = session.exec(select(t.TransmitterKind.id)).first()
        here = list(session.exec(select(t.Attendance.pilot_id).where(t.Attendance.meet_id == meet_id)))
        claimed = set(session.exec(select(t.Pilot.id).where(t.Pilot.claimed_at.is_not(None))))  # type: ignore[union-attr]
    assert kind_id is not None
    for number in range(count - len(here)):
        kit = TransmitterDraft(kind_id, "", "")
        name = f"Pilot {number + 1}"
        made = pilots.add_pilot(store, deed(), pilots.PilotDraft(name, name, None), kit).made_id
        assert made is not None
        check_in.check_in(store, deed(), check_in.CheckIn(meet_id, made, Brought()))
        here.append(made)
    return tuple(_claimed(store, deed, each) for each in here if each not in claimed)


def _claimed(store: Store, deed: Callable[[], Deed], pilot_id: int) -> str:
    secret = new_secret()
    claims.claim(store, deed(), claims.Claim(pilot_id, Brought(), True), secret)
    return secret
