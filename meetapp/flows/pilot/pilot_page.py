"""A pilot's own page: what to set, what to wait for, the place in the line; and what they say of themself."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.desk.pauses import running_pause
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.heats.heats_now import OwnHeat, own_heat
from meetapp.flows.loans import pass_offers
from meetapp.flows.loans.air_words import minutes_out, turns_with
from meetapp.flows.loans.pass_offers import GivenOffer, OfferToMe
from meetapp.flows.loans.suggestions import next_up
from meetapp.flows.loans.who_waits import how_many_wait, waited_min
from meetapp.flows.pilot.self_check_in import (
    Brought,
    OwnTransmitter,
    attend,
    brought_transmitter,
    kinds_to_choose,
    own_transmitters,
)
from meetapp.flows.pilot.to_set import ToSet, to_set_of_choice, to_set_of_loan
from meetapp.flows.snapshot import Kit, OnAir, Person, Snapshot, kits_of, take_snapshot
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

OWN_PAGE = "/my"
LONGEST_OUT_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Holding:
    """The token a pilot holds. `waiting`: how many in the line could use it; `turns_with`: who uses it by turns with
    them ('' for nobody).
    """

    loan_id: int
    token_id: int | None
    token_label: str
    code: str
    to_set: ToSet
    out_at: datetime
    out_min: int
    waiting: int
    turns_with: str
    offer: GivenOffer | None


@dataclass(frozen=True, slots=True)
class Standing:
    """A place in the line. `free_label`: the token they could take now ('' for none, then `why_none` says why)."""

    number: int
    of: int
    waited_min: int
    is_skipped: bool
    is_next: bool
    free_label: str
    to_set: ToSet | None
    why_none: str


@dataclass(frozen=True, slots=True)
class Out:
    """Somebody on air: channel, board name, minutes out."""

    label: str
    who: str
    out_min: int


@dataclass(frozen=True, slots=True)
class Turns:
    """A token that this pilot uses by turns, while the other one has it."""

    token_id: int
    other: Out


@dataclass(frozen=True, slots=True)
class MyView:
    """A pilot's own page.

    `state`: 'no_meet', 'closed', 'away' (not checked in), 'no_transmitter', 'free' (not in the line), 'turns' (the
    other one they share a token with has it), 'waiting', 'next', 'holding'. `meet_id` None: no meet is open.
    """

    board_name: str
    state: str
    meet_id: int | None = None
    meet_name: str = ""
    is_self_service: bool = False
    transmitter: str = ""
    holding: Holding | None = None
    standing: Standing | None = None
    turns: Turns | None = None
    longest_out: tuple[Out, ...] = ()
    on_air: int = 0
    in_line: int = 0
    paused_since: datetime | None = None
    pause_reason: str = ""
    offers: tuple[OfferToMe, ...] = ()
    heat: OwnHeat | None = None


@dataclass(frozen=True, slots=True)
class TransmitterView:
    """The pilot's transmitters, today's, and the kinds to add one of. `holds`: the token they hold ('' for none)."""

    own: tuple[OwnTransmitter, ...]
    chosen_id: int | None
    kinds: tuple[tuple[int, str], ...]
    holds: str


def my_view(store: Store, pilot_id: int, now: datetime) -> MyView:
    """What the own page of a pilot shows now.

    Raises:
        NotFound: the pilot was retired.
    """
    with store.read() as session:
        pilot = _pilot(session, pilot_id)
        meet = queries.open_meet(session)
        if meet is None:
            return _without_meet(session, pilot)
        snapshot = take_snapshot(session, meet, now)
        person = snapshot.people.get(pilot_id)
        pause = running_pause(session, meet.id)
        kits = kits_of(session, [pilot_id], snapshot.plans).get(pilot_id, ())
        standing = _standing(snapshot, person)
        holding = _holding(session, snapshot, person, kits)
        turns = _turns(snapshot, pilot_id)
        return MyView(
            board_name=pilot.board_name,
            state=_state(person, holding, standing, turns),
            meet_id=meet.id,
            meet_name=meet.name,
            is_self_service=meet.is_self_service,
            transmitter=person.kit.name if person and person.kit else "",
            holding=holding,
            standing=standing,
            turns=turns,
            longest_out=_longest_out(snapshot, pilot_id),
            on_air=len(snapshot.on_air),
            in_line=len(snapshot.line),
            paused_since=pause.started_at if pause else None,
            pause_reason=pause.reason if pause else "",
            offers=pass_offers.offers_to(session, snapshot, pilot_id),
            heat=own_heat(session, snapshot, pilot_id),
        )


def _pilot(session: Session, pilot_id: int) -> t.Pilot:
    pilot = session.get(t.Pilot, pilot_id)
    if pilot is None or pilot.retired_at is not None:
        raise NotFound("This page is no longer kept.", "Ask the desk.")
    return pilot


def _without_meet(session: Session, pilot: t.Pilot) -> MyView:
    """Also says when the last meet they came to is closed, so that nobody waits for it to go on."""
    came = (
        select(t.Meet)
        .join(t.Attendance, col(t.Attendance.meet_id) == t.Meet.id)
        .where(t.Attendance.pilot_id == pilot.id, t.Meet.state == "closed")
        .order_by(col(t.Meet.closed_at).desc())
    )
    last = session.exec(came.limit(1)).first()
    return MyView(pilot.board_name, "closed" if last else "no_meet", meet_name=last.name if last else "")


def _state(person: Person | None, holding: Holding | None, standing: Standing | None, turns: Turns | None) -> str:
    if holding:
        return "holding"
    if person is None or not person.is_present:
        return "away"
    if turns:
        return "turns"
    if standing:
        return "next" if standing.is_next else "waiting"
    return "free" if person.kit else "no_transmitter"


def _holding(
    session: Session, snapshot: Snapshot, person: Person | None, kits: Sequence[Kit]
) -> Holding | None:
    loan = snapshot.loan_of(person.pilot_id) if person else None
    if person is None or loan is None:
        return None
    token = snapshot.token(loan.token_id) if loan.token_id is not None else None
    return Holding(
        loan_id=loan.loan_id,
        token_id=loan.token_id,
        token_label=loan.token_label,
        code=token.code if token else "",
        to_set=to_set_of_loan(snapshot, person, loan, kits),
        out_at=loan.out_at,
        out_min=minutes_out(snapshot, loan),
        waiting=how_many_wait(snapshot, token) if token else 0,
        turns_with=turns_with(snapshot, loan),
        offer=pass_offers.given_offer(session, snapshot, loan.loan_id),
    )


def _turns(snapshot: Snapshot, pilot_id: int) -> Turns | None:
    """Who has the token that this pilot shares, while it is the other one's turn."""
    for token_id, pair in snapshot.sharing.items():
        loan = snapshot.loan_with(token_id)
        if pilot_id in pair and loan is not None and loan.pilot_id != pilot_id:
            return Turns(token_id, _out(snapshot, loan))
    return None


