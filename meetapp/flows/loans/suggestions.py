"""Which token for whom: what the desk and the pilots are shown before a hand-out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session

from meetapp.flows.errors import NotFound
from meetapp.flows.kits import Kit, kits_of
from meetapp.flows.loans.air_plan import settings_within_pull
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.loans.who_waits import (
    HeldBack,
    as_waiting,
    held_from,
    power_problem,
    tokens_in,
    waited_min,
    why_no_setting,
)
from meetapp.flows.loans.wording import holds_since, out_with, person_at
from meetapp.flows.snapshot import OnAir, Person, Snapshot, TokenNow, take_snapshot
from meetapp.rules.waiting_line import Stand, place_of, ready
from meetapp.spectrum.floors import keeps_floors
from meetapp.spectrum.handout import Offer, Waiting, offers
from meetapp.spectrum.tuning import Setting
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import keep


@dataclass(frozen=True, slots=True)
class TokenChoice:
    """A token that a pilot could take: what to set, why it is offered, what it wakes on, what it would break.

    `settings`: everything within the pull that the pilot could set for it, the suggested one first.
    """

    token_id: int
    code: str
    token_label: str
    nominal_mhz: int
    setting: Setting
    settings: tuple[Setting, ...]
    reason: str
    wake_words: str
    shortfalls: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TokenRuledOut:
    """A token that this pilot can't take now, and why, in words."""

    token_id: int
    code: str
    token_label: str
    nominal_mhz: int
    why: str


@dataclass(frozen=True, slots=True)
class HandOutView:
    """The hand-out page of one pilot. `why_not` ('' where nothing stands in the way) is about the pilot.

    `held_back`: tokens that keep the floors but wait for the head of the line.
    """

    meet_id: int
    version: int
    person: Person
    kits: tuple[Kit, ...]
    holds: OnAir | None
    place: int | None
    waited_min: int | None
    power_ceiling_mw: float | None
    why_not: str
    suggested: TokenChoice | None
    others: tuple[TokenChoice, ...]
    below_floor: tuple[TokenChoice, ...]
    held_back: tuple[TokenChoice, ...]
    ruled_out: tuple[TokenRuledOut, ...]


@dataclass(frozen=True, slots=True)
class NextUp:
    """The head of the line: their suggested token, or why there is none now, and who comes after them.

    `instead`: where the head can't be served now, the first one behind who can be.
    """

    person: Person
    choice: TokenChoice | None
    why_none: str
    waited_min: int
    after: Person | None
    instead: "NextUp | None" = None


@dataclass(frozen=True, slots=True)
class Candidate:
    """Somebody in the line who could take over a token now, with what they would set and why they are asked."""

    person: Person
    setting: Setting
    reason: str
    wake_words: str
    waited_min: int


def hand_out_view(store: Store, meet_id: int, pilot_id: int, now: datetime) -> HandOutView:
    """Everything the hand-out page shows of one pilot. Raises NotFound."""
    with store.read() as session:
        meet = session.get(t.Meet, meet_id)
        if meet is None:
            raise NotFound("This meet isn't there.", "Go back to the list of meets.")
        snapshot = take_snapshot(session, meet, now)
        person = person_at(snapshot, pilot_id)
        kits = kits_of(session, [pilot_id], snapshot.plans).get(pilot_id, ())
    stand = next((stand for stand in snapshot.line if stand.pilot_id == pilot_id), None)
    why_not = _why_not(snapshot, person)
    held = held_from(snapshot, person)
    offered = () if why_not else _offers(snapshot, person, held, _line_as_waiting(snapshot))
    choices = {offer.token_id: _choice(snapshot, person, offer, held) for offer in offered}
    good = [choices[offer.token_id] for offer in offered if not offer.shortfalls and not offer.is_held_back]
    return HandOutView(
        meet_id=meet_id,
        version=snapshot.version,
        person=person,
        kits=kits,
        holds=snapshot.loan_of(pilot_id),
        place=place_of(snapshot.line, pilot_id),
        waited_min=waited_min(snapshot, stand) if stand else None,
        power_ceiling_mw=snapshot.power_ceiling_mw,
        why_not=why_not,
        suggested=good[0] if good else None,
        others=tuple(good[1:]),
        below_floor=tuple(choices[offer.token_id] for offer in offered if offer.shortfalls),
        held_back=tuple(choices[o.token_id] for o in offered if o.is_held_back and not o.shortfalls),
        ruled_out=tuple(
            TokenRuledOut(token.token_id, token.code, token.label, token.nominal_mhz, why)
            for token in snapshot.tokens
            if token.token_id not in choices and (why := _why_ruled_out(snapshot, person, token))
        ),
    )


