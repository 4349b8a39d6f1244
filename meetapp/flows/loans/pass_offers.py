"""Passing a token on, confirmed by both: the holder offers it, the other one takes it on their own page."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, col, select
from sqlmodel.sql.expression import SelectOfScalar

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Forbidden, NotFound, Refused
from meetapp.flows.loans.suggestions import hand_over_candidates
from meetapp.flows.loans.wording import holds_since
from meetapp.flows.snapshot import OnAir, Person, Snapshot, locked_snapshot, take_snapshot
from meetapp.spectrum.tuning import Setting
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store

OWN_PAGE = "/my"


@dataclass(frozen=True, slots=True)
class StandingOffer:
    """An offer that nobody answered yet."""

    offer_id: int
    loan_id: int
    to_pilot_id: int


@dataclass(frozen=True, slots=True)
class GivenOffer:
    """An offer that the holder made and nobody answered yet."""

    offer_id: int
    to_name: str


@dataclass(frozen=True, slots=True)
class OfferToMe:
    """A token that somebody offers to this pilot; `setting` None: today's transmitter can't make it."""

    offer_id: int
    loan_id: int
    from_name: str
    token_label: str
    setting: Setting | None


@dataclass(frozen=True, slots=True)
class Taker:
    """Somebody a token can go to, and why they or what they would set."""

    pilot_id: int
    board_name: str
    reason: str


@dataclass(frozen=True, slots=True)
class PassOnView:
    """To whom a pilot can offer the token they hold: those in the line first."""

    token_label: str
    takers: tuple[Taker, ...]


def standing_offers(session: Session, snapshot: Snapshot) -> tuple[StandingOffer, ...]:
    """The unanswered offers of a meet, the oldest first."""
    rows = session.exec(_unanswered(snapshot.meet_id))
    return tuple(StandingOffer(row.id, row.loan_id, row.to_pilot_id) for row in rows)


def given_offer(offers: Iterable[StandingOffer], snapshot: Snapshot, loan_id: int) -> GivenOffer | None:
    """The unanswered offer of a loan's token."""
    found = (each for each in offers if each.loan_id == loan_id)
    return next((GivenOffer(each.offer_id, _name(snapshot, each.to_pilot_id)) for each in found), None)


def offers_to(offers: Iterable[StandingOffer], snapshot: Snapshot, pilot_id: int) -> tuple[OfferToMe, ...]:
    """The unanswered offers to a pilot; an offer ends with its loan."""
    person = snapshot.people.get(pilot_id)
    found = []
    for each in offers:
        loan = snapshot.loan(each.loan_id) if each.to_pilot_id == pilot_id else None
        if loan is None:
            continue
        token = snapshot.token(loan.token_id) if loan.token_id is not None else None
        setting = snapshot.setting(person, token.nominal_mhz) if person and token else None
        found.append(OfferToMe(each.offer_id, loan.loan_id, loan.who, loan.token_label, setting))
    return tuple(found)


def _unanswered(meet_id: int) -> SelectOfScalar[t.PassOffer]:
    running = select(t.PassOffer).where(
        t.PassOffer.meet_id == meet_id, col(t.PassOffer.ended_at).is_(None), col(t.PassOffer.voided_at).is_(None)
    )
    return running.order_by(col(t.PassOffer.id))


def pass_on_view(store: Store, pilot_id: int, now: datetime) -> PassOnView:
    """Who could take over the token of this pilot now.

    Raises:
        Refused: they hold none, or the desk keeps the tokens at this meet.
    """
    with store.read() as session:
        meet = queries.open_meet(session)
        if meet is None:
            raise Refused("No meet is open now.", "Come back when the organiser has opened it.")
        snapshot = take_snapshot(session, meet, now)
    loan = _own_loan(snapshot, pilot_id)
    waiting = hand_over_candidates(snapshot, loan.loan_id)
    in_line = [Taker(each.person.pilot_id, each.person.board_name, each.reason) for each in waiting]
    named = {taker.pilot_id for taker in in_line}
    others = [
        Taker(person.pilot_id, person.board_name, "not in the line")
        for person in snapshot.people.values()
        if person.pilot_id not in named and not _why_not(snapshot, loan, person)
    ]
    return PassOnView(loan.token_label, (*in_line, *others))


