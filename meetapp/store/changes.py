"""What a write changed, row by row, so that its journal line can be undone."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import event, inspect
from sqlalchemy.orm import Session as OrmSession
from sqlmodel import Session, SQLModel

from meetapp.store import tables as t

Change = dict[str, Any]

# Undoing an inserted row does not delete it: these values say that it never counted.
_UNMADE: dict[type[SQLModel], dict[str, Any]] = {
    t.Attendance: {"checked_in_at": None, "is_expected": False},
}
_VOIDABLE = (
    t.Loan,
    t.LoanSetting,
    t.LineEntry,
    t.Sharing,
    t.PassOffer,
    t.Pause,
    t.Alarm,
    t.ClashReport,
)
_UPDATABLE: tuple[type[SQLModel], ...] = (*_VOIDABLE, t.Attendance, t.Token, t.PilotTransmitter, t.MeetToken)
_BY_NAME = {str(table.__tablename__): table for table in _UPDATABLE}


class ChangeLog:
    """Listens to one session and remembers each row it changes or makes, in order.

    Only tables whose changes can be taken back are remembered.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._updates: list[tuple[SQLModel, dict[str, Any]]] = []
        self._inserts: list[SQLModel] = []
        event.listen(session, "before_flush", self._remember)

    def _remember(self, session: OrmSession, _context: Any, _instances: Any) -> None:
        for row in session.new:
            if isinstance(row, (*_VOIDABLE, t.Attendance)):
                self._inserts.append(row)
        for row in session.dirty:
            if isinstance(row, _UPDATABLE) and (before := _values_before(row)):
                self._updates.append((row, before))

    def take(self) -> list[Change]:
        """Flush, hand over what was remembered since the last call, and forget it."""
        self._session.flush()
        changes = [_insert_change(row) for row in self._inserts]
        changes += [_update_change(row, before) for row, before in self._updates]
        self._inserts, self._updates = [], []
        return changes


def _values_before(row: Any) -> dict[str, Any]:
    state = inspect(row)
    return {
        attribute.key: attribute.history.deleted[0]
        for attribute in state.attrs
        if attribute.history.has_changes() and attribute.history.deleted
    }


def _insert_change(row: Any) -> Change:
    values = _UNMADE.get(type(row), {})
    return {"table": row.__tablename__, "id": row.id, "made": True, "unmake": values}


def _update_change(row: Any, before: dict[str, Any]) -> Change:
    return {
        "table": row.__tablename__,
        "id": row.id,
        "made": False,
        "before": {name: _to_json(value) for name, value in before.items()},
        "after": {name: _to_json(getattr(row, name)) for name in before},
    }


def rests_on(session: Session, change: Change) -> bool:
    """Whether a changed row was changed again since, so that taking the change back would lose something."""
    row = _row(session, change)
    if change["made"]:
        return getattr(row, "voided_at", None) is not None
    return any(_to_json(getattr(row, name)) != value for name, value in change["after"].items())


def take_back(session: Session, change: Change, now: datetime) -> None:
    """Put one row back to what it was before the change (or mark it as never counted); flushes."""
    row = _row(session, change)
    if not change["made"]:
        for name, value in change["before"].items():
            setattr(row, name, _from_json(value))
    elif isinstance(row, _VOIDABLE):
        row.voided_at = now
    else:
        for name, value in change["unmake"].items():
            setattr(row, name, value)
    session.add(row)
    session.flush()


def _row(session: Session, change: Change) -> Any:
    row = session.get(_BY_NAME[change["table"]], change["id"])
    if row is None:
        raise LookupError(f"{change['table']} {change['id']} is gone, though nothing is ever deleted")
    return row


def _to_json(value: Any) -> Any:
    return {"utc": value.astimezone(UTC).isoformat()} if isinstance(value, datetime) else value


def _from_json(value: Any) -> Any:
    return datetime.fromisoformat(value["utc"]) if isinstance(value, dict) else value
