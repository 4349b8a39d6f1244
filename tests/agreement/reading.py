"""Rows as they stand in the database, of either kind."""

import json
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, text

Row = dict[str, Any]


def rows(connection: Connection, query: str, **values: object) -> list[Row]:
    """What a query gives, row by row by column."""
    return [dict(row._mapping) for row in connection.execute(text(query), values)]


def unpacked(value: Any) -> Any:
    """A JSON column as a value."""
    return json.loads(value) if isinstance(value, str) else value


def moment(value: object) -> datetime | None:
    """A time column as a time in UTC without a zone; None as it is."""
    if value is None:
        return None
    found = datetime.fromisoformat(value) if isinstance(value, str) else value
    assert isinstance(found, datetime)
    return found.replace(tzinfo=None)


def unlike(what: str, stands: Row, told: Row) -> Iterator[str]:
    """Where rows (what they are known by: their values) differ from what was told."""
    for each in sorted({*stands, *told}, key=str):
        if each not in stands:
            yield f"{what} {each} isn't in the table"
        elif each not in told:
            yield f"{what} {each} isn't in the journal"
        elif stands[each] != told[each]:
            yield f"{what} {each} is {stands[each]}, by the journal {told[each]}"
