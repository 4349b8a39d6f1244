"""Column types that mean the same on SQLite and PostgreSQL."""

from datetime import UTC, datetime

from sqlalchemy import DateTime
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator


class UtcDateTime(TypeDecorator[datetime]):
    """An aware time, stored in UTC and handed back aware.

    Raises:
        ValueError: a naive time is refused, since nobody could say which zone it meant.
    """

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Turn an aware time into UTC for storage."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a stored time needs its zone")
        in_utc = value.astimezone(UTC)
        return in_utc if dialect.name == "postgresql" else in_utc.replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Hand a stored time back as an aware UTC time."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)
