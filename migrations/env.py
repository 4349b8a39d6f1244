"""Alembic's entry: runs on the connection it is given, or on MEETAPP_DATABASE_URL when called as a command."""

import os
from typing import Literal

from alembic import context
from sqlalchemy import Connection, create_engine
from sqlmodel.sql.sqltypes import AutoString

from meetapp.config import default_database_path
from meetapp.store.engine import sqlite_url
from meetapp.store.tables import metadata
from meetapp.store.types import UtcDateTime


def plain_type(kind: str, item: object, _context: object) -> str | Literal[False]:
    """Write our own column types as the plain ones they are stored as: version files don't import the program."""
    if kind == "type" and isinstance(item, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    if kind == "type" and isinstance(item, AutoString):
        return "sa.String()"
    return False


def run_on(connection: Connection) -> None:
    """Run the migrations on one connection; SQLite needs tables copied to change a constraint."""
    context.configure(
        connection=connection,
        target_metadata=metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        compare_type=True,
        render_item=plain_type,
    )
    with context.begin_transaction():
        context.run_migrations()


given = context.config.attributes.get("connection")
if given is not None:
    run_on(given)
else:
    engine = create_engine(os.environ.get("MEETAPP_DATABASE_URL") or sqlite_url(default_database_path()))
    with engine.connect() as connection:
        run_on(connection)
        connection.commit()
