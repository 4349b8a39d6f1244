"""A PostgreSQL server of the tests' own (it comes with the test extra), and a database for each test that asks."""

import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from copy import deepcopy
from itertools import count
from typing import Any

import psycopg
import pytest
from alembic import command
from sqlalchemy.engine import make_url

from meetapp.config import data_folder
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.forward import alembic_config
from tests.kept import kept_engine
from tests.own_server import address_of, own_server
from tests.world import World, make_world

_NUMBERS = count(1)
KEPT = "kept"
"""The name of the database that most tests use, one after the other."""


@pytest.fixture(scope="session")
def postgres_process() -> Iterator[Any]:
    """A server that runs while the tests do. No server on this machine is a skip, in CI a failure."""
    with ExitStack() as at_the_end:
        try:
            server = at_the_end.enter_context(own_server())
        except Exception as error:
            if os.environ.get("CI"):
                raise
            pytest.skip(f"no PostgreSQL server here: {error}")
        yield server


@pytest.fixture(scope="session")
def postgres_server(postgres_process: Any) -> str:
    """The address of that server."""
    return address_of(postgres_process)


@contextmanager
def stopped(server: Any) -> Iterator[None]:
    """The server is away, and comes back at the end."""
    server.stop()
    try:
        yield
    finally:
        server.ensure_postgres_running()


@contextmanager
def new_database(server: str, like: str = "template1", name: str = "") -> Iterator[str]:
    """The address of a new database on that server, made like another one and dropped at the end."""
    name = name or f"club_{next(_NUMBERS)}"
    _run_at(server, _copy(name, like))
    yield make_url(server).set(database=name).render_as_string(hide_password=False)
    _run_at(server, f"DROP DATABASE {name} WITH (FORCE)")


def laid_like(server: str, made: str) -> tuple[str, Callable[[], None]]:
    """The address of a copy of the database at `made`, and what lays it there, anew each time."""
    name = f"copy_of_{_name_of(made)}"

    def put() -> None:
        _run_at(server, f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
        _run_at(server, _copy(name, _name_of(made)))

    return make_url(server).set(database=name).render_as_string(hide_password=False), put


def _copy(name: str, like: str) -> str:
    # File by file: less work than writing down each page of a small database, as is usual since PostgreSQL 15.
    return f"CREATE DATABASE {name} TEMPLATE {like} STRATEGY file_copy"


def _run_at(server: str, statement: str) -> None:
    with psycopg.connect(server.replace("+psycopg", ""), autocommit=True) as connection:
        connection.execute(statement.encode())


@pytest.fixture(scope="session")
def postgres_with_tables(postgres_server: str) -> Iterator[str]:
    """The name of a database with all tables, which nobody is connected to: copying it is quicker than making them."""
    with new_database(postgres_server) as url:
        store = Store(url)
        t.metadata.create_all(store.engine)
        config = alembic_config(data_folder("migrations"))
        with store.engine.begin() as connection:
            config.attributes["connection"] = connection
            command.stamp(config, "head")
        store.close()
        yield _name_of(url)


@pytest.fixture(scope="session")
def postgres_with_world(postgres_server: str, postgres_with_tables: str) -> Iterator[tuple[str, World]]:
    """The name of a database with the test world, made once to be copied, and what it holds by name."""
    with new_database(postgres_server, like=postgres_with_tables) as url:
        store = Store(url)
        world = make_world(store)
        store.close()
        yield _name_of(url), world


def _name_of(url: str) -> str:
    name = make_url(url).database
    assert name
    return name


@pytest.fixture(scope="session")
def kept_server_engine(postgres_server: str) -> Iterator[str]:
    """The address where the database of each test lies. Its engine is kept, and with it what was compiled so far."""
    url = make_url(postgres_server).set(database=KEPT).render_as_string(hide_password=False)
    with kept_engine(url):
        yield url


@pytest.fixture
def postgres_url(postgres_server: str) -> Iterator[str]:
    """The address of an empty database on that server."""
    with new_database(postgres_server) as url:
        yield url


@pytest.fixture
def postgres_store(postgres_server: str, postgres_with_tables: str, kept_server_engine: str) -> Iterator[Store]:
    """A database on that server with all tables and no rows."""
    with _kept_database(postgres_server, postgres_with_tables) as store:
        yield store


@pytest.fixture
def postgres_world(
    postgres_server: str, postgres_with_world: tuple[str, World], kept_server_engine: str
) -> Iterator[tuple[Store, World]]:
    """The test world in a database on that server."""
    like, world = postgres_with_world
    with _kept_database(postgres_server, like) as store:
        yield store, deepcopy(world)


@contextmanager
def _kept_database(server: str, like: str) -> Iterator[Store]:
    with new_database(server, like, KEPT) as url:
        store = Store(url)
        yield store
        store.close()


BOTH = ["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]


@pytest.fixture(params=BOTH)
def any_store(request: pytest.FixtureRequest) -> Store:
    """An empty database with all tables, once as a SQLite file and once on PostgreSQL."""
    store: Store = request.getfixturevalue("store" if request.param == "sqlite" else "postgres_store")
    return store


@pytest.fixture(params=BOTH)
def any_world(request: pytest.FixtureRequest) -> tuple[Store, World]:
    """The test world, once in a SQLite file and once on PostgreSQL."""
    if request.param == "sqlite":
        return request.getfixturevalue("store"), request.getfixturevalue("world")
    found: tuple[Store, World] = request.getfixturevalue("postgres_world")
    return found
