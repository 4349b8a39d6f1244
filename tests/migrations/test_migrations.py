"""The migrations make exactly the tables of the models, from nothing and from every earlier state."""

import re
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, create_engine, inspect, text

from meetapp.config import data_folder
from meetapp.store import tables as t
from meetapp.store.engine import open_engine, sqlite_url
from meetapp.store.forward import alembic_config, bring_file_forward, upgrade

MIGRATIONS = data_folder("migrations")
NOW = datetime(2026, 6, 14, 12, tzinfo=UTC)
TYPES = "INTEGER|VARCHAR|FLOAT|BOOLEAN|DATETIME|DATE|JSON"


def schema(path: Path) -> dict[str, str]:
    """Every table and index as SQLite keeps it, with spacing, quotes and the order of a table's lines evened out."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL").fetchall()
    return {name: evened(sql) for name, sql in rows if name != "alembic_version"}


def evened(sql: str) -> str:
    flat = re.sub(r"\s+", " ", sql.replace('"', "")).strip()
    head, _, body = flat.partition("(")
    parts = re.split(rf", (?=(?:CONSTRAINT|[a-z_]+ (?:{TYPES})\b))", body.strip().removesuffix(")"))
    return f"{head.strip()} ({', '.join(sorted(part.strip() for part in parts))})"


def test_migrations_build_the_tables_of_the_models_with_every_rule(tmp_path: Path) -> None:
    migrated, modelled = tmp_path / "migrated.db", tmp_path / "modelled.db"
    bring_file_forward(migrated, MIGRATIONS, NOW)
    t.metadata.create_all(create_engine(sqlite_url(modelled)))
    assert schema(migrated) == schema(modelled)


def test_alembic_finds_nothing_left_to_do(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, MIGRATIONS, NOW)
    config = alembic_config(MIGRATIONS)
    with open_engine(sqlite_url(path)).connect() as connection:
        config.attributes["connection"] = connection
        command.check(config)


def test_the_line_of_migrations_is_straight() -> None:
    scripts = ScriptDirectory.from_config(alembic_config(MIGRATIONS))
    assert len(scripts.get_heads()) == 1
    assert len(scripts.get_bases()) == 1


@pytest.mark.postgres
def test_migrations_run_on_postgresql(postgres_url: str) -> None:
    engine = open_engine(postgres_url)
    with engine.begin() as connection:
        upgrade(connection, MIGRATIONS)
    config = alembic_config(MIGRATIONS)
    with engine.connect() as connection:
        config.attributes["connection"] = connection
        command.check(config)
    engine.dispose()


DAY, NOON = "2026-06-14", "2026-06-14 12:00:00.000000"
ROWS_OF_A_MEET = {
    "club": {"id": 1, "name": "Lower Meadow Flyers", "made_at": NOON},
    "band_profile": {"id": 1, "name": "Test band"},
    "site": {"id": 1, "name": "Lower Meadow", "time_zone": "Europe/Berlin", "band_profile_id": 1},
    "transmitter_kind": {"id": 1, "name": "analogue R", "tuning": "R", "width_mhz": 20.0},
    "pilot": {"id": 1, "name": "Ana", "board_name": "Ana"},
    "pilot_transmitter": {"id": 1, "pilot_id": 1, "kind_id": 1},
    "token": {"id": 1, "code": "T1", "label": "R1", "nominal_mhz": 5658, "state": "usable", "state_since": NOON},
    "meet": {"id": 1, "name": "June meet", "on_date": DAY, "site_id": 1, "state": "open", "signals": "both"},
    "meet_token": {"meet_id": 1, "token_id": 1},
    "loan": {"id": 1, "meet_id": 1, "token_id": 1, "pilot_id": 1, "out_at": NOON, "entered_at": NOON},
    "heat_plan": {"id": 1, "meet_id": 1, "made_at": NOON},
    "heat": {"id": 1, "meet_id": 1, "plan_id": 1, "state": "planned"},
    "heat_seat": {"id": 1, "heat_id": 1, "pilot_id": 1, "transmitter_id": 1, "token_id": 1, "missing": ""},
}
EMPTY: dict[type[Any], object] = {int: 1, float: 1.0, bool: False, str: "", dict: "{}", datetime: NOON, date: DAY}


def put_rows(connection: Connection) -> dict[str, dict[str, object]]:
    """A row in each table that is there already; columns that must hold something and aren't told hold little."""
    put = {}
    for table, told in ROWS_OF_A_MEET.items():
        if inspect(connection).has_table(table):
            columns = inspect(connection).get_columns(table)
            needed = {each["name"]: EMPTY[each["type"].python_type] for each in columns if not each["nullable"]}
            row = {**needed, **told}
            names = ", ".join(f":{name}" for name in row)
            connection.execute(text(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({names})"), row)
            put[table] = row
    return put


@pytest.mark.parametrize("revision", [script.revision for script in ScriptDirectory(str(MIGRATIONS)).walk_revisions()])
def test_what_is_in_an_older_file_is_kept(tmp_path: Path, revision: str) -> None:
    path = tmp_path / "club.db"
    config = alembic_config(MIGRATIONS)
    with open_engine(sqlite_url(path)).begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, revision)
        put = put_rows(connection)
    assert "loan" in put
    bring_file_forward(path, MIGRATIONS, NOW)
    with closing(sqlite3.connect(path)) as looking:
        looking.row_factory = sqlite3.Row
        assert looking.execute("PRAGMA foreign_key_check").fetchall() == []
        for table, row in put.items():
            kept = dict(looking.execute(f"SELECT * FROM {table}").fetchone())
            assert {name: kept[name] for name in row} == row
