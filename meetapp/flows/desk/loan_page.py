"""One loan, open or over: what its pilot sets and how, what it wakes on, and what was set before."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.errors import NotFound
from meetapp.flows.kits import Kit, kit_from, kits_of
from meetapp.flows.loans.air_plan import settings_within_pull
from meetapp.flows.loans.air_words import large_label, turns_with
from meetapp.flows.loans.power_words import power_words
from meetapp.flows.loans.suggestions import Candidate, hand_over_candidates
from meetapp.flows.loans.wake import wake_words
from meetapp.flows.loans.who_waits import why_cannot_use
from meetapp.flows.snapshot import Person, Snapshot, TokenNow, take_snapshot
from meetapp.rules.setting_cards import ToDo
from meetapp.rules.waiting_line import place_of
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.tuning import Setting
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class WasSet:
    """One setting of a loan, with the transmitter's name ('' for a ground transmitter)."""

    label: str
    mhz: int
    power_mw: float | None
    transmitter: str
    since_at: datetime
    until_at: datetime | None


@dataclass(frozen=True, slots=True)
class LoanPage:
    """A loan. `now_set`: the setting that counts (the last one of a loan that is over).

    `large_label`: its channel's name in large type. `to_do`: what its pilot switches, presses or chooses (None: nobody
    has told). `ended`: '' while it is out, else how it ended, in words.
    """

    loan_id: int
    zone: ZoneInfo
    who: str
    pilot_id: int | None
    token_id: int | None
    token_label: str
    token_code: str
    token_mhz: int | None
    now_set: WasSet
    large_label: str
    earlier: tuple[WasSet, ...]
    kit: Kit | None
    to_do: ToDo | None
    wakes: str
    power_words: tuple[str, ...]
    out_at: datetime
    in_at: datetime | None
    out_min: int
    ended: str
    is_from_paper: bool
    seen_at: datetime | None
    override_reason: str
    turns_with: str


@dataclass(frozen=True, slots=True)
class HandOverPage:
    """An open loan and those in the line who could take its token over, the suggested one first."""

    loan: LoanPage
    candidates: tuple[Candidate, ...]


@dataclass(frozen=True, slots=True)
class Possible:
    """What one transmitter of the pilot could be set to for this loan's token (empty: it can't make it)."""

    kit: Kit
    settings: tuple[Setting, ...]


@dataclass(frozen=True, slots=True)
class ChangePage:
    """An open loan and what else could be set for it. `powers_mw`: every step of these transmitters."""

    loan: LoanPage
    possible: tuple[Possible, ...]
    powers_mw: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Partner:
    """Somebody who is here and has no token. `words`: where they wait, and what they would set or why they can't."""

    person: Person
    words: str
    is_able: bool


@dataclass(frozen=True, slots=True)
class SharePage:
    """An open loan and everybody who might use its token by turns: the line in its order, then the others."""

    loan: LoanPage
    people: tuple[Partner, ...]


def loan_page(store: Store, meet_id: int, loan_id: int, now: datetime) -> LoanPage:
    """A loan of this meet, whether it is out or over."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        return _page(session, snapshot, loan_id)


def hand_over_page(store: Store, meet_id: int, loan_id: int, now: datetime) -> HandOverPage:
    """Who could take this loan's token over."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        page = _page(session, snapshot, loan_id)
    return HandOverPage(page, () if page.ended else hand_over_candidates(snapshot, loan_id))


def share_page(store: Store, meet_id: int, loan_id: int, now: datetime) -> SharePage:
    """Who might use this loan's token by turns: whoever is here and has no token, with what speaks against it."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        page = _page(session, snapshot, loan_id)
        token = snapshot.token(page.token_id) if page.token_id is not None else None
    if token is None:
        return SharePage(page, ())
    flying = {loan.pilot_id for loan in snapshot.on_air}
    here = [each for each in snapshot.people.values() if each.is_present and each.pilot_id not in flying]
    place_in = {stand.pilot_id: place for place, stand in enumerate(snapshot.line)}
    after_all = len(place_in)
    here.sort(key=lambda each: (place_in.get(each.pilot_id, after_all), each.board_name.casefold(), each.pilot_id))
    return SharePage(page, tuple(_partner(snapshot, each, token) for each in here))


def _partner(snapshot: Snapshot, person: Person, token: TokenNow) -> Partner:
    place = place_of(snapshot.line, person.pilot_id)
    shared = (snapshot.token(token_id) for token_id, pair in snapshot.sharing.items() if person.pilot_id in pair)
    uses = next((f"uses {other.label} by turns already" for other in shared if other is not None), "")
    why_not = uses or why_cannot_use(snapshot, person, token.nominal_mhz)
    setting = snapshot.setting(person, token.nominal_mhz)
    what = why_not or f"sets {setting.label if setting else token.label}"
    return Partner(person, f"{f'number {place} in the line' if place else 'not in the line'}, {what}", not why_not)


def change_page(store: Store, meet_id: int, loan_id: int, now: datetime) -> ChangePage:
    """What else could be set for this loan's token, on any transmitter of its pilot."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        page = _page(session, snapshot, loan_id)
        person = snapshot.people.get(page.pilot_id) if page.pilot_id is not None else None
        token = snapshot.token(page.token_id) if page.token_id is not None else None
        if person is None or token is None:
            return ChangePage(page, (), ())
        kits = kits_of(session, [person.pilot_id], snapshot.plans).get(person.pilot_id, ())
    possible = tuple(Possible(kit, settings_within_pull(snapshot, person, kit, token.nominal_mhz)) for kit in kits)
    return ChangePage(page, possible, tuple(sorted({step for kit in kits for step in kit.power_steps_mw})))


