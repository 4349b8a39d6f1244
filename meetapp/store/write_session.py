"""The session of one write, and who hears of what it does."""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from sqlalchemy import Connection, Engine, Insert, Update, bindparam, event, inspect
from sqlalchemy.orm import ORMExecuteState
from sqlmodel import Session, SQLModel

Hearer = Callable[[Session], None]


class WriteSession(Session):
    """A session that writes. Whoever wants to hear of it stands in its lists: to listen to one session by SQLAlchemy's
    own means costs more than all that is done then.
    """

    def __init__(self, by: Engine | Connection) -> None:
        super().__init__(by, expire_on_commit=False)
        self.before_flush: list[Hearer] = []
        """Called before rows that were made or changed go to the database."""
        self.before_bulk: list[Hearer] = []
        """Called before a statement of one's own that changes rows."""
        self.before_commit: list[Hearer] = []
        self.after_commit: list[Hearer] = []

    def write_down(self, table: type[SQLModel], **values: Any) -> Any:
        """Insert a row, all its values given, and give its key. At once and without keeping track of the row, which
        takes five times as long; what waited to be written is written before.
        """
        self._announce()
        key = self.connection().execute(_insert(table), values).inserted_primary_key
        assert key is not None, "one row was inserted"
        return key[0]

    def write_over(self, table: type[SQLModel], row_id: int, values: Mapping[str, Any]) -> None:
        """Give a row these values, likewise at once. Who holds the row as an object sees them there."""
        self._announce()
        self.connection().execute(_update(table), {_ROW_ID: row_id, **values})
        held = self.identity_map.get(inspect(table).identity_key_from_primary_key((row_id,)))
        if held is not None:
            self.expire(held)

    def _announce(self) -> None:
        self.flush()
        for hear in self.before_bulk:
            hear(self)


_ROW_ID = "the_row"


@cache
def _insert(table: type[SQLModel]) -> Insert:
    return table.metadata.tables[str(table.__tablename__)].insert()


@cache
def _update(table: type[SQLModel]) -> Update:
    columns = table.metadata.tables[str(table.__tablename__)]
    return columns.update().where(columns.c.id == bindparam(_ROW_ID))


def _before_flush(session: WriteSession, *_more: Any) -> None:
    for hear in session.before_flush:
        hear(session)


def _before_bulk(doing: ORMExecuteState) -> None:
    if not doing.is_select and isinstance(doing.session, WriteSession):
        for hear in doing.session.before_bulk:
            hear(doing.session)


def _before_commit(session: WriteSession) -> None:
    for hear in session.before_commit:
        hear(session)


def _after_commit(session: WriteSession) -> None:
    for hear in session.after_commit:
        hear(session)


event.listen(WriteSession, "before_flush", _before_flush)
event.listen(WriteSession, "do_orm_execute", _before_bulk)
event.listen(WriteSession, "before_commit", _before_commit)
event.listen(WriteSession, "after_commit", _after_commit)
