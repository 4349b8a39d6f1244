"""What pilots say of themselves on their own page: that they are here, and with which transmitter."""

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.pilot.own_view import no_page
from meetapp.flows.pilot.self_check_in import (
    Brought,
    OwnTransmitter,
    attend,
    brought_transmitter,
    kinds_to_choose,
    own_transmitters,
)
from meetapp.flows.snapshot import locked_snapshot, take_snapshot
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

OWN_PAGE = "/my"


@dataclass(frozen=True, slots=True)
class TransmitterView:
    """The pilot's transmitters, today's, and the kinds to add one of. `holds`: the token they hold ('' for none)."""

    own: tuple[OwnTransmitter, ...]
    chosen_id: int | None
    kinds: tuple[tuple[int, str], ...]
    holds: str


def transmitter_view(store: Store, pilot_id: int, now: datetime) -> TransmitterView:
    """What a pilot can say about today's transmitter."""
    with store.read() as session:
        _pilot(session, pilot_id)
        meet = queries.open_meet(session)
        snapshot = take_snapshot(session, meet, now) if meet else None
        person = snapshot.people.get(pilot_id) if snapshot else None
        loan = snapshot.loan_of(pilot_id) if snapshot else None
        return TransmitterView(
            own=own_transmitters(session, pilot_id),
            chosen_id=person.kit.transmitter_id if person and person.kit else None,
            kinds=kinds_to_choose(session),
            holds=loan.token_label if loan else "",
        )


def say_here(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """A pilot checks themself in with the transmitter told before."""

    def work(work: Work) -> Answer:
        work.lock_open_meet(meet_id)
        pilot = _pilot(work.session, pilot_id)
        return _here(work, meet_id, pilot, None)

    return do_once(store, deed, work)


def bring_transmitter(store: Store, deed: Deed, meet_id: int, pilot_id: int, brought: Brought) -> Answer:
    """A pilot says which transmitter they use today, and is checked in with it.

    Raises:
        Refused: they hold a token; its loan is about the transmitter it was handed out for.
    """

    def work(work: Work) -> Answer:
        loan = locked_snapshot(work, meet_id).loan_of(pilot_id)
        pilot = _pilot(work.session, pilot_id)
        if loan is not None:
            raise Refused(
                f"You hold {loan.token_label}: it was handed out for the transmitter you have now.",
                "Bring the token back first, or ask the desk to change it.",
            )
        transmitter_id = brought_transmitter(work, pilot_id, brought)
        if transmitter_id is None:
            raise Refused("Say which transmitter you brought.", "Choose one, or ask the desk.", field="kind_id")
        return _here(work, meet_id, pilot, transmitter_id)

    return do_once(store, deed, work)


def _here(work: Work, meet_id: int, pilot: t.Pilot, transmitter_id: int | None) -> Answer:
    attend(work, meet_id, pilot.id, transmitter_id, is_here=True)
    work.note("here_by_self", {"pilot": pilot.id, "transmitter": transmitter_id}, meet_id=meet_id)
    return Answer(OWN_PAGE, "You are checked in.")


def _pilot(session: Session, pilot_id: int) -> t.Pilot:
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None or pilot.retired_at is not None:
        raise no_page()
    return pilot
