"""A pilot's own page: what to set, what to wait for, the place in the line. One reading serves all pilots' pages."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select

from meetapp.flows.desk.pauses import RunningPause, running_pause
from meetapp.flows.errors import NotFound
from meetapp.flows.heats.heats_now import OwnHeat, own_heats
from meetapp.flows.kits import Kit, kits_of
from meetapp.flows.loans import pass_offers
from meetapp.flows.loans.air_words import minutes_out, turns_with
from meetapp.flows.loans.pass_offers import GivenOffer, OfferToMe, StandingOffer
from meetapp.flows.loans.suggestions import NextUp, next_up_kept
from meetapp.flows.loans.who_waits import how_many_wait, waited_min
from meetapp.flows.pilot.to_set import ToSet, to_set_of_choice, to_set_of_loan
from meetapp.flows.snapshot import OnAir, Person, Snapshot, take_snapshot
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep

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
    `longest_out`: for those in the line; `on_air`, `in_line`: for those who are free. To others they would only be news
    that changes nothing on their page.
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
class FieldForPilots:
    """What the own pages at an open meet are made of. `kits`: of those who hold a token; `heats`: by pilot id."""

    snapshot: Snapshot
    is_self_service: bool
    pause: RunningPause | None
    kits: Mapping[int, tuple[Kit, ...]]
    offers: tuple[StandingOffer, ...]
    heats: Mapping[int, OwnHeat]
    first: NextUp | None


@dataclass(frozen=True, slots=True)
class ForPilots:
    """What the own pages of all pilots are made of, read at one moment.

    `names`: the board names of those who are not retired. `came_to`: the name of the closed meet that a pilot came to
    last; told only while no meet is open, and then there is no `field`.
    """

    names: Mapping[int, str]
    came_to: Mapping[int, str]
    field: FieldForPilots | None


def no_page() -> NotFound:
    """The refusal for the page of a retired pilot."""
    return NotFound("This page is no longer kept.", "Ask the desk.")


def my_view(store: Store, pilot_id: int, now: datetime) -> MyView:
    """What the own page of a pilot shows now.

    Raises:
        NotFound: the pilot was retired.
    """
    with store.read() as session:
        view = own_view(for_pilots(session, now), pilot_id)
    if view is None:
        raise no_page()
    return view


def for_pilots(session: Session, now: datetime) -> ForPilots:
    """What is read once for all own pages.

    They show how things stand when the minute of `now` began, or at the newest line of the journal if that is later:
    so all who ask within a minute are told the same, by whichever process, until something happens.
    """
    minute = now.replace(second=0, microsecond=0)
    return keep(session, ("for pilots", minute), lambda: _read_for_pilots(session, minute))


def _read_for_pilots(session: Session, minute: datetime) -> ForPilots:
    pilots = select(t.Pilot.id, t.Pilot.board_name).where(col(t.Pilot.retired_at).is_(None))
    names = dict(session.exec(pilots).all())
    meet = queries.open_meet(session)
    if meet is None:
        return ForPilots(names, _came_to(session), None)
    return ForPilots(names, {}, _read_field(session, meet, take_snapshot(session, meet, minute)))


def _read_field(session: Session, meet: t.Meet, snapshot: Snapshot) -> FieldForPilots:
    holders = [loan.pilot_id for loan in snapshot.on_air if loan.pilot_id is not None]
    return FieldForPilots(
        snapshot=snapshot,
        is_self_service=meet.is_self_service,
        pause=running_pause(session, meet.id),
        kits=kits_of(session, holders, snapshot.plans),
        offers=pass_offers.standing_offers(session, snapshot),
        heats=own_heats(session, snapshot),
        first=next_up_kept(session, snapshot),
    )


def _came_to(session: Session) -> dict[int, str]:
    """So that nobody waits for a closed meet to go on."""
    came = (
        select(t.Attendance.pilot_id, t.Meet.name)
        .join(t.Meet, col(t.Attendance.meet_id) == t.Meet.id)
        .where(t.Meet.state == "closed")
        .order_by(col(t.Meet.closed_at))
    )
    return dict(session.exec(came).all())


def own_view(shared: ForPilots, pilot_id: int) -> MyView | None:
    """What the own page of a pilot shows; None where the pilot was retired."""
    name, field = shared.names.get(pilot_id), shared.field
    if name is None:
        return None
    if field is None:
        last = shared.came_to.get(pilot_id, "")
        return MyView(name, "closed" if last else "no_meet", meet_name=last)
    snapshot = field.snapshot
    person = snapshot.people.get(pilot_id)
    standing, holding, turns = _standing(field, person), _holding(field, person), _turns(snapshot, pilot_id)
    state = _state(person, holding, standing, turns)
    return MyView(
        board_name=name,
        state=state,
        meet_id=snapshot.meet_id,
        meet_name=snapshot.meet_name,
        is_self_service=field.is_self_service,
        transmitter=person.kit.name if person and person.kit else "",
        holding=holding,
        standing=standing,
        turns=turns,
        longest_out=_longest_out(snapshot, pilot_id) if standing else (),
        on_air=len(snapshot.on_air) if state == "free" else 0,
        in_line=len(snapshot.line) if state == "free" else 0,
        paused_since=field.pause.started_at if field.pause else None,
        pause_reason=field.pause.reason if field.pause else "",
        offers=pass_offers.offers_to(field.offers, snapshot, pilot_id),
        heat=field.heats.get(pilot_id),
    )


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


def _holding(field: FieldForPilots, person: Person | None) -> Holding | None:
    snapshot = field.snapshot
    loan = snapshot.loan_of(person.pilot_id) if person else None
    if person is None or loan is None:
        return None
    token = snapshot.token(loan.token_id) if loan.token_id is not None else None
    return Holding(
        loan_id=loan.loan_id,
        token_id=loan.token_id,
        token_label=loan.token_label,
        code=token.code if token else "",
        to_set=to_set_of_loan(snapshot, person, loan, field.kits.get(person.pilot_id, ())),
        out_at=loan.out_at,
        out_min=minutes_out(snapshot, loan),
        waiting=how_many_wait(snapshot, token) if token else 0,
        turns_with=turns_with(snapshot, loan),
        offer=pass_offers.given_offer(field.offers, snapshot, loan.loan_id),
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


def _standing(field: FieldForPilots, person: Person | None) -> Standing | None:
    snapshot, first = field.snapshot, field.first
    line = snapshot.line
    place = next((i for i, stand in enumerate(line) if person and stand.pilot_id == person.pilot_id), None)
    if person is None or place is None:
        return None
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