def next_up(snapshot: Snapshot) -> NextUp | None:
    """Who is next and with which token; None where nobody waits."""
    line = ready(snapshot.line)
    if not line:
        return None
    waiting = _line_as_waiting(snapshot)
    head = _next_up(snapshot, line, 0, waiting)
    if head.choice is not None:
        return head
    behind = (_next_up(snapshot, line, place, waiting) for place in range(1, len(line)))
    instead = next((each for each in behind if each.choice is not None), None)
    return NextUp(head.person, None, head.why_none, head.waited_min, head.after, instead)


def next_up_kept(session: Session, snapshot: Snapshot) -> NextUp | None:
    """The same, worked out once for all pages of a moment."""
    return keep(session, ("next up", snapshot.meet_id, snapshot.now), lambda: next_up(snapshot))


def hand_over_candidates(snapshot: Snapshot, loan_id: int) -> tuple[Candidate, ...]:
    """Who in the line can take over this loan's token now, in line order; the first is suggested."""
    loan = snapshot.loan(loan_id)
    token = snapshot.token(loan.token_id) if loan is not None and loan.token_id is not None else None
    if loan is None or token is None:
        return ()
    others = [other.carrier for other in snapshot.on_air if other is not loan]
    found: list[Candidate] = []
    passed: list[str] = []  # why those before the next candidate are not asked
    for stand in ready(snapshot.line):
        person = snapshot.people[stand.pilot_id]
        waiting = as_waiting(snapshot, person)
        held = held_from(snapshot, person, loan_id)
        if waiting is None or token.token_id not in waiting.settings:
            passed.append(f"{person.board_name} can't take {token.label}")
        elif held is not None and token.token_id in held.token_ids:
            passed.append(f"{token.label} is {held.words}")
        elif not keeps_floors(others, waiting.carrier_for(token.token_id), snapshot.floors, snapshot.neighbours):
            passed.append(f"{person.board_name} would go below a floor")
        else:
            setting = waiting.settings[token.token_id]
            place = "next in the line" if found else "first in the line"
            reason = f"asked because {_in_few_words(passed)}" if passed else place
            wakes = _wakes(snapshot, person, setting, leaving_id=loan_id)
            found.append(Candidate(person, setting, reason, wakes, waited_min(snapshot, stand)))
            passed = []
    return tuple(found)


def _why_not(snapshot: Snapshot, person: Person) -> str:
    """What stands in the way of any hand-out to this pilot; '' where nothing does."""
    name = person.board_name
    if person.is_retired:
        return f"{name} is retired from the club's list"
    if not person.is_present:
        return f"{name} isn't checked in"
    if (loan := snapshot.loan_of(person.pilot_id)) is not None:
        return f"{name} {holds_since(snapshot, loan)}"
    if person.kit is None:
        return f"nobody has said yet which transmitter {name} flies today"
    return power_problem(snapshot, person.kit)


def _line_as_waiting(snapshot: Snapshot) -> list[Waiting]:
    """Those of the line who could go on air, in its order."""
    line = (as_waiting(snapshot, snapshot.people[stand.pilot_id]) for stand in ready(snapshot.line))
    return [waiting for waiting in line if waiting is not None]