def _page(session: Session, snapshot: Snapshot, loan_id: int) -> LoanPage:
    loan = session.get(t.Loan, loan_id)
    if loan is None or loan.meet_id != snapshot.meet_id:
        raise NotFound("This loan isn't there.", "Go back to the desk.")
    rows = _settings(session, loan_id)
    if not rows:
        raise NotFound("This loan has no setting any more.", "Go back to the desk.")
    settings = [_was_set(session, row) for row in rows]
    token = session.get(t.Token, loan.token_id) if loan.token_id is not None else None
    kit = _kit(session, snapshot, rows[-1].transmitter_id)
    person = snapshot.people.get(loan.pilot_id) if loan.pilot_id is not None else None
    end = loan.in_at or loan.voided_at
    on_air = snapshot.loan(loan.id)
    return LoanPage(
        loan_id=loan.id,
        zone=snapshot.zone,
        who=person.board_name if person else loan.holder_name,
        pilot_id=loan.pilot_id,
        token_id=loan.token_id,
        token_label=token.label if token else "",
        token_code=token.code if token else "",
        token_mhz=token.nominal_mhz if token else None,
        now_set=settings[-1],
        large_label=large_label(snapshot, rows[-1].label, rows[-1].mhz),
        earlier=tuple(settings[:-1]),
        kit=kit,
        to_do=kit.to_do(rows[-1].label, rows[-1].mhz) if kit and not end else None,
        wakes="" if end or loan.pilot_id is None else _wakes(snapshot, person, rows[-1], kit),
        power_words=power_words(snapshot, person, Carrier(rows[-1].mhz, rows[-1].width_mhz), rows[-1].power_mw),
        out_at=loan.out_at,
        in_at=loan.in_at,
        out_min=int(((end or snapshot.now) - loan.out_at).total_seconds() // 60),
        ended=_ended(loan),
        is_from_paper=loan.entered_at > loan.out_at,
        seen_at=loan.seen_at,
        override_reason=loan.override_reason,
        turns_with=turns_with(snapshot, on_air) if on_air else "",
    )


def _settings(session: Session, loan_id: int) -> list[t.LoanSetting]:
    """What was set during a loan, in order; of an undone loan, what had been set before."""
    of_loan = select(t.LoanSetting).where(t.LoanSetting.loan_id == loan_id)
    rows = list(session.exec(of_loan.order_by(col(t.LoanSetting.since_at), col(t.LoanSetting.id))))
    return [row for row in rows if row.voided_at is None] or rows


def _was_set(session: Session, row: t.LoanSetting) -> WasSet:
    own = session.get(t.PilotTransmitter, row.transmitter_id) if row.transmitter_id is not None else None
    kind = session.get_one(t.TransmitterKind, own.kind_id) if own else None
    name = "" if own is None or kind is None else own.nickname or kind.name
    return WasSet(row.label, row.mhz, row.power_mw, name, row.since_at, row.until_at)


def _kit(session: Session, snapshot: Snapshot, transmitter_id: int | None) -> Kit | None:
    own = session.get(t.PilotTransmitter, transmitter_id) if transmitter_id is not None else None
    return kit_from(own, session.get_one(t.TransmitterKind, own.kind_id), snapshot.plans) if own else None


def _wakes(snapshot: Snapshot, person: Person | None, row: t.LoanSetting, kit: Kit | None) -> str:
    return wake_words(
        snapshot,
        row.wake_before_mhz,
        row.mhz,
        row.width_mhz,
        kit,
        person=person,
        loan_id=row.loan_id,
    )


def _ended(loan: t.Loan) -> str:
    if loan.voided_at is not None:
        return "undone: it never counted"
    if loan.in_at is None:
        return ""
    return "ended: its token is missing" if loan.ended_missing else "over"
