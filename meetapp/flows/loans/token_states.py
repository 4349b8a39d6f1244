"""Tokens that are missing, found or withdrawn. The desk says so; outside a meet (`meet_id` None) the organiser does."""

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.loans import loan_rows
from meetapp.flows.loans.permissions import check_desk
from meetapp.flows.loans.wording import clock, out_with
from meetapp.flows.snapshot import Snapshot, locked_snapshot
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


def mark_missing(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Say that a token is missing. An open loan ends with it; the answer says who had it and since when."""

    def work(work: Work) -> Answer:
        snapshot, token = locked_token(work, meet_id, token_id)
        if token.state == "missing":
            return Answer(_page_of(meet_id, token_id), f"{token.label} is missing already.")
        if token.state == "withdrawn":
            raise Refused(f"{token.label} is withdrawn.", "Put it back in use first.")
        loan = snapshot.loan_with(token_id) if snapshot else None
        facts: dict[str, int | str] = {"token": token_id}
        who = ""
        if loan is not None and snapshot is not None:
            loan_rows.take_off_air(work, loan.loan_id, is_missing=True)
            loan_rows.end_turns(work, token_id=token_id)
            holder = {"pilot": loan.pilot_id} if loan.pilot_id is not None else {"name": loan.who}
            facts |= {"loan": loan.loan_id, **holder}
            who = f" {loan.who} had it, since {clock(snapshot, loan.out_at)}."
        elif snapshot is not None:
            who = _last_holder_words(work, snapshot, token_id)
        set_state(work, token, "missing")
        line_id = work.note("token_missing", facts, meet_id=_meet_of(snapshot), is_undoable=True)
        return Answer(_page_of(meet_id, token_id), f"{token.label} is missing.{who}", undo_id=line_id, made_id=token_id)

    return do_once(store, deed, work)


def mark_found(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Say that a missing token hangs on the board again, or put a withdrawn one back in use."""

    def work(work: Work) -> Answer:
        snapshot, token = locked_token(work, meet_id, token_id)
        if token.state == "usable":
            return Answer(_page_of(meet_id, token_id), f"{token.label} is in use already.")
        was_missing = token.state == "missing"
        set_state(work, token, "usable")
        if was_missing:
            line_id = work.note("token_found", {"token": token_id}, meet_id=_meet_of(snapshot), is_undoable=True)
            notice = f"{token.label} is found: it hangs on the board."
        else:
            line_id = work.note("token_in_use_again", {"token": token_id}, meet_id=_meet_of(snapshot), is_undoable=True)
            notice = f"{token.label} is in use again."
        return Answer(_page_of(meet_id, token_id), notice, undo_id=line_id, made_id=token_id)

    return do_once(store, deed, work)


def withdraw(store: Store, deed: Deed, meet_id: int | None, token_id: int) -> Answer:
    """Take a token out of use; refused while it is out."""

    def work(work: Work) -> Answer:
        snapshot, token = locked_token(work, meet_id, token_id)
        if token.state == "withdrawn":
            return Answer(_page_of(meet_id, token_id), f"{token.label} is withdrawn already.")
        refuse_while_out(snapshot, token)
        set_state(work, token, "withdrawn")
        line_id = work.note("token_withdrawn", {"token": token_id}, meet_id=_meet_of(snapshot), is_undoable=True)
        return Answer(_page_of(meet_id, token_id), f"{token.label} is withdrawn.", undo_id=line_id, made_id=token_id)

    return do_once(store, deed, work)


def locked_token(work: Work, meet_id: int | None, token_id: int) -> tuple[Snapshot | None, t.Token]:
    """The token, and the open meet that it belongs to (locked), if it belongs to one.

    Raises:
        NotFound: it isn't there, or not in this meet.
        Forbidden: whoever acts doesn't keep the desk.
    """
    check_desk(work.actor)
    if meet_id is None:
        running = queries.open_meet(work.session)
        has_it = running is not None and work.session.get(t.MeetToken, (running.id, token_id)) is not None
        meet_id = running.id if running is not None and has_it else None
    elif work.session.get(t.MeetToken, (meet_id, token_id)) is None:
        raise NotFound("This token doesn't belong to this meet.", "Look at the tokens on the desk page.")
    snapshot = None if meet_id is None else locked_snapshot(work, meet_id)
    token = work.session.get(t.Token, token_id)
    if token is None:
        raise NotFound("This token isn't there.", "Look at the list of tokens.")
    return snapshot, token


def _last_holder_words(work: Work, snapshot: Snapshot, token_id: int) -> str:
    loan = queries.last_loan_of_token(work.session, snapshot.meet_id, token_id)
    if loan is None or loan.in_at is None:
        return ""
    person = snapshot.people.get(loan.pilot_id) if loan.pilot_id is not None else None
    who = person.board_name if person else loan.holder_name
    return f" {who} had it last, from {clock(snapshot, loan.out_at)} to {clock(snapshot, loan.in_at)}."


def refuse_while_out(snapshot: Snapshot | None, token: t.Token) -> None:
    """Refuse what can't be done to a token while somebody has it."""
    loan = snapshot.loan_with(token.id) if snapshot else None
    if loan is not None and snapshot is not None:
        raise Refused(f"{token.label} {out_with(snapshot, loan)}.", "Take it back first, or mark it missing.")


def set_state(work: Work, token: t.Token, state: str) -> None:
    """Write down what a token is from now on: 'usable', 'missing' or 'withdrawn'."""
    token.state, token.state_since = state, work.now
    work.session.add(token)
    work.session.flush()


def _meet_of(snapshot: Snapshot | None) -> int | None:
    return snapshot.meet_id if snapshot else None


def _page_of(meet_id: int | None, token_id: int) -> str:
    return f"/desk/tokens/{token_id}" if meet_id is not None else f"/organiser/tokens/{token_id}"
