"""The waiting line: join, leave, not ready, ready again. Pilots may do this for themselves at every meet."""

from collections.abc import Callable

from meetapp.flows.deeds import Answer, Deed, Work, do_once
from meetapp.flows.errors import Refused
from meetapp.flows.loans import line_rows, loan_rows
from meetapp.flows.loans.permissions import check_is_self
from meetapp.flows.loans.wording import check_there, holds_since, home_of, person_at
from meetapp.flows.snapshot import Person, Snapshot, locked_snapshot
from meetapp.rules.waiting_line import Stand, place_of, with_skip
from meetapp.store import tables as t
from meetapp.store.engine import Store


def join_line(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Put a pilot at the end of the line; who stands in it already keeps their place.

    Raises:
        Refused: they hold a token, use one by turns, or aren't checked in.
        Forbidden: a pilot acts for somebody else.
    """

    def join(work: Work, snapshot: Snapshot, person: Person) -> Answer:
        check_there(person)
        if (loan := snapshot.loan_of(pilot_id)) is not None:
            raise Refused(f"{person.board_name} {holds_since(snapshot, loan)}.", "Give it back, then join the line.")
        _check_no_turns(work, snapshot, person)
        if place_of(snapshot.line, pilot_id) is not None:
            return Answer(home_of(work.actor), _place_words(snapshot, person))
        entry_id = work.make(t.LineEntry, meet_id=meet_id, pilot_id=pilot_id, joined_at=work.now)
        line = (*snapshot.line, Stand(entry_id, pilot_id, work.now))
        line_rows.keep_line(work, meet_id, line, before=line)
        journal_id = work.note("line_joined", {"pilot": pilot_id}, meet_id=meet_id, is_undoable=True)
        notice = f"{person.board_name} stands in the line as number {place_of(line, pilot_id)}."
        return Answer(home_of(work.actor), notice, undo_id=journal_id)

    return _in_line(store, deed, meet_id, pilot_id, join)


def leave_line(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Take a pilot out of the line; who isn't in it stays out."""

    def leave(work: Work, snapshot: Snapshot, person: Person) -> Answer:
        if not line_rows.leave(work, snapshot, pilot_id):
            return Answer(home_of(work.actor), _not_in_line(person))
        journal_id = work.note("line_left", {"pilot": pilot_id}, meet_id=meet_id, is_undoable=True)
        return Answer(home_of(work.actor), f"{person.board_name} is out of the line.", undo_id=journal_id)

    return _in_line(store, deed, meet_id, pilot_id, leave)


def not_ready(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """Pass a pilot once, until somebody from the line got a token; the place is kept."""

    def skip(work: Work, snapshot: Snapshot, person: Person) -> Answer:
        if (refusal := _cannot_set(work, snapshot, person, is_skipped=True)) is not None:
            return refusal
        journal_id = work.note("line_not_ready", {"pilot": pilot_id}, meet_id=meet_id, is_undoable=True)
        notice = f"{person.board_name} is passed once and keeps the place."
        return Answer(home_of(work.actor), notice, undo_id=journal_id)

    return _in_line(store, deed, meet_id, pilot_id, skip)


def ready_again(store: Store, deed: Deed, meet_id: int, pilot_id: int) -> Answer:
    """A pilot who was not ready is ready: no longer passed."""

    def unskip(work: Work, snapshot: Snapshot, person: Person) -> Answer:
        if (refusal := _cannot_set(work, snapshot, person, is_skipped=False)) is not None:
            return refusal
        journal_id = work.note("line_ready_again", {"pilot": pilot_id}, meet_id=meet_id, is_undoable=True)
        return Answer(home_of(work.actor), f"{person.board_name} is ready again.", undo_id=journal_id)

    return _in_line(store, deed, meet_id, pilot_id, unskip)


def _in_line(
    store: Store, deed: Deed, meet_id: int, pilot_id: int, step: Callable[[Work, Snapshot, Person], Answer]
) -> Answer:
    def work(work: Work) -> Answer:
        snapshot = locked_snapshot(work, meet_id)
        check_is_self(work.actor, pilot_id)
        return step(work, snapshot, person_at(snapshot, pilot_id))

    return do_once(store, deed, work)


def _cannot_set(work: Work, snapshot: Snapshot, person: Person, *, is_skipped: bool) -> Answer | None:
    """Mark a stand as skipped or ready; an answer that says why where there is nothing to mark."""
    stand = next((stand for stand in snapshot.line if stand.pilot_id == person.pilot_id), None)
    if stand is None:
        return Answer(home_of(work.actor), _not_in_line(person))
    if stand.is_skipped == is_skipped:
        state = "is passed once already" if is_skipped else "is ready already"
        return Answer(home_of(work.actor), f"{person.board_name} {state}.")
    line_rows.keep_line(work, snapshot.meet_id, with_skip(snapshot.line, person.pilot_id, is_skipped))
    return None


def _check_no_turns(work: Work, snapshot: Snapshot, person: Person) -> None:
    turns = loan_rows.running_turns(work.session, partner_id=person.pilot_id) if snapshot.sharing else None
    if turns is None:
        return
    holder, token = snapshot.people.get(turns.pilot_id), snapshot.token(turns.token_id)
    with_whom = f" with {holder.board_name}" if holder else ""
    raise Refused(
        f"{person.board_name} uses {token.label if token else 'a token'} by turns{with_whom}.",
        "End the turns first, then join the line.",
    )


def _not_in_line(person: Person) -> str:
    return f"{person.board_name} isn't in the line."


def _place_words(snapshot: Snapshot, person: Person) -> str:
    return f"{person.board_name} stands in the line already, as number {place_of(snapshot.line, person.pilot_id)}."
