"""Undo of one's own last action, by a new journal line: refused once something rests on it."""

from itertools import takewhile

from sqlmodel import Session, col, or_, select

from meetapp.flows.deeds import Actor, Answer, Deed, Work, do_once
from meetapp.flows.errors import NotFound, Refused
from meetapp.flows.journal import Names, filled, sentence_of
from meetapp.flows.loans import line_rows
from meetapp.flows.loans.undo_words import CONTRADICTION_WORDS, TELLS_MORE, UNDO_WORDS
from meetapp.flows.loans.wording import home_of
from meetapp.flows.snapshot import OnAir, Snapshot, take_snapshot
from meetapp.rules.contradictions import contradictions
from meetapp.spectrum.floors import Shortfall, shortfalls
from meetapp.store import changes as row_changes
from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.changes import Change
from meetapp.store.engine import Store


def undo(store: Store, deed: Deed, journal_id: int) -> Answer:
    """Take back what one journal line did; the answer tells what to fetch back or to give back.

    Raises:
        Refused: it isn't this person's own last action, it is undone already, something rests on it, or what would
            come back on air breaks a floor with what went on air since.
        NotFound: no such line.
    """

    def work(work: Work) -> Answer:
        line = work.session.get(t.JournalLine, journal_id)
        if line is None:
            raise NotFound("This isn't in the journal.", "Load the page again.")
        meet = _locked_meet(work, line)
        _check_own_last(work.session, line, work.actor)
        _check_nothing_rests(work.session, line)
        before = take_snapshot(work.session, meet, work.now) if meet else None
        for change in line.changes:
            row_changes.take_back(work.session, change, work.now)
        if meet is not None and before is not None:
            line_rows.keep_line(work, meet.id, line_rows.stands_in(work, meet.id))
            after = take_snapshot(work.session, meet, work.now)
            _check_in_order(work.session, after)
            _check_floors(work.session, before, after, line)
        for undone in (*_lines_that_tell_more(work.session, line), line):
            facts = {**undone.facts, "line": undone.id, "kind_undone": undone.kind}
            work.note("undone", facts, meet_id=undone.meet_id, undoes_id=undone.id)
        return Answer(home_of(work.actor), f"Undone. {_what_to_do(work.session, line)}")

    return do_once(store, deed, work)


def _locked_meet(work: Work, line: t.JournalLine) -> t.Meet | None:
    if line.meet_id is not None:
        return work.lock_open_meet(line.meet_id)
    running = queries.open_meet(work.session)
    return work.lock_open_meet(running.id) if running is not None else None


def _check_own_last(session: Session, line: t.JournalLine, actor: Actor) -> None:
    if not line.is_undoable:
        raise Refused("This can't be undone.", "Put it right with a new step.")
    if session.exec(select(t.JournalLine.id).where(t.JournalLine.undoes_id == line.id)).first() is not None:
        raise Refused("This was undone already.", "Load the page again.")
    if not _is_by(line, actor):
        raise Refused(f"{line.actor_name} did this.", "Only whoever did it can undo it.")
    undone = select(t.JournalLine.undoes_id).where(col(t.JournalLine.undoes_id).is_not(None))
    later = select(t.JournalLine).where(
        t.JournalLine.id > line.id,
        t.JournalLine.meet_id == line.meet_id,
        t.JournalLine.is_undoable,
        col(t.JournalLine.id).not_in(undone),
    )
    if any(_is_by(each, actor) for each in session.exec(later)):
        raise Refused("Only your own last action can be undone, and you did something since.", "Undo that first.")


def _is_by(line: t.JournalLine, actor: Actor) -> bool:
    if actor.session_id is not None:
        return line.actor_session_id == actor.session_id
    return (line.actor_session_id, line.actor_role, line.actor_name) == (None, actor.role, actor.name)


def _check_nothing_rests(session: Session, line: t.JournalLine) -> None:
    made = {change["id"] for change in line.changes if change["made"] and change["table"] == "loan"}
    for change in line.changes:
        if row_changes.rests_on(session, change) or _is_used_since(session, change, line, made):
            raise Refused("Something rests on this already, so it can't be undone.", "Put it right with a new step.")


def _is_used_since(session: Session, change: Change, line: t.JournalLine, made_loans: set[int]) -> bool:
    """Whether anything came about that wouldn't make sense without this change."""
    if change["table"] == "loan" and change["made"]:
        return _has_reports_or_offers(session, change["id"])
    if change["table"] == "loan" and change["before"].get("in_at", "kept") is None:
        return _was_lent_since(session, session.get_one(t.Loan, change["id"]), made_loans)
    if change["table"] == "attendance" and change["before"].get("checked_in_at", "kept") is None:
        return _did_something_since(session, session.get_one(t.Attendance, change["id"]), line, made_loans)
    if change["table"] == "heat_seat" and set(change["before"]) != {"is_up_late"}:
        return _was_flown_since(session, session.get_one(t.HeatSeat, change["id"]), line)
    return False


