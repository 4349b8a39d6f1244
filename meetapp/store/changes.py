"""What a write changed, row by row, so that its journal line can be undone."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
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

    Only tables whose changes can be taken back are remembered. `make` and `change` write a row and remember it, several
    times as quickly as by way of an object: for the rows that every tap writes.
    """

    def __init__(self, session: WriteSession) -> None:
        self._session = session
        self._made: list[SQLModel | _Written] = []
        self._before: dict[_Key, tuple[SQLModel | _Written, dict[str, Any]]] = {}
        session.before_flush.append(self._remember)

    def make(self, table: type[SQLModel], **values: Any) -> int:
        """Insert a row and give its id. What isn't given is as the table has it by default."""
        whole = _defaults(table) | values
        row_id: int = self._session.write_down(table, **whole)
        self._made.append(_Written(table, {"id": row_id, **whole}))
        return row_id

    def change(self, table: type[SQLModel], row_id: int, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
        """Give a row the values of `after`. `before`: what it has now under the same names."""
        changed = {name: value for name, value in after.items() if before[name] != value}
        if not changed:
            return
        self._session.write_over(table, row_id, changed)
        key = (str(table.__tablename__), row_id)
        made = next((row for row in self._made if _key(row) == key), None)
        if made is None:
            made, first = self._before.setdefault(key, (_Written(table, {"id": row_id}), {}))
            for name in changed:
                first.setdefault(name, before[name])
        if isinstance(made, _Written):
            made.values.update(changed)

    def _remember(self, session: Session) -> None:
        self._made += [row for row in session.new if isinstance(row, _MADE)]
        for row in session.dirty:
            if isinstance(row, _UPDATABLE):
                self._remember_dirty(row)

    def _remember_dirty(self, row: Any) -> None:
        for at, made in enumerate(self._made):
            if made is row or (isinstance(made, _Written) and _key(made) == _key(row)):
                self._made[at] = row
                return
        key = _key(row)
        first = self._before[key][1] if key in self._before else {}
        self._before[key] = row, first
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


_Key = tuple[str, int]


@dataclass(frozen=True, slots=True)
class _Written:
    """A row that was written without an object: its table, and its values as far as they are known."""

    table: type[SQLModel]
    values: dict[str, Any]


def _key(row: SQLModel | _Written) -> _Key:
    table = row.table if isinstance(row, _Written) else type(row)
    return str(table.__tablename__), _value(row, "id")


def _value(row: SQLModel | _Written, name: str) -> Any:
    return row.values[name] if isinstance(row, _Written) else getattr(row, name)


@cache
def _defaults(table: type[SQLModel]) -> dict[str, Any]:
    fields = table.model_fields.items()
    return {name: field.default for name, field in fields if name != "id" and not field.is_required()}


def _values_before(row: Any) -> dict[str, Any]:
    state = inspect(row)
    return {
        attribute.key: attribute.history.deleted[0]
        for attribute in state.attrs
        if attribute.history.has_changes() and attribute.history.deleted
    }


def _made_change(row: SQLModel | _Written) -> Change:
    table, row_id = _key(row)
    is_voidable = issubclass(_BY_NAME[table], _VOIDABLE)
    return {
        "table": table,
        "id": row_id,
        "made": True,
        "before": {} if is_voidable else {"checked_in_at": None, "is_expected": False},
        "after": {name: _to_json(_value(row, name)) for name in _BY_NAME[table].model_fields},
    }


def _update_change(row: SQLModel | _Written, before: dict[str, Any]) -> Change:
    table, row_id = _key(row)
    return {
        "table": table,
        "id": row_id,
        "made": False,
        "before": {name: _to_json(value) for name, value in before.items()},
        "after": {name: _to_json(_value(row, name)) for name in before},
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
