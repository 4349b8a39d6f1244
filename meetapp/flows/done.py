"""What the page shows after a deed: its sentence, and whether it can be undone."""

from dataclasses import dataclass

from sqlalchemy import bindparam
from sqlmodel import col, select

from meetapp.store import field_queries as queries
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class Shown:
    """The notice after a deed; `undo_id` is its journal line while it can still be undone."""

    notice: str
    undo_id: int | None


_UNDONE = select(t.JournalLine.id).where(col(t.JournalLine.undoes_id) == bindparam("undo_id"))


def shown_after(store: Store, key: str | None) -> Shown | None:
    """The notice of the deed with this operation key, if there was one."""
    if not key or len(key) > 64:
        return None
    with store.read() as session:
        operation = queries.operation(session, key)
        if operation is None:
            return None
        undo_id = operation.answer.get("undo_id")
        if undo_id is not None and session.exec(_UNDONE, params={"undo_id": undo_id}).first() is not None:
            undo_id = None
        return Shown(str(operation.answer["notice"]), undo_id)