def _out(snapshot: Snapshot, loan: OnAir) -> Out:
    return Out(loan.token_label or snapshot.name_of(loan.mhz), loan.who, minutes_out(snapshot, loan))


def _longest_out(snapshot: Snapshot, pilot_id: int) -> tuple[Out, ...]:
    others = [loan for loan in snapshot.on_air if loan.pilot_id is not None and loan.pilot_id != pilot_id]
    others.sort(key=lambda loan: loan.out_at)
    return tuple(_out(snapshot, loan) for loan in others[:LONGEST_OUT_SHOWN])


def _standing(snapshot: Snapshot, person: Person | None) -> Standing | None:
    line = snapshot.line
    place = next((i for i, stand in enumerate(line) if person and stand.pilot_id == person.pilot_id), None)
    if person is None or place is None:
        return None
    first = next_up(snapshot)
    mine = first if first and first.person.pilot_id == person.pilot_id else None
    if first and first.instead and first.instead.person.pilot_id == person.pilot_id:
        mine = first.instead
    choice = mine.choice if mine else None
    return Standing(
        number=place + 1,
        of=len(line),
        waited_min=waited_min(snapshot, line[place]),
        is_skipped=line[place].is_skipped,
        is_next=mine is not None,
        free_label=choice.token_label if choice else "",
        to_set=to_set_of_choice(snapshot, person, choice) if choice else None,
        why_none=mine.why_none if mine else "",
    )


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
        meet = work.lock_open_meet(meet_id)
        pilot = _pilot(work.session, pilot_id)
        loan = take_snapshot(work.session, meet, work.now).loan_of(pilot_id)
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
