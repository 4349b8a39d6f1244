"""A pilot's transmitters: of which kind, what they are called, and what they wake on."""

from dataclasses import dataclass

from sqlmodel import Session, col, select

from meetapp.flows.club.former_names import is_former
from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.kits import plans_of
from meetapp.flows.pilot.self_check_in import kinds_to_choose
from meetapp.flows.readings import one_line, read_wake
from meetapp.spectrum.channels import ChannelPlan, name_of
from meetapp.spectrum.tuning import parse_tuning
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class TransmitterRow:
    """A transmitter in its pilot's list. `wakes_on` is a channel name, '' where it isn't known."""

    transmitter_id: int
    nickname: str
    kind_name: str
    wakes_on: str
    is_retired: bool


@dataclass(frozen=True, slots=True)
class TransmitterView:
    """The page of one transmitter; `transmitter_id` None: a new one. `kinds`: (id, name) to choose from."""

    pilot_id: int
    board_name: str
    kinds: tuple[tuple[int, str], ...]
    transmitter_id: int | None = None
    kind_id: int | None = None
    nickname: str = ""
    wake: str = ""
    is_retired: bool = False


@dataclass(frozen=True, slots=True)
class TransmitterDraft:
    """What was typed about a transmitter; an empty `wake` means that it isn't known."""

    kind_id: int
    nickname: str
    wake: str


def find_pilot(session: Session, pilot_id: int) -> t.Pilot:
    """The pilot with this id.

    Raises:
        NotFound: there is none, or the name was deleted: nothing about a former pilot is changed any more.
    """
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None or is_former(pilot):
        raise NotFound("This pilot isn't on the list.", "Go back to the pilots and look again.")
    return pilot


def transmitter_rows(session: Session, pilot_id: int) -> tuple[TransmitterRow, ...]:
    """All transmitters of a pilot, the oldest first, the retired ones last."""
    plans = plans_of(session)
    found = session.exec(
        select(t.PilotTransmitter, t.TransmitterKind)
        .join(t.TransmitterKind, col(t.TransmitterKind.id) == t.PilotTransmitter.kind_id)
        .where(t.PilotTransmitter.pilot_id == pilot_id)
        .order_by(col(t.PilotTransmitter.id))
    )
    rows = [
        TransmitterRow(own.id, own.nickname, kind.name, _wake_text(own, plans), own.retired_at is not None)
        for own, kind in found
    ]
    return tuple(sorted(rows, key=lambda row: row.is_retired))


def _wake_text(own: t.PilotTransmitter, plans: tuple[ChannelPlan, ...]) -> str:
    return "" if own.wake_mhz is None else name_of(own.wake_mhz, plans)


def new_transmitter_view(store: Store, pilot_id: int) -> TransmitterView:
    """The page of a transmitter that isn't there yet."""
    with store.read() as session:
        pilot = find_pilot(session, pilot_id)
        return TransmitterView(pilot.id, pilot.board_name, kinds_to_choose(session))


def transmitter_view(store: Store, pilot_id: int, transmitter_id: int) -> TransmitterView:
    """The page of one transmitter."""
    with store.read() as session:
        own = _own(session, pilot_id, transmitter_id)
        kinds = kinds_to_choose(session)
        if own.kind_id not in dict(kinds):
            kinds = (*kinds, (own.kind_id, session.get_one(t.TransmitterKind, own.kind_id).name))
        return TransmitterView(
            pilot_id,
            find_pilot(session, pilot_id).board_name,
            kinds,
            own.id,
            own.kind_id,
            own.nickname,
            _wake_text(own, plans_of(session)),
            own.retired_at is not None,
        )


def _own(session: Session, pilot_id: int, transmitter_id: int) -> t.PilotTransmitter:
    own = session.get(t.PilotTransmitter, transmitter_id)
    if own is None or own.pilot_id != pilot_id:
        raise NotFound("This transmitter isn't this pilot's.", "Go back to the pilot's page.")
    return own