def _was_flown_since(session: Session, seat: t.HeatSeat, line: t.JournalLine) -> bool:
    """Whether the heat of a seat is over since this line: who flew in it never changes."""
    landed_at = session.get_one(t.Heat, seat.heat_id).landed_at
    return landed_at is not None and landed_at > line.entered_at


def _has_reports_or_offers(session: Session, loan_id: int) -> bool:
    reports = select(t.ClashReport.id).where(t.ClashReport.loan_id == loan_id, col(t.ClashReport.voided_at).is_(None))
    offers = select(t.PassOffer.id).where(t.PassOffer.loan_id == loan_id, col(t.PassOffer.voided_at).is_(None))
    return session.exec(reports).first() is not None or session.exec(offers).first() is not None


def _was_lent_since(session: Session, loan: t.Loan, made_loans: set[int]) -> bool:
    """Whether its token or its pilot has had another loan in the time that would count as this loan's again."""
    others = select(t.Loan.id).where(
        t.Loan.id != loan.id,
        col(t.Loan.voided_at).is_(None),
        or_(t.Loan.token_id == loan.token_id, t.Loan.pilot_id == loan.pilot_id),
        or_(col(t.Loan.in_at).is_(None), col(t.Loan.in_at) > loan.out_at),
    )
    return any(loan_id not in made_loans for loan_id in session.exec(others))


def _did_something_since(session: Session, attendance: t.Attendance, line: t.JournalLine, made_loans: set[int]) -> bool:
    """Whether whoever came in by this line got a token or joined the line since (what the line itself lent apart)."""
    loans = select(t.Loan.id).where(
        t.Loan.meet_id == attendance.meet_id,
        t.Loan.pilot_id == attendance.pilot_id,
        col(t.Loan.voided_at).is_(None),
        t.Loan.entered_at >= line.entered_at,
    )
    waits = select(t.LineEntry.id).where(
        t.LineEntry.meet_id == attendance.meet_id,
        t.LineEntry.pilot_id == attendance.pilot_id,
        col(t.LineEntry.voided_at).is_(None),
        t.LineEntry.joined_at >= line.entered_at,
    )
    lent = any(loan_id not in made_loans for loan_id in session.exec(loans))
    return lent or session.exec(waits).first() is not None


def _check_in_order(session: Session, after: Snapshot) -> None:
    """Raise Refused where the meet would contradict itself."""
    found = contradictions(after.rules_field(), after.line, after.sharing)
    if found:
        facts = {"pilot": found[0].pilot_id, "token": found[0].token_id}
        words = filled(CONTRADICTION_WORDS[found[0].reason], facts, Names(session))
        raise Refused(f"This can't be undone any more: {words}.", "Put it right with a new step.")


def _check_floors(session: Session, before: Snapshot, after: Snapshot, line: t.JournalLine) -> None:
    """Raise Refused where what comes back on air breaks a floor with what went on air since.

    What stood beside it when the line was written is no reason: that was judged then.
    """
    on_air_before = {(loan.loan_id, loan.carrier) for loan in before.on_air}
    then = _on_air_since(session, after, line)
    for loan in after.on_air:
        if (loan.loan_id, loan.carrier) in on_air_before:
            continue
        others = [other for other in after.on_air if other is not loan]
        broken = _shortfalls(after, loan, others)
        excused = _shortfalls(after, loan, [other for other in others if other.loan_id in then])
        for shortfall in broken:
            if shortfall not in excused:
                name = loan.token_label or loan.who
                raise Refused(
                    f"{name} can't come back on air now: {shortfall.sentence}.",
                    "Put it right with a new step once there is room.",
                )


def _shortfalls(after: Snapshot, loan: OnAir, others: list[OnAir]) -> tuple[Shortfall, ...]:
    return shortfalls([other.carrier for other in others], loan.carrier, after.floors, after.neighbours)


def _on_air_since(session: Session, after: Snapshot, line: t.JournalLine) -> set[int]:
    """The loans that were on air, set as they are now, when the line was written."""
    return {
        loan.id
        for loan, setting in queries.open_loans(session, after.meet_id)
        if max(loan.entered_at, setting.since_at) <= line.entered_at
    }


def _lines_that_tell_more(session: Session, line: t.JournalLine) -> list[t.JournalLine]:
    """The lines of the same deed that follow: an override, the loans of a sheet."""
    following = select(t.JournalLine).where(t.JournalLine.meet_id == line.meet_id, t.JournalLine.id > line.id)
    rows = session.exec(following.order_by(col(t.JournalLine.id))).all()
    return list(takewhile(lambda row: _tells_more_of(row, line), rows))


def _tells_more_of(row: t.JournalLine, line: t.JournalLine) -> bool:
    return row.kind in TELLS_MORE and not row.is_undoable and row.entered_at == line.entered_at


def _what_to_do(session: Session, line: t.JournalLine) -> str:
    names = Names(session)
    if line.kind in UNDO_WORDS:
        return filled(UNDO_WORDS[line.kind], line.facts, names)
    return f"It no longer counts: {sentence_of(line, names)}."
