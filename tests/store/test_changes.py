"""What a write changed, row by row, and how it is put back."""

from datetime import timedelta

import pytest

from meetapp.store import tables as t
from meetapp.store.changes import Change, ChangeLog, rests_on, take_back
from meetapp.store.engine import Store
from tests.world import NOON, World

LATER = NOON + timedelta(minutes=5)


@pytest.fixture
def made(any_world: tuple[Store, World]) -> tuple[Store, World]:
    return any_world


def lend(store: Store, world: World) -> tuple[int, list[Change]]:
    """A loan of R1 to Ana, with what the log kept of it."""
    with store.write() as session:
        log = ChangeLog(session)
        loan = t.Loan(
            meet_id=world.meet,
            token_id=world.tokens["R1"],
            pilot_id=world.pilots["Ana"],
            out_at=NOON,
            entered_at=NOON,
        )
        session.add(loan)
        changes = log.take()
        session.commit()
        return loan.id, changes


def test_a_row_that_was_made_is_marked_as_never_counted(made: tuple[Store, World]) -> None:
    store, world = made
    loan_id, (change,) = lend(store, world)
    assert (change["table"], change["id"], change["made"]) == ("loan", loan_id, True)
    with store.write() as session:
        assert not rests_on(session, change)
        take_back(session, change, LATER)
        session.commit()
    with store.read() as session:
        assert session.get_one(t.Loan, loan_id).voided_at == LATER


def test_a_row_that_was_made_and_changed_since_is_rested_on(made: tuple[Store, World]) -> None:
    store, world = made
    loan_id, (change,) = lend(store, world)
    with store.write() as session:
        session.get_one(t.Loan, loan_id).seen_at = LATER
        session.flush()
        assert rests_on(session, change)


def test_several_changes_of_one_row_are_one_with_the_first_values(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        log = ChangeLog(session)
        token = session.get_one(t.Token, world.tokens["R1"])
        token.state, token.state_since = "missing", LATER
        session.flush()
        token.state = "withdrawn"
        (change,) = log.take()
        session.commit()
    assert change["before"]["state"] == "usable"
    assert change["after"]["state"] == "withdrawn"
    with store.write() as session:
        take_back(session, change, LATER)
        session.commit()
    with store.read() as session:
        token = session.get_one(t.Token, world.tokens["R1"])
        assert (token.state, token.state_since) == ("usable", NOON)


def test_a_row_made_and_changed_in_one_deed_is_kept_once(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        log = ChangeLog(session)
        entry = t.LineEntry(meet_id=world.meet, pilot_id=world.pilots["Ana"], joined_at=NOON)
        session.add(entry)
        session.flush()
        entry.head_since = NOON
        (change,) = log.take()
        session.commit()
    assert change["after"]["head_since"] == {"utc": NOON.isoformat()}


def test_who_heads_the_line_is_worked_out_anew_so_nothing_rests_on_it(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        entry = t.LineEntry(meet_id=world.meet, pilot_id=world.pilots["Ana"], joined_at=NOON)
        session.add(entry)
        session.commit()
        log = ChangeLog(session)
        entry.head_since = NOON
        (change,) = log.take()
        session.commit()
        entry.head_since = LATER
        session.flush()
        assert not rests_on(session, change)
        take_back(session, change, LATER)
        assert entry.head_since == LATER


def test_an_arrival_that_was_made_counts_no_more(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        pilot = t.Pilot(name="Gil", board_name="Gil")
        session.add(pilot)
        session.flush()
        log = ChangeLog(session)
        session.add(t.Attendance(meet_id=world.meet, pilot_id=pilot.id, is_expected=True, checked_in_at=NOON))
        (change,) = log.take()
        take_back(session, change, LATER)
        row = session.get_one(t.Attendance, change["id"])
        assert (row.is_expected, row.checked_in_at) == (False, None)


def test_tables_that_are_not_undone_are_not_kept(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        log = ChangeLog(session)
        session.get_one(t.Site, world.site).note = "gate code changed"
        session.get_one(t.Meet, world.meet).fly_at_once = 5
        assert log.take() == []


def test_what_was_taken_is_forgotten(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        log = ChangeLog(session)
        session.get_one(t.Token, world.tokens["R1"]).state = "missing"
        assert len(log.take()) == 1
        assert log.take() == []


def lend_at_once(log: ChangeLog, world: World) -> int:
    """The loan of `lend`, written without an object."""
    return log.make(
        t.Loan,
        meet_id=world.meet,
        token_id=world.tokens["R1"],
        pilot_id=world.pilots["Ana"],
        out_at=NOON,
        entered_at=NOON,
    )


def test_a_row_written_at_once_is_remembered_as_one_made_as_an_object(made: tuple[Store, World]) -> None:
    store, world = made
    loan_id, (as_object,) = lend(store, world)
    with store.write() as session:
        take_back(session, as_object, LATER)
        log = ChangeLog(session)
        (at_once,) = (lend_at_once(log, world), log.take())[1]
    assert at_once == as_object | {"id": at_once["id"], "after": as_object["after"] | {"id": at_once["id"]}}
    assert at_once["id"] != loan_id


def test_a_row_written_at_once_and_changed_in_both_ways_is_one_change(made: tuple[Store, World]) -> None:
    store, world = made
    with store.write() as session:
        log = ChangeLog(session)
        loan_id = lend_at_once(log, world)
        log.change(t.Loan, loan_id, {"seen_at": None}, {"seen_at": LATER})
        held = session.get_one(t.Loan, loan_id)
        held.override_reason = "calm air"
        log.change(t.Loan, loan_id, {"in_at": None}, {"in_at": LATER})
        (change,) = log.take()
        assert (held.in_at, held.seen_at, held.override_reason) == (LATER, LATER, "calm air")
        assert not rests_on(session, change)
    assert change["made"]
    assert change["after"]["override_reason"] == "calm air"


def test_changes_at_once_and_by_an_object_are_one_with_the_first_values(made: tuple[Store, World]) -> None:
    store, world = made
    loan_id, _changes = lend(store, world)
    with store.write() as session:
        log = ChangeLog(session)
        log.change(t.Loan, loan_id, {"holder_name": "", "in_at": None}, {"holder_name": "", "in_at": LATER})
        held = session.get_one(t.Loan, loan_id)
        held.in_at = held.seen_at = LATER + timedelta(minutes=1)
        log.change(t.Loan, loan_id, {"ended_missing": False}, {"ended_missing": True})
        (change,) = log.take()
        assert change["before"] == {"in_at": None, "seen_at": None, "ended_missing": False}
        assert change["after"]["ended_missing"] is True
        take_back(session, change, LATER)
        assert (held.in_at, held.seen_at, held.ended_missing) == (None, None, False)