def add_transmitter(store: Store, deed: Deed, pilot_id: int, draft: TransmitterDraft) -> Answer:
    """Write down another transmitter of a pilot."""

    def work(work: Work) -> Answer:
        pilot = find_pilot(work.session, pilot_id)
        own = fill_transmitter(work.session, t.PilotTransmitter(pilot_id=pilot.id, kind_id=draft.kind_id), draft)
        work.note("transmitter_added", _facts(own))
        return Answer(_page(pilot.id), f"{pilot.board_name} has another transmitter.", made_id=own.id)

    return do_once(store, deed, work)


def change_transmitter(store: Store, deed: Deed, pilot_id: int, transmitter_id: int, draft: TransmitterDraft) -> Answer:
    """Save what changed about a transmitter; while it is on air the desk changes it."""

    def work(work: Work) -> Answer:
        own = _own_at_rest(work, pilot_id, transmitter_id)
        fill_transmitter(work.session, own, draft)
        work.note("transmitter_changed", _facts(own))
        return Answer(_page(pilot_id), "The transmitter is saved.")

    return do_once(store, deed, work)


def retire_transmitter(store: Store, deed: Deed, pilot_id: int, transmitter_id: int) -> Answer:
    """The pilot doesn't fly it any more. Doing it twice changes nothing."""

    def work(work: Work) -> Answer:
        own = _own_at_rest(work, pilot_id, transmitter_id)
        if own.retired_at is None:
            own.retired_at = work.now
            work.session.add(own)
            work.note("transmitter_retired", _facts(own))
        return Answer(_page(pilot_id), "The transmitter is retired: it is not offered any more.")

    return do_once(store, deed, work)


def bring_back_transmitter(store: Store, deed: Deed, pilot_id: int, transmitter_id: int) -> Answer:
    """The pilot flies it again. Doing it twice changes nothing."""

    def work(work: Work) -> Answer:
        own = _own(work.session, pilot_id, transmitter_id)
        if own.retired_at is not None:
            own.retired_at = None
            work.session.add(own)
            work.note("transmitter_brought_back", _facts(own))
        return Answer(_page(pilot_id), "The transmitter is offered again.")

    return do_once(store, deed, work)


def fill_transmitter(session: Session, own: t.PilotTransmitter, draft: TransmitterDraft) -> t.PilotTransmitter:
    """Put what was typed into the row and flush it.

    Raises:
        Refused: a kind that isn't offered, or a wake channel that it can't have.
    """
    kind = session.get(t.TransmitterKind, draft.kind_id)
    is_kept = own.id is not None and own.kind_id == draft.kind_id
    if kind is None or (kind.retired_at is not None and not is_kept):
        raise Refused("This kind isn't offered any more.", "Choose another one.", field="kind_id")
    plans = plans_of(session)
    own.wake_mhz = read_wake(draft.wake, kind.name, parse_tuning(kind.tuning, plans), plans, "wake")
    own.kind_id = kind.id
    own.nickname = one_line(draft.nickname)
    session.add(own)
    session.flush()
    return own


def _own_at_rest(work: Work, pilot_id: int, transmitter_id: int) -> t.PilotTransmitter:
    own = _own(work.session, pilot_id, transmitter_id)
    if (meet := queries.open_meet(work.session)) is None:
        return own
    work.lock_meet(meet.id)
    for _loan, setting in queries.open_loans(work.session, meet.id):
        if setting.transmitter_id == transmitter_id:
            raise Refused(
                f"This transmitter is on air on {setting.label}.",
                "Take the token back first, or change what is set at the desk.",
            )
    return own


def _facts(own: t.PilotTransmitter) -> dict[str, int | None]:
    return {"pilot": own.pilot_id, "transmitter": own.id, "kind_id": own.kind_id, "mhz": own.wake_mhz}


def _page(pilot_id: int) -> str:
    return f"/organiser/pilots/{pilot_id}"
