"""Count the tokens: what hangs on the board against what the loans say."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlmodel import Session, col, select

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.loans.wording import clock, out_with
from meetapp.flows.snapshot import OnAir, Snapshot, TokenNow, locked_snapshot, take_snapshot
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class Difference:
    """One token that hangs where it shouldn't, or doesn't where it should.

    `kind`: 'out' (hangs, but a loan says it is out), 'gone' (should hang, doesn't), 'found' (missing, but hangs),
    'withdrawn' (hangs, but is withdrawn). `loan_id` is the loan that has it, for 'out'.
    """

    kind: str
    token: TokenNow
    sentence: str
    loan_id: int | None = None


@dataclass(frozen=True, slots=True)
class Counted:
    """What a count found, against the state now: each difference that is still there."""

    line_id: int
    counted_at: datetime
    hanging: int
    should_hang: int
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class CountPage:
    """The meet's tokens to tick, and the result of a count where one was just made."""

    zone: ZoneInfo
    tokens: tuple[TokenNow, ...]
    counted: Counted | None


def count_page(store: Store, meet_id: int, now: datetime, counted_line: int | None) -> CountPage:
    """The page of the count; `counted_line` is the journal line of the count whose result is shown."""
    with store.read() as session:
        snapshot = take_snapshot(session, session.get_one(t.Meet, meet_id), now)
        counted = _counted(session, snapshot, counted_line) if counted_line is not None else None
        return CountPage(snapshot.zone, snapshot.tokens, counted)


def count(store: Store, deed: Deed, meet_id: int, hanging: Collection[int]) -> Answer:
    """Write a count down: the ids of the tokens that hang on the board. It changes no token by itself."""

    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        known = {token.token_id for token in snapshot.tokens}
        if not known.issuperset(hanging):
            raise Refused(
                "One of these tokens doesn't belong to this meet.", "Load the page again and count once more."
            )
        differences = _differences(work.session, snapshot, hanging)
        facts: dict[str, Any] = {
            "count": len(hanging),
            "hanging": sorted(hanging),
            "differing": [difference.token.token_id for difference in differences],
        }
        if differences:
            facts["mismatches"] = len(differences)
        line_id = work.note("tokens_counted", facts, meet_id=meet_id)
        return Answer(f"/desk/count?counted={line_id}", _notice(len(hanging), len(differences)), made_id=line_id)

    return do_once(store, deed, work)


def _notice(hanging: int, differing: int) -> str:
    hang = "1 token hangs" if hanging == 1 else f"{hanging} tokens hang"
    if not differing:
        return f"{hang} on the board: all agree."
    return f"{hang} on the board; {differing} {'does' if differing == 1 else 'do'} not agree."


def _counted(session: Session, snapshot: Snapshot, line_id: int) -> Counted:
    line = session.get(t.JournalLine, line_id)
    if line is None or line.kind != "tokens_counted" or line.meet_id != snapshot.meet_id:
        raise NotFound("This count isn't there.", "Count again.")
    hanging = frozenset(line.facts["hanging"])
    # A token that agreed then and was handed out since is no difference.
    differed = frozenset(line.facts["differing"])
    differences = _differences(session, snapshot, hanging)
    return Counted(
        line_id=line.id,
        counted_at=line.happened_at,
        hanging=len(hanging),
        should_hang=sum(token.state == "in" for token in snapshot.tokens),
        differences=tuple(each for each in differences if each.token.token_id in differed),
    )


def _differences(session: Session, snapshot: Snapshot, hanging: Collection[int]) -> tuple[Difference, ...]:
    found = (_difference(session, snapshot, token, token.token_id in hanging) for token in snapshot.tokens)
    return tuple(difference for difference in found if difference is not None)


def _difference(session: Session, snapshot: Snapshot, token: TokenNow, hangs: bool) -> Difference | None:
    if hangs and token.state == "out" and (loan := snapshot.loan_with(token.token_id)) is not None:
        return Difference("out", token, _out_sentence(snapshot, loan), loan.loan_id)
    if hangs and token.state == "missing":
        return Difference("found", token, "It is marked missing, but it hangs on the board.")
    if hangs and token.state == "withdrawn":
        return Difference("withdrawn", token, "It is withdrawn: take it off the board, so that nobody takes it.")
    if not hangs and token.state == "in":
        return Difference("gone", token, _gone_sentence(session, snapshot, token))
    return None


def _out_sentence(snapshot: Snapshot, loan: OnAir) -> str:
    return f"It hangs on the board, but it {out_with(snapshot, loan)}. Ask them before you hand it out."


def _gone_sentence(session: Session, snapshot: Snapshot, token: TokenNow) -> str:
    last = session.exec(
        select(t.Loan)
        .where(
            t.Loan.meet_id == snapshot.meet_id,
            t.Loan.token_id == token.token_id,
        )
        .order_by(col(t.Loan.out_at).desc(), col(t.Loan.id).desc())
        .limit(1)
    ).first()
    if last is None:
        return "It should hang on the board; nobody has had it at this meet."
    person = snapshot.people.get(last.pilot_id or 0)
    who = person.board_name if person else last.holder_name
    if last.voided_at is not None or last.in_at is None:
        given = clock(snapshot, last.out_at)
        return f"It should hang on the board. It was handed out to {who} at {given}, and that was undone: ask them."
    back = clock(snapshot, last.in_at)
    return f"It should hang on the board. {who} had it last and gave it back at {back}: ask them."
