"""The board: who is on air on what, what is free, who is next. Board names only; nothing to press."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.desk.pauses import running_pause
from meetapp.flows.heats.heats_now import HeatsNow, heats_now
from meetapp.flows.loans.air_words import large_label, minutes_out, turns_with
from meetapp.flows.loans.suggestions import NextUp, next_up
from meetapp.flows.loans.who_waits import HeldBack, held_from
from meetapp.flows.snapshot import OnAir, Snapshot, TokenNow, take_snapshot
from meetapp.rules.waiting_line import ready
from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import shortfalls
from meetapp.store import field_queries as queries
from meetapp.store.engine import Store

NEXT_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Slot:
    """One on air: the channel's name, its MHz, the board name, and a word more (by turns, minutes out)."""

    label: str
    mhz: int
    who: str
    note: str


@dataclass(frozen=True, slots=True)
class BoardView:
    """What the board shows. `meet_name` None: no meet is open, and nothing else is filled then.

    `next_word`: what the next one may do, or why they must wait. `not_now`: tokens that hang on the board but can't go
    out, each with its reason. `air`: what is on air, to be drawn; None where nothing is.
    """

    meet_name: str | None
    slots: tuple[Slot, ...] = ()
    next_names: tuple[str, ...] = ()
    next_more: int = 0
    next_word: str = ""
    free: tuple[str, ...] = ()
    not_now: tuple[tuple[str, str], ...] = ()
    missing: tuple[str, ...] = ()
    paused_since: datetime | None = None
    pause_reason: str = ""
    lower_floors_reason: str = ""
    heats: HeatsNow | None = None
    air: AirFacts | None = None


def board_view(store: Store, now: datetime) -> BoardView:
    """The board of the open meet."""
    with store.read() as session:
        meet = queries.open_meet(session)
        if meet is None:
            return BoardView(None)
        snapshot = take_snapshot(session, meet, now)
        pause = running_pause(session, meet.id)
        heats = heats_now(session, snapshot)
    names = [snapshot.people[stand.pilot_id].board_name for stand in ready(snapshot.line)]
    hanging = [token for token in snapshot.tokens if token.state == "in"]
    held = held_from(snapshot, None)
    not_now = {token.token_id: why for token in hanging if (why := _why_not_now(snapshot, token, held))}
    return BoardView(
        meet_name=meet.name,
        slots=tuple(_slots(snapshot)),
        next_names=tuple(names[:NEXT_SHOWN]),
        next_more=max(0, len(names) - NEXT_SHOWN),
        next_word=_next_word(next_up(snapshot)),
        free=tuple(token.label for token in hanging if token.token_id not in not_now),
        not_now=tuple((token.label, not_now[token.token_id]) for token in hanging if token.token_id in not_now),
        missing=tuple(token.label for token in snapshot.tokens if token.state == "missing"),
        paused_since=pause.started_at if pause else None,
        pause_reason=pause.reason if pause else "",
        lower_floors_reason=snapshot.lower_floors_reason,
        heats=heats,
        air=_air(snapshot),
    )


def _air(snapshot: Snapshot) -> AirFacts | None:
    # Who has which channel stands beside the picture in large type already.
    labels = ((loan.carrier, large_label(snapshot, loan.label, loan.mhz)) for loan in snapshot.on_air)
    named = [Named(carrier, "" if label == str(carrier.mhz) else label) for carrier, label in labels]
    return air_facts(named, snapshot.neighbours, snapshot.site_segments)


def _slots(snapshot: Snapshot) -> Iterator[Slot]:
    for loan in sorted(snapshot.on_air, key=lambda loan: (loan.mhz, loan.loan_id)):
        yield Slot(large_label(snapshot, loan.label, loan.mhz), loan.mhz, loan.who, _slot_note(snapshot, loan))


def _slot_note(snapshot: Snapshot, loan: OnAir) -> str:
    partner = turns_with(snapshot, loan)
    return f"{minutes_out(snapshot, loan)} min" + (f", by turns with {partner}" if partner else "")


def _next_word(first: NextUp | None) -> str:
    if first is None:
        return ""
    if first.choice is not None:
        return f"{first.choice.token_label} is free for {first.person.board_name}"
    name = first.person.board_name
    return first.why_none if first.why_none.startswith(f"{name} ") else f"{name}: {first.why_none}"


def _why_not_now(snapshot: Snapshot, token: TokenNow, held: HeldBack | None) -> str:
    """Why a token that hangs on the board can't go out now, in the few words that read from afar; '' where it can."""
    if token.blocked_by:
        return f"blocked by {_who_is_on(snapshot, token.blocked_by[0].mhz)}"
    if held is not None and token.token_id in held.token_ids:
        return f"held back for {held.head.board_name}, {held.waited_min} min in the line"
    carrier = Carrier(token.nominal_mhz)
    broken = next(iter(shortfalls(snapshot.carriers, carrier, snapshot.floors, snapshot.neighbours)), None)
    if broken is None:
        return ""
    if broken.kind == "spacing":
        return f"too near {_who_is_on(snapshot, broken.with_mhz[0])}"
    if broken.kind == "neighbour":
        return "too near " + next(each.label for each in snapshot.neighbours if each.centre_mhz == broken.with_mhz[0])
    return f"would disturb with {' and '.join(_who_is_on(snapshot, mhz) for mhz in broken.with_mhz)}"


def _who_is_on(snapshot: Snapshot, mhz: int) -> str:
    return next(loan.who for loan in snapshot.on_air if loan.mhz == mhz)
