"""What the database itself refuses, whatever the code above it does: on both databases."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy.exc import IntegrityError

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import NOON, World


@pytest.fixture
def made(any_world: tuple[Store, World]) -> tuple[Store, World]:
    return any_world


def loan(world: World, who: str | None, label: str | None, **more: Any) -> t.Loan:
    return t.Loan(
        meet_id=world.meet,
        token_id=world.tokens[label] if label else None,
        pilot_id=world.pilots[who] if who else None,
        **{"out_at": NOON, "entered_at": NOON, **more},
    )


def entry(world: World, who: str, **more: Any) -> t.LineEntry:
    return t.LineEntry(meet_id=world.meet, pilot_id=world.pilots[who], joined_at=NOON, **more)


def turns(world: World, label: str, who: str, partner: str, **more: Any) -> t.Sharing:
    return t.Sharing(
        meet_id=world.meet,
        token_id=world.tokens[label],
        pilot_id=world.pilots[who],
        partner_id=world.pilots[partner],
        started_at=NOON,
        **more,
    )


Rows = Callable[[World], list[Any]]

REFUSED: dict[str, Rows] = {
    "a token out twice": lambda w: [loan(w, "Ana", "R1"), loan(w, "Bo", "R1")],
    "a pilot with two tokens": lambda w: [loan(w, "Ana", "R1"), loan(w, "Ana", "R8")],
    "a loan without a holder": lambda w: [loan(w, None, "R1")],
    "a pilot without a token": lambda w: [loan(w, "Ana", None)],
    "in before out": lambda w: [loan(w, "Ana", "R1", in_at=NOON - timedelta(minutes=1))],
    "twice in the line": lambda w: [entry(w, "Ana"), entry(w, "Ana")],
    "turns with oneself": lambda w: [turns(w, "R1", "Ana", "Ana")],
    "a token by turns twice": lambda w: [turns(w, "R1", "Ana", "Bo"), turns(w, "R1", "Cy", "Di")],
    "a partner twice": lambda w: [turns(w, "R1", "Ana", "Bo"), turns(w, "R8", "Cy", "Bo")],
    "a second open meet": lambda w: [
        t.Meet(name="other", on_date=NOON.date(), site_id=w.site, state="open", fly_at_once=4)
    ],
    "a token code twice": lambda w: [t.Token(code="T1", label="X", nominal_mhz=5800, state_since=NOON)],
    "an unknown token state": lambda w: [
        t.Token(code="X1", label="X", nominal_mhz=5800, state="lost", state_since=NOON)
    ],
    "a loan of no token of the club": lambda w: [
        t.Loan(meet_id=w.meet, token_id=999, pilot_id=w.pilots["Ana"], out_at=NOON, entered_at=NOON)
    ],
    "two pauses at once": lambda w: [
        t.Pause(meet_id=w.meet, started_at=NOON),
        t.Pause(meet_id=w.meet, started_at=NOON),
    ],
    "an alarm twice": lambda w: [
        t.Alarm(meet_id=w.meet, kind="stray", started_at=NOON),
        t.Alarm(meet_id=w.meet, kind="stray", started_at=NOON),
    ],
}
KEPT: dict[str, Rows] = {
    "a token out again": lambda w: [loan(w, "Ana", "R1", in_at=NOON), loan(w, "Bo", "R1")],
    "a token out again after an undone loan": lambda w: [loan(w, "Ana", "R1", voided_at=NOON), loan(w, "Bo", "R1")],
    "ground transmitters without tokens": lambda w: [
        loan(w, None, None, holder_name="finish camera"),
        loan(w, None, None, holder_name="gate camera"),
    ],
    "in the line again": lambda w: [entry(w, "Ana", left_at=NOON), entry(w, "Ana")],
    "turns again": lambda w: [turns(w, "R1", "Ana", "Bo", ended_at=NOON), turns(w, "R1", "Bo", "Ana")],
    "two kinds of alarm": lambda w: [
        t.Alarm(meet_id=w.meet, kind="stray", started_at=NOON),
        t.Alarm(meet_id=w.meet, kind="down", started_at=NOON),
    ],
}


def write(store: Store, rows: list[Any]) -> None:
    with store.write() as session:
        for row in rows:
            session.add(row)
            session.flush()
        session.commit()


@pytest.mark.parametrize("what", REFUSED)
def test_the_database_refuses(made: tuple[Store, World], what: str) -> None:
    store, world = made
    with pytest.raises(IntegrityError):
        write(store, REFUSED[what](world))


@pytest.mark.parametrize("what", KEPT)
def test_the_database_keeps(made: tuple[Store, World], what: str) -> None:
    store, world = made
    write(store, KEPT[what](world))


def test_a_loan_has_one_current_setting(made: tuple[Store, World]) -> None:
    store, world = made
    row = loan(world, "Ana", "R1")
    write(store, [row])
    values: dict[str, Any] = {"loan_id": row.id, "label": "R1", "mhz": 5658, "width_mhz": 20, "since_at": NOON}
    write(store, [t.LoanSetting(**values, until_at=NOON), t.LoanSetting(**values)])
    with pytest.raises(IntegrityError):
        write(store, [t.LoanSetting(**values)])


def test_times_come_back_aware_and_in_utc(made: tuple[Store, World]) -> None:
    store, world = made
    with store.read() as session:
        opened = session.get_one(t.Meet, world.meet).opened_at
    assert opened == NOON
    assert opened is not None
    assert opened.utcoffset() == timedelta(0)


def test_a_time_without_a_zone_is_refused(made: tuple[Store, World]) -> None:
    store, world = made
    with pytest.raises(Exception, match="a stored time needs its zone"):
        write(store, [t.Pause(meet_id=world.meet, started_at=NOON.replace(tzinfo=None))])
