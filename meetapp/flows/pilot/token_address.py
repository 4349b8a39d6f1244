"""A token's own short address: what the tag offers to whoever scans it or types its code.

A stranger's page is made without looking a code up, so nobody can find out here which codes exist.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, select

from meetapp.flows.desk.token_page import blocked_by_words
from meetapp.flows.errors import NotFound
from meetapp.flows.kits import kits_of
from meetapp.flows.loans.air_words import minutes_out
from meetapp.flows.loans.pass_offers import Taker
from meetapp.flows.loans.suggestions import Candidate, TokenChoice, hand_out_view, hand_over_candidates
from meetapp.flows.loans.who_waits import as_waiting, held_from, waited_min
from meetapp.flows.pilot.to_set import ToSet, to_set_of_choice, to_set_of_loan
from meetapp.flows.snapshot import OnAir, Person, Snapshot, take_snapshot
from meetapp.rules.waiting_line import ready
from meetapp.spectrum.floors import keeps_floors
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

SHOWN_OF_A_CODE = 20
_LOOKALIKES = str.maketrans("OIL", "011")


@dataclass(frozen=True, slots=True)
class Tag:
    """The token behind a code.

    `state`: 'in', 'out', 'blocked' (on the board, but covered), 'missing', 'withdrawn', or 'idle' where it plays no
    part today (`why_idle`). `loan`: who has it. `since`: when it went missing or was withdrawn.
    """

    token_id: int
    code: str
    label: str
    nominal_mhz: int
    state: str
    since: datetime
    loan: OnAir | None = None
    out_min: int = 0
    blocked_by: str = ""
    why_idle: str = ""


@dataclass(frozen=True, slots=True)
class DeskTag:
    """A token in the marshal's hand. In: `takers` of the line who keep the floors, then `others` who are here.

    Out: `over_to`, those in the line who could take it over.
    """

    tag: Tag
    takers: tuple[Taker, ...] = ()
    others: tuple[Taker, ...] = ()
    over_to: tuple[Candidate, ...] = ()


@dataclass(frozen=True, slots=True)
class PilotTag:
    """A token in a pilot's hand.

    `to_set`: what is set (`is_mine`), or what they would set where they may take it now; else `why_not`, if anything.
    """

    tag: Tag
    is_mine: bool
    is_self_service: bool
    to_set: ToSet | None
    why_not: str


def folded(code: str) -> str:
    """A code as it is compared: letters and digits only, in capitals, O as 0, I and L as 1.

    >>> folded(" k7-ol ")
    'K701'
    """
    return "".join(sign for sign in code.upper() if sign.isalnum()).translate(_LOOKALIKES)


def token_id_of(store: Store, code: str) -> int:
    """The token that a typed or scanned code means. Raises NotFound."""
    with store.read() as session:
        return _token(session, code).id


def _token(session: Session, code: str) -> t.Token:
    """The token with exactly this code, else the only one whose code looks the same."""
    tokens = session.exec(select(t.Token)).all()
    typed = code.strip().upper()
    exact = [token for token in tokens if token.code.upper() == typed]
    alike = exact or [token for token in tokens if folded(token.code) == folded(code)]
    if len(alike) != 1 or not folded(code):
        shown = code.strip()[:SHOWN_OF_A_CODE]
        raise NotFound(f"No token has the code '{shown}'.", "Read it from the tag again and type it once more.")
    return alike[0]


def desk_tag(store: Store, code: str, now: datetime) -> DeskTag:
    """What the desk can do with the token behind a code. Raises NotFound."""
    with store.read() as session:
        row = _token(session, code)
        snapshot = _snapshot(session, now)
    tag = _tag(row, snapshot)
    if snapshot is None:
        return DeskTag(tag)
    if tag.loan is not None:
        return DeskTag(tag, over_to=hand_over_candidates(snapshot, tag.loan.loan_id))
    if tag.state not in ("in", "blocked"):
        return DeskTag(tag)
    takers = tuple(_takers(snapshot, row.id))
    return DeskTag(tag, takers, tuple(_others(snapshot, row.nominal_mhz, {taker.pilot_id for taker in takers})))


def pilot_tag(store: Store, code: str, pilot_id: int, now: datetime) -> PilotTag:
    """What a pilot can do with the token behind a code. Raises NotFound."""
    with store.read() as session:
        row = _token(session, code)
        snapshot = _snapshot(session, now)
        kits = kits_of(session, [pilot_id], snapshot.plans).get(pilot_id, ()) if snapshot else ()
    tag = _tag(row, snapshot)
    person = snapshot.people.get(pilot_id) if snapshot else None
    if snapshot and person and tag.loan and tag.loan.pilot_id == pilot_id:
        to_set = to_set_of_loan(snapshot, person, tag.loan, kits)
        return PilotTag(tag, True, snapshot.is_self_service, to_set, "")
    if snapshot is None or not snapshot.is_self_service or tag.state not in ("in", "blocked"):
        return PilotTag(tag, False, bool(snapshot and snapshot.is_self_service), None, "")
    if person is None or not person.is_present:
        return PilotTag(tag, False, True, None, "you aren't checked in yet")
    choice, why_not = _choice(store, snapshot, tag, person)
    return PilotTag(tag, False, True, to_set_of_choice(snapshot, person, choice) if choice else None, why_not)


def _snapshot(session: Session, now: datetime) -> Snapshot | None:
    meet = queries.open_meet(session)
    return take_snapshot(session, meet, now) if meet else None


def _tag(row: t.Token, snapshot: Snapshot | None) -> Tag:
    token = snapshot.token(row.id) if snapshot else None
    loan = snapshot.loan_with(row.id) if snapshot else None
    state, why_idle = row.state, ""
    if row.state == "usable":
        state = token.state if token else "idle"
        if token is None:
            why_idle = "it isn't in today's set" if snapshot else "no meet is open"
    if snapshot and token and token.blocked_by and state == "in":
        state = "blocked"
    return Tag(
        token_id=row.id,
        code=row.code,
        label=row.label,
        nominal_mhz=row.nominal_mhz,
        state=state,
        since=row.state_since,
        loan=loan,
        out_min=minutes_out(snapshot, loan) if snapshot and loan else 0,
        blocked_by=blocked_by_words(snapshot, token) if snapshot and token else "",
        why_idle=why_idle,
    )


def _takers(snapshot: Snapshot, token_id: int) -> Iterator[Taker]:
    """Those in the line who can take this token now and keep the floors, in the order they are asked."""
    for stand in ready(snapshot.line):
        person = snapshot.people[stand.pilot_id]
        waiting, held = as_waiting(snapshot, person), held_from(snapshot, person)
        if waiting is None or token_id not in waiting.settings or (held and token_id in held.token_ids):
            continue
        if keeps_floors(snapshot.carriers, waiting.carrier_for(token_id), snapshot.floors, snapshot.neighbours):
            label = waiting.settings[token_id].label
            yield Taker(person.pilot_id, person.board_name, f"sets {label}, waits {waited_min(snapshot, stand)} min")


def _others(snapshot: Snapshot, nominal_mhz: int, already: set[int]) -> Iterator[Taker]:
    """Everybody else who is here without a token and could set it; the hand-out says whether the floors allow it."""
    in_line = {stand.pilot_id for stand in snapshot.line}
    for person in sorted(snapshot.people.values(), key=lambda each: each.board_name.casefold()):
        if not person.is_present or person.pilot_id in already or snapshot.loan_of(person.pilot_id):
            continue
        setting = snapshot.setting(person, nominal_mhz)
        if setting is not None:
            where = "in the line" if person.pilot_id in in_line else "not in the line"
            yield Taker(person.pilot_id, person.board_name, f"sets {setting.label}, {where}")


def _choice(store: Store, snapshot: Snapshot, tag: Tag, person: Person) -> tuple[TokenChoice | None, str]:
    """What this pilot would set for a token on the board, or why they can't take it now."""
    view = hand_out_view(store, snapshot.meet_id, person.pilot_id, snapshot.now)
    if view.why_not:
        return None, view.why_not
    good = [view.suggested, *view.others] if view.suggested else []
    choice = next((each for each in good if each and each.token_id == tag.token_id), None)
    if choice is not None:
        return choice, ""
    refused = next((each for each in (*view.held_back, *view.below_floor) if each.token_id == tag.token_id), None)
    ruled_out = next((each for each in view.ruled_out if each.token_id == tag.token_id), None)
    return None, refused.reason if refused else ruled_out.why if ruled_out else "your transmitter can't make it"