def _offers(
    snapshot: Snapshot, person: Person, held: HeldBack | None, others: Sequence[Waiting]
) -> tuple[Offer, ...]:
    waiting = as_waiting(snapshot, person)
    if waiting is None:
        return ()
    return offers(
        waiting,
        others,
        tokens_in(snapshot),
        snapshot.carriers,
        snapshot.floors,
        snapshot.neighbours,
        held.token_ids if held is not None else (),
        not_ready=_not_ready(snapshot, person),
    )


def _not_ready(snapshot: Snapshot, asking: Person) -> list[Waiting]:
    passed = (stand.pilot_id for stand in snapshot.line if stand.is_skipped and stand.pilot_id != asking.pilot_id)
    kinds = (as_waiting(snapshot, snapshot.people[pilot_id]) for pilot_id in passed)
    return [waiting for waiting in kinds if waiting is not None]


def _choice(snapshot: Snapshot, person: Person, offer: Offer, held: HeldBack | None) -> TokenChoice:
    token = next(token for token in snapshot.tokens if token.token_id == offer.token_id)
    assert person.kit is not None  # who has no transmitter gets no offers
    reason = held.words if held is not None and offer.is_held_back and not offer.shortfalls else offer.reason
    if offer.shortfalls and token.blocked_by:
        reason = f"blocked by {_blockers(snapshot, token)}: {reason}"
    return TokenChoice(
        token_id=token.token_id,
        code=token.code,
        token_label=token.label,
        nominal_mhz=token.nominal_mhz,
        setting=offer.setting,
        settings=settings_within_pull(snapshot, person, person.kit, token.nominal_mhz),
        reason=reason,
        wake_words=_wakes(snapshot, person, offer.setting),
        shortfalls=tuple(shortfall.sentence for shortfall in offer.shortfalls),
    )


def _blockers(snapshot: Snapshot, token: TokenNow) -> str:
    return " and ".join(f"{loan.who} on {loan.label}" for loan in snapshot.on_air if loan.carrier in token.blocked_by)


def _wakes(snapshot: Snapshot, person: Person, setting: Setting, leaving_id: int | None = None) -> str:
    kit = person.kit
    if kit is None:
        return ""
    return wake_words(
        snapshot, kit.wake_mhz, setting.mhz, kit.width_mhz, kit, person=person, loan_id=leaving_id
    )


def _why_ruled_out(snapshot: Snapshot, person: Person, token: TokenNow) -> str:
    if token.state == "out":
        loan = snapshot.loan_with(token.token_id)
        return out_with(snapshot, loan) if loan else "out"
    if token.state != "in":
        return token.state
    return why_no_setting(snapshot, person, person.kit, token.nominal_mhz) if person.kit else ""


def _next_up(snapshot: Snapshot, line: Sequence[Stand], place: int, waiting: Sequence[Waiting]) -> NextUp:
    stand = line[place]
    person = snapshot.people[stand.pilot_id]
    after = snapshot.people[line[place + 1].pilot_id] if place + 1 < len(line) else None
    held = held_from(snapshot, person)
    offered = _offers(snapshot, person, held, waiting)
    best = offered[0] if offered and not offered[0].shortfalls and not offered[0].is_held_back else None
    return NextUp(
        person=person,
        choice=_choice(snapshot, person, best, held) if best else None,
        why_none="" if best else _why_none(snapshot, person, offered, held),
        waited_min=waited_min(snapshot, stand),
        after=after,
    )


def _why_none(snapshot: Snapshot, person: Person, offered: Sequence[Offer], held: HeldBack | None) -> str:
    if why_not := _why_not(snapshot, person):
        return why_not
    if not offered:
        return f"{person.board_name} can make none of the tokens that are in"
    choice = _choice(snapshot, person, offered[0], held)
    return f"{choice.token_label}: {choice.reason}"


def _in_few_words(reasons: Sequence[str]) -> str:
    """The first two reasons, and how many more there are."""
    more = [f"{len(reasons) - 2} more"] if len(reasons) > 2 else []
    return "; ".join([*reasons[:2], *more])
