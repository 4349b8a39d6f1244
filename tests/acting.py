"""Deeds for tests: who acts, with a fresh operation key unless one is given."""

import uuid
from datetime import datetime

from sqlmodel import select

from meetapp.flows.deeds import Actor, Deed
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import NOON

DESK = Actor("marshal", "Mo", session_id=1)


def as_pilot(pilot_id: int, name: str = "") -> Actor:
    """A pilot on their own phone."""
    return Actor("pilot", name, session_id=1000 + pilot_id, pilot_id=pilot_id)


def deed(actor: Actor = DESK, now: datetime = NOON, key: str | None = None, digest: str = "same") -> Deed:
    """One changing request of somebody."""
    return Deed(key or uuid.uuid4().hex, digest, actor, now)


def journal_kinds(store: Store) -> list[str]:
    """The kinds of all journal lines, in order."""
    with store.read() as session:
        return list(session.exec(select(t.JournalLine.kind).order_by(t.JournalLine.id)))  # type: ignore[arg-type]


def run_by_pilots(store: Store) -> None:
    """Make the open meet one of self-service."""
    with store.write() as session:
        meet = session.exec(select(t.Meet).where(t.Meet.state == "open")).one()
        meet.is_self_service = True
        session.add(meet)
        session.commit()