def offer(store: Store, deed: Deed, meet_id: int, pilot_id: int, to_pilot_id: int) -> Answer:
    """Offer the token this pilot holds to another one; nothing changes on air until they take it."""

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        loan = _own_loan(snapshot, pilot_id)
        person = snapshot.people.get(to_pilot_id)
        if person is None:
            raise NotFound("This pilot isn't at the meet.", "Choose somebody from the list.", field="to_pilot_id")
        if why := _why_not(snapshot, loan, person):
            raise Refused(why, "Choose somebody else.", field="to_pilot_id")
        if given := given_offer(standing_offers(work.session, snapshot), snapshot, loan.loan_id):
            raise Refused(f"{loan.token_label} is offered to {given.to_name} already.", "Take that offer back first.")
        row = t.PassOffer(meet_id=meet_id, loan_id=loan.loan_id, to_pilot_id=to_pilot_id, started_at=work.now)
        work.session.add(row)
        work.session.flush()
        work.note("pass_offered", _facts(loan, to_pilot_id), meet_id=meet_id)
        notice = f"{loan.token_label} is offered to {person.board_name}. It stays yours until they take it."
        return Answer(OWN_PAGE, notice, made_id=row.id)

    return do_once(store, deed, work)


def withdraw(store: Store, deed: Deed, meet_id: int, pilot_id: int, offer_id: int) -> Answer:
    """The holder takes an unanswered offer back."""

    def work(work: Work) -> Answer:
        row, loan, snapshot = _standing_offer(work, meet_id, offer_id)
        if loan.pilot_id != pilot_id:
            raise Forbidden("This offer isn't yours.", "Go back to your own page.")
        _end(work, row)
        work.note("pass_withdrawn", _facts(loan, row.to_pilot_id), meet_id=meet_id)
        return Answer(OWN_PAGE, f"{loan.token_label} is no longer offered to {_name(snapshot, row.to_pilot_id)}.")

    return do_once(store, deed, work)


def refuse(store: Store, deed: Deed, meet_id: int, pilot_id: int, offer_id: int) -> Answer:
    """The other one says no."""

    def work(work: Work) -> Answer:
        row, loan, _snapshot = _standing_offer(work, meet_id, offer_id)
        if row.to_pilot_id != pilot_id:
            raise Forbidden("This offer isn't made to you.", "Go back to your own page.")
        _end(work, row)
        work.note("pass_refused", _facts(loan, pilot_id), meet_id=meet_id)
        return Answer(OWN_PAGE, f"You said no to {loan.token_label}: it stays with {loan.who}.")

    return do_once(store, deed, work)


def _standing_offer(work: Work, meet_id: int, offer_id: int) -> tuple[t.PassOffer, OnAir, Snapshot]:
    snapshot = locked_snapshot(work, meet_id)
    row = work.session.exec(_unanswered(meet_id).where(t.PassOffer.id == offer_id)).one_or_none()
    loan = snapshot.loan(row.loan_id) if row else None
    if row is None or loan is None:
        raise NotFound("This offer no longer stands.", "Look at your own page again.")
    return row, loan, snapshot


def _end(work: Work, row: t.PassOffer) -> None:
    row.ended_at = work.now
    work.session.add(row)


def _own_loan(snapshot: Snapshot, pilot_id: int) -> OnAir:
    if not snapshot.is_self_service:
        raise Refused("At this meet the desk hands tokens over.", "Go to the desk with whoever comes next.")
    loan = snapshot.loan_of(pilot_id)
    if loan is None:
        raise Refused("You hold no token.", "Look at your own page again.")
    return loan


def _why_not(snapshot: Snapshot, loan: OnAir, person: Person) -> str:
    """Why a loan's token can't be offered to this person; '' where it can."""
    if person.pilot_id == loan.pilot_id:
        return f"You hold {loan.token_label} yourself."
    if person.is_retired or not person.is_present:
        return f"{person.board_name} isn't here."
    if (other := snapshot.loan_of(person.pilot_id)) is not None:
        return f"{person.board_name} {holds_since(snapshot, other)}."
    token = snapshot.token(loan.token_id) if loan.token_id is not None else None
    if token is None or snapshot.setting(person, token.nominal_mhz) is None:
        return f"{person.board_name} can't set {loan.token_label} on today's transmitter."
    return ""


def _name(snapshot: Snapshot, pilot_id: int) -> str:
    person = snapshot.people.get(pilot_id)
    return person.board_name if person else "somebody"


def _facts(loan: OnAir, to_pilot_id: int) -> dict[str, int | None]:
    return {"loan": loan.loan_id, "token": loan.token_id, "pilot": loan.pilot_id, "other_pilot": to_pilot_id}
