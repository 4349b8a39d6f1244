"""The desk as the marshal sees it: who is next, the line, who is on air, the tokens, everybody else who is here."""

from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session

from meetapp.flows.deeds import Actor
from meetapp.flows.desk.desk_journal import last_own
from meetapp.flows.desk.live import live_version
from meetapp.flows.desk.pauses import RunningPause, running_pause
from meetapp.flows.desk.token_page import blocked_by_words
from meetapp.flows.errors import Forbidden, Refused
from meetapp.flows.giving_way import PATIENCE_S, deeds
from meetapp.flows.heats.heats_now import HeatsNow, heats_now
from meetapp.flows.journal import JournalEntry
from meetapp.flows.loans.air_words import minutes_out, turns_with
from meetapp.flows.loans.suggestions import NextUp, next_up_kept
from meetapp.flows.loans.who_waits import HeldBack, held_from, how_many_wait, waited_min
from meetapp.flows.snapshot import OnAir, Person, Snapshot, TokenNow, take_snapshot
from meetapp.rules.waiting_line import Stand
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class InLine:
    """Somebody in the line: their place from 1, how long they have waited (pauses taken out)."""

    person: Person
    place: int
    waited_min: int
    is_skipped: bool


@dataclass(frozen=True, slots=True)
class AirRow:
    """A loan on air. `token` None: a ground transmitter without one. `waiting`: how many in the line could use its
    token; `turns_with`: who uses it by turns with the holder.
    """

    loan: OnAir
    token: TokenNow | None
    out_min: int
    waiting: int
    turns_with: str


@dataclass(frozen=True, slots=True)
class TokenOnDesk:
    """A token that isn't out. `state`: 'in', 'blocked', 'missing' or 'withdrawn'; `why`: what blocks or holds it."""

    token: TokenNow
    state: str
    why: str


@dataclass(frozen=True, slots=True)
class Around:
    """Somebody who is here, not on air and not in the line. `turns_on`: the token they use by turns, else ''."""

    person: Person
    turns_on: str


@dataclass(frozen=True, slots=True)
class DeskView:
    """The whole desk. `stamp` changes when something happened or a minute went by; `last`: the own deed to undo."""

    meet_id: int
    meet_name: str
    zone: ZoneInfo
    stamp: str
    lower_floors_reason: str
    pause: RunningPause | None
    paused_min: int
    next_up: NextUp | None
    line: tuple[InLine, ...]
    on_air: tuple[AirRow, ...]
    tokens: tuple[TokenOnDesk, ...]
    around: tuple[Around, ...]
    heats: HeatsNow | None
    last: JournalEntry | None


def open_meet_id(store: Store, own_meet_id: int | None) -> int:
    """The open meet, for somebody whose desk session is for `own_meet_id` (None: for any).

    Raises:
        Refused: no meet is open.
        Forbidden: another meet is open.
    """
    with store.read() as session:
        found = queries.open_meet_kept(session)
    if found is None:
        raise Refused("No meet is open now.", "The organiser opens a meet; then the desk works.")
    meet_id, name = found
    if own_meet_id not in (None, meet_id):
        raise Forbidden(f"The open meet is '{name}'; your desk is for another one.", "Join with this meet's PIN.")
    return meet_id


def desk_view(store: Store, meet_id: int, now: datetime, actor: Actor) -> DeskView:
    """Everything the desk shows, as it stood when the minute of `now` began or at the newest line since."""
    stamp = live_version(store, now)
    minute = now.replace(second=0, microsecond=0)
    with store.read() as session:
        shared = keep(session, ("desk", meet_id, minute), lambda: _shared_view(session, meet_id, minute))
        return replace(shared, stamp=stamp, last=last_own(session, meet_id, actor))


def _shared_view(session: Session, meet_id: int, now: datetime) -> DeskView:
    """What all see who keep the desk."""
    snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
    deeds.let_pass(PATIENCE_S)  # what a deed reads too is read; the rest can wait for it
    pause = running_pause(session, meet_id)
    return DeskView(
        meet_id=meet_id,
        meet_name=snapshot.meet_name,
        zone=snapshot.zone,
        stamp="",
        lower_floors_reason=snapshot.lower_floors_reason,
        pause=pause,
        paused_min=_minutes(pause.started_at, snapshot.now) if pause else 0,
        next_up=next_up_kept(session, snapshot),
        line=tuple(_in_line(snapshot, stand, place) for place, stand in enumerate(snapshot.line, start=1)),
        on_air=tuple(_air_row(snapshot, loan) for loan in deeds.between(snapshot.on_air)),
        tokens=_tokens_on_desk(snapshot),
        around=_around(snapshot),
        heats=heats_now(session, snapshot),
        last=None,
    )


def _minutes(since: datetime, now: datetime) -> int:
    return max(0, int((now - since).total_seconds() // 60))


def _in_line(snapshot: Snapshot, stand: Stand, place: int) -> InLine:
    return InLine(snapshot.people[stand.pilot_id], place, waited_min(snapshot, stand), stand.is_skipped)


def _air_row(snapshot: Snapshot, loan: OnAir) -> AirRow:
    token = snapshot.token(loan.token_id) if loan.token_id is not None else None
    return AirRow(
        loan=loan,
        token=token,
        out_min=minutes_out(snapshot, loan),
        waiting=how_many_wait(snapshot, token) if token else 0,
        turns_with=turns_with(snapshot, loan),
    )


def _tokens_on_desk(snapshot: Snapshot) -> tuple[TokenOnDesk, ...]:
    held = held_from(snapshot, None)
    return tuple(_on_desk(snapshot, token, held) for token in snapshot.tokens if token.state != "out")


def _on_desk(snapshot: Snapshot, token: TokenNow, held: HeldBack | None) -> TokenOnDesk:
    if token.state == "in" and token.blocked_by:
        return TokenOnDesk(token, "blocked", f"blocked by {blocked_by_words(snapshot, token)}")
    is_held = token.state == "in" and held is not None and token.token_id in held.token_ids
    return TokenOnDesk(token, token.state, held.words if is_held and held else "")


def _around(snapshot: Snapshot) -> tuple[Around, ...]:
    busy = {loan.pilot_id for loan in snapshot.on_air} | {stand.pilot_id for stand in snapshot.line}
    here = [person for person in snapshot.people.values() if person.is_present and person.pilot_id not in busy]
    here.sort(key=lambda person: (person.board_name.casefold(), person.pilot_id))
    return tuple(Around(person, _turns_on(snapshot, person)) for person in here)


def _turns_on(snapshot: Snapshot, person: Person) -> str:
    tokens = (snapshot.token(token_id) for token_id, pair in snapshot.sharing.items() if person.pilot_id in pair)
    return next((token.label for token in tokens if token is not None), "")
