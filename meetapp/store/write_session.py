"""The session of one write, and who hears of what it does."""

from collections.abc import Callable
from typing import Any

from sqlalchemy import Connection, Engine, event
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
        """Insert a row that is never changed, all its values given, and give its key. At once and without keeping track
        of the row, which takes five times as long.
        """
        for hear in self.before_bulk:
            hear(self)
        columns = table.metadata.tables[str(table.__tablename__)]
        key = self.connection().execute(columns.insert(), values).inserted_primary_key
        assert key is not None, "one row was inserted"
        return key[0]


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
