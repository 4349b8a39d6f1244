"""One token at the desk: its state, who has it, who had it at this meet."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.loans.wording import token_at
from meetapp.flows.snapshot import OnAir, Snapshot, TokenNow, take_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class Had:
    """Somebody who had the token at this meet; `in_at` None: they have it now. `lost`: how it went missing with them,
    in words ('' where it didn't). `pilot_id` None: a transmitter without a pilot.
    """

    loan_id: int
    pilot_id: int | None
    who: str
    out_at: datetime
    in_at: datetime | None
    lost: str


@dataclass(frozen=True, slots=True)
class TokenPage:
    """A token. `state`: 'in', 'out', 'blocked', 'missing' or 'withdrawn'; `loan`: who has it; `had`: latest first."""

    zone: ZoneInfo
    token: TokenNow
    state: str
    blocked_by: str
    loan: OnAir | None
    had: tuple[Had, ...]


def token_page(store: Store, meet_id: int, token_id: int, now: datetime) -> TokenPage:
    """A token of this meet."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        token = token_at(snapshot, token_id)
        had = _had(session, snapshot, token)
    return TokenPage(
        zone=snapshot.zone,
        token=token,
        state="blocked" if token.blocked_by else token.state,
        blocked_by=blocked_by_words(snapshot, token),
        loan=snapshot.loan_with(token_id),
        had=had,
    )


def blocked_by_words(snapshot: Snapshot, token: TokenNow) -> str:
    """Whose wide carriers cover a token: 'R3 (Ana) and R5 (Bo)'; '' where nobody's do."""
    names = [f"{loan.label} ({loan.who})" for loan in snapshot.on_air if loan.carrier in token.blocked_by]
    return " and ".join(names)


def _had(session: Session, snapshot: Snapshot, token: TokenNow) -> tuple[Had, ...]:
    lent = (
        select(t.Loan, t.Pilot)
        .outerjoin(t.Pilot, col(t.Pilot.id) == t.Loan.pilot_id)
        .where(t.Loan.meet_id == snapshot.meet_id, t.Loan.token_id == token.token_id, col(t.Loan.voided_at).is_(None))
        .order_by(col(t.Loan.out_at).desc(), col(t.Loan.id).desc())
    )
    return tuple(
        Had(
            loan.id,
            loan.pilot_id,
            pilot.board_name if pilot else loan.holder_name,
            loan.out_at,
            loan.in_at,
            _lost_words(token, is_last=number == 0) if loan.ended_missing else "",
        )
        for number, (loan, pilot) in enumerate(session.exec(lent))
    )


def _lost_words(token: TokenNow, *, is_last: bool) -> str:
    if is_last and token.state == "missing":
        return "never came back"
    return "went missing" if is_last and token.state == "withdrawn" else "went missing, found since"
