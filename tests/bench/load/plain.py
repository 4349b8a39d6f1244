"""The baseline: what one commit costs on bare SQLite, and what an empty route of the same framework costs."""

import sqlite3
from pathlib import Path
from time import perf_counter

from fastapi import FastAPI, Response

empty = FastAPI()
"""Served by `uvicorn tests.bench.load.plain:empty`."""


@empty.post("/")
def nothing() -> Response:
    """Answer that nothing is to be said."""
    return Response(status_code=204)


ROWS = {
    "operation": 300,
    "journal_line": 900,
    "loan": 120,
    "loan_setting": 120,
    "line_entry": 60,
}
"""What a hand-out writes, as table and bytes: the operation, its line, the loan, its setting, the place in the line."""


def commits(folder: Path, count: int) -> list[float]:
    """Seconds of each of `count` commits with the rows of a hand-out (sqlite3 module, WAL, synchronous=FULL)."""
    connection = sqlite3.connect(folder / "plain.db", isolation_level=None)
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("PRAGMA synchronous = FULL")
    for table in ROWS:
        connection.execute(f"CREATE TABLE {table} (id INTEGER PRIMARY KEY, content TEXT)")
    took = []
    for _ in range(count):
        began = perf_counter()
        connection.execute("BEGIN IMMEDIATE")
        for table, size in ROWS.items():
            connection.execute(f"INSERT INTO {table} (content) VALUES (?)", ("x" * size,))
        connection.execute("COMMIT")
        took.append(perf_counter() - began)
    connection.close()
    return took
