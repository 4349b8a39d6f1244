"""The migrations make exactly the tables of the models, from nothing and from every earlier state."""

import re
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine

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
