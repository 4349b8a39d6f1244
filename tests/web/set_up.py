"""What the tests of the organiser's forms share: a form that is refused keeps what was typed and changes nothing."""

from typing import Any

from sqlmodel import Session, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.surfer import Surfer
from tests.web.ladder import field_value, journal_kinds, press_twice

_SET_UP_TABLES = (
    t.Club,
    t.BandProfile,
    t.BandSegment,
    t.Site,
    t.Neighbour,
    t.ChannelPlanRow,
    t.PlanChannel,
    t.TransmitterKind,
    t.Pilot,
    t.PilotTransmitter,
    t.Token,
)


def _everything(session: Session) -> dict[str, list[dict[str, Any]]]:
    return {table.__name__: [row.model_dump() for row in session.exec(select(table))] for table in _SET_UP_TABLES}


def all_rows(store: Store) -> dict[str, list[dict[str, Any]]]:
    """Every row of the club's own tables."""
    with store.read() as session:
        return _everything(session)


def refuses(
    person: Surfer, store: Store, path: str, button: str, typed: dict[str, str], sentence: str, status: int = 422
) -> None:
    """The form says the sentence, still holds what was typed, and nothing is changed."""
    person.open(path)
    assert person.status == 200
    before, lines = all_rows(store), journal_kinds(store)
    person.press(button, **typed)
    assert person.status == status, person.text
    assert sentence in person.text
    assert {name: field_value(person, name) for name in typed} == typed
    assert all_rows(store) == before
    assert journal_kinds(store) == lines


def works_once(
    person: Surfer, store: Store, path: str, button: str, typed: dict[str, str], kind: str, notice: str
) -> None:
    """The form, sent twice as a resend does, is done once: one line in the journal, one answer, its sentence shown."""
    person.open(path)
    assert person.status == 200
    lines = journal_kinds(store)
    first, second = press_twice(person, button, **typed)
    assert first == second
    assert journal_kinds(store) == [*lines, kind]
    assert person.status == 200
    assert notice in person.text
