"""Move a club to another database: every row of every table, compared afterwards, or nothing at all."""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass

from sqlalchemy import Connection, Table, func, insert, select, text
from sqlalchemy.exc import DBAPIError

from meetapp.store import tables as t
from meetapp.store.engine import for_reading, for_writing, open_engine
from meetapp.store.forward import CantOpen

BATCH = 500
Row = dict[str, object]
Sums = dict[str, tuple[int, str]]
"""For each table the number of its rows and a checksum of all their values."""


@dataclass(frozen=True, slots=True)
class Moved:
    """What was copied: the number of rows by table, in the order of copying, and a checksum over all of them."""

    rows: dict[str, int]
    checksum: str


def move(source_url: str, target_url: str) -> Moved:
    """Copy all tables into an empty database with the same tables, in one transaction; the source is only read.

    Raises:
        CantOpen: the target holds something already, refuses a row, or what arrived isn't what was sent.
    """
    source, target = open_engine(source_url), open_engine(target_url)
    try:
        with for_reading(source).connect() as sending, for_writing(target).begin() as receiving:
            _refuse_unless_empty(receiving)
            for table in t.metadata.sorted_tables:
                for rows in _batches(sending, table):
                    receiving.execute(insert(table), rows)
            _go_on_counting(receiving)
            sent, arrived = _sum_up(sending), _sum_up(receiving)
            _compare(sent, arrived)
            return Moved({name: count for name, (count, _) in sent.items()}, _digest(sent))
    except DBAPIError as error:
        raise CantOpen(
            f"The database to move to refused what it was given: nothing was kept. ({error.orig})"
        ) from error
    finally:
        source.dispose()
        target.dispose()


def _refuse_unless_empty(target: Connection) -> None:
    if target.dialect.name == "postgresql":
        # Nobody may write a first row while the others come.
        names = ", ".join(f'"{table.name}"' for table in t.metadata.sorted_tables)
        target.execute(text(f"LOCK TABLE {names} IN EXCLUSIVE MODE"))
    full = [table.name for table in t.metadata.sorted_tables if target.execute(select(table).limit(1)).first()]
    if full:
        raise CantOpen(
            f"The database to move to holds something already ({', '.join(full[:3])}): nothing was changed. "
            "Give an empty one."
        )


def _batches(source: Connection, table: Table) -> Iterator[list[Row]]:
    # In the order of their numbers a row that rests on another of its table comes after it.
    in_order = source.execute(select(table).order_by(*table.primary_key.columns)).mappings()
    for rows in in_order.partitions(BATCH):
        yield [dict(row) for row in rows]


def _go_on_counting(target: Connection) -> None:
    """PostgreSQL counts its numbers apart from the rows: it goes on behind the largest. SQLite looks at the rows."""
    if target.dialect.name != "postgresql":
        return
    for table in t.metadata.sorted_tables:
        if "id" not in table.c:
            continue
        sequence = target.scalar(select(func.pg_get_serial_sequence(f'"{table.name}"', "id")))
        largest = target.scalar(select(func.max(table.c.id)))
        if sequence and largest is not None:
            target.execute(select(func.setval(sequence, largest)))


def _sum_up(connection: Connection) -> Sums:
    return {table.name: _table_sum(connection, table) for table in t.metadata.sorted_tables}


def _table_sum(connection: Connection, table: Table) -> tuple[int, str]:
    count, digest = 0, hashlib.sha256()
    # Sorted here: two databases may put keys that are texts in two orders.
    for line in sorted(_as_line(row) for rows in _batches(connection, table) for row in rows):
        count += 1
        digest.update(line.encode())
    return count, digest.hexdigest()


def _as_line(row: Row) -> str:
    return json.dumps(row, sort_keys=True, default=str) + "\n"


def _compare(sent: Sums, arrived: Sums) -> None:
    different = [name for name in sent if sent[name] != arrived[name]]
    if different:
        raise CantOpen(
            f"What arrived isn't what was sent (table {', '.join(different)}): nothing was kept. "
            "The club is where it was."
        )


def _digest(sums: Sums) -> str:
    return hashlib.sha256(json.dumps(sums, sort_keys=True).encode()).hexdigest()
