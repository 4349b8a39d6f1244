"""What a write changed, row by row, so that its journal line can be undone."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import inspect
from sqlmodel import Session, SQLModel

from meetapp.store import tables as t
from meetapp.store.write_session import WriteSession

Change = dict[str, Any]
"""One row's change: table, id, whether the row was made, and its values before and after, as JSON.

Of a row that was made, `after` holds all values and `before` those that say that it never counted.
"""

_VOIDABLE = (
    t.Loan,
    t.LoanSetting,
    t.LineEntry,
    t.Sharing,
    t.PassOffer,
    t.Pause,
    t.Alarm,
    t.ClashReport,
    t.HeatPlan,
    t.Heat,
    t.HeatSeat,
)
_MADE = (*_VOIDABLE, t.Attendance)
_UPDATABLE: tuple[type[SQLModel], ...] = (*_MADE, t.Token, t.PilotTransmitter)
_BY_NAME = {str(table.__tablename__): table for table in _UPDATABLE}

# Whoever comes to the head of the line is worked out anew after each step, so nothing rests on it.
_WORKED_OUT_ANEW = {("line_entry", "head_since")}


class ChangeLog:
    """Listens to one session and remembers each row it changes or makes, once, with its first values.

    Only tables whose changes can be taken back are remembered.
    """

    def __init__(self, session: WriteSession) -> None:
        self._session = session
        self._made: list[SQLModel] = []
        self._before: dict[int, tuple[SQLModel, dict[str, Any]]] = {}
        session.before_flush.append(self._remember)

    def _remember(self, session: Session) -> None:
        self._made += [row for row in session.new if isinstance(row, _MADE)]
        for row in session.dirty:
            if isinstance(row, _UPDATABLE) and not any(row is made for made in self._made):
                _row, first = self._before.setdefault(id(row), (row, {}))
                for name, value in _values_before(row).items():
                    first.setdefault(name, value)

    def take(self) -> list[Change]:
        """Flush, hand over what was remembered since the last call, and forget it.

        In the order in which it can be put back: rows made first, then the others, the one changed last first.
        """
        self._session.flush()
        changes = [_made_change(row) for row in self._made]
        changes += [_update_change(row, before) for row, before in reversed(self._before.values()) if before]
        self._made, self._before = [], {}
        return changes


def _values_before(row: Any) -> dict[str, Any]:
    state = inspect(row)
    return {
        attribute.key: attribute.history.deleted[0]
        for attribute in state.attrs
        if attribute.history.has_changes() and attribute.history.deleted
    }


def _made_change(row: Any) -> Change:
    names = [column.key for column in inspect(row).mapper.column_attrs]
    is_voidable = isinstance(row, _VOIDABLE)
    return {
        "table": row.__tablename__,
        "id": row.id,
        "made": True,
        "before": {} if is_voidable else {"checked_in_at": None, "is_expected": False},
        "after": {name: _to_json(getattr(row, name)) for name in names},
    }


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
    return any(
        _to_json(getattr(row, name)) != value
        for name, value in change["after"].items()
        if (change["table"], name) not in _WORKED_OUT_ANEW
    )


def take_back(session: Session, change: Change, now: datetime) -> None:
    """Put one row back to what it was before the change (or mark it as never counted); flushes.

    What was worked out anew since (see `rests_on`) stays as it is.
    """
    row = _row(session, change)
    if change["made"] and isinstance(row, _VOIDABLE):
        row.voided_at = now
    for name, value in change["before"].items():
        if _to_json(getattr(row, name)) == change["after"][name]:
            setattr(row, name, _from_json(value))
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
