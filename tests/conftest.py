"""Fixtures that most tests share: a fresh database, a clock, the app, people at browsers."""

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from copy import deepcopy
from pathlib import Path

import pytest
from fastapi import FastAPI
from hypothesis import settings

from meetapp.config import Settings, data_folder
from meetapp.flows import access, secrets
from meetapp.flows.planning.choosing import search_to_the_end
from meetapp.main import app_state, routed_app
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from meetapp.store.forward import bring_file_forward
from meetapp.web.security import DESK_COOKIE
from tests.kept import kept_engine, lay, no_copies
from tests.postgres import any_store as any_store
from tests.postgres import any_world as any_world
from tests.postgres import kept_server_engine as kept_server_engine
from tests.postgres import postgres_process as postgres_process
from tests.postgres import postgres_server as postgres_server
from tests.postgres import postgres_store as postgres_store
from tests.postgres import postgres_url as postgres_url
from tests.postgres import postgres_with_tables as postgres_with_tables
from tests.postgres import postgres_with_world as postgres_with_world
from tests.postgres import postgres_world as postgres_world
from tests.surfer import Surfer
from tests.world import DESK_LINK as DESK_LINK
from tests.world import NOON, ORGANISER_PASSWORD, PIN, QUICK_HASHES, Clock, World, make_world

# How hard the property tests try: quickly by default, deeply when asked, and in CI the same examples every time.
settings.register_profile("quick", max_examples=60, deadline=None)
settings.register_profile("deep", max_examples=1000, deadline=None)
settings.register_profile("repeatable", max_examples=60, deadline=None, derandomize=True, database=None)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "repeatable" if os.environ.get("CI") else "quick"))

MEMORY = Path("/dev/shm")
if MEMORY.is_dir() and os.access(MEMORY, os.W_OK):
    # Thousands of small databases, each synced to the disk at every commit: in memory that costs nothing.
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))
    os.environ.setdefault("TMPDIR", str(MEMORY))
    tempfile.tempdir = None


@pytest.fixture(scope="session", autouse=True)
def quick_hashes() -> Iterator[None]:
    """Passwords and PINs hashed as cheaply as can be; what it costs to guess one is tested by itself."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(secrets, "_PASSWORDS", QUICK_HASHES)
        yield


@pytest.fixture(scope="session")
def empty_database(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with all tables and no rows, made once: copying it is quicker than making the tables each time."""
    path = tmp_path_factory.mktemp("empty") / "club.db"
    store = Store(sqlite_url(path))
    t.metadata.create_all(store.engine)
    store.close()
    return path


@pytest.fixture(scope="session")
def world_database(empty_database: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, World]:
    """The test world in a file, made once, and what it holds by name."""
    path = Path(shutil.copy(empty_database, tmp_path_factory.mktemp("world") / "club.db"))
    store = Store(sqlite_url(path))
    world = make_world(store)
    access.server_secret(store, NOON)  # else each test's app would make its own
    store.close()
    return path, world


@pytest.fixture(scope="session")
def served_world(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, World]:
    """The test world in a file as the program makes it, by every migration; made once, and what it holds by name."""
    path = tmp_path_factory.mktemp("served") / "club.db"
    bring_file_forward(path, data_folder("migrations"), NOON)
    store = Store(sqlite_url(path))
    world = make_world(store)
    store.close()
    return path, world


@pytest.fixture
def club_file(served_world: tuple[Path, World], tmp_path: Path) -> Path:
    """A copy of that file, for a server or a command to work on."""
    return Path(shutil.copy(served_world[0], tmp_path / "club.db"))


@pytest.fixture(scope="session")
def kept_database(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Where the database of each test lies. Its engine is kept, and with it every statement compiled so far."""
    path = tmp_path_factory.mktemp("kept") / "club.db"
    with kept_engine(sqlite_url(path)):
        yield path


@pytest.fixture
def store(kept_database: Path, empty_database: Path) -> Iterator[Store]:
    """An empty database with all tables."""
    store = Store(sqlite_url(kept_database))
    lay(empty_database, store, kept_database)
    yield store
    store.close()


@pytest.fixture
def clock() -> Clock:
    """A clock that stands at noon (UTC) until a test moves it."""
    return Clock()


@pytest.fixture
def world(store: Store, kept_database: Path, world_database: tuple[Path, World]) -> World:
    """A club with six pilots checked in at an open meet with four tokens."""
    source, world = world_database
    lay(source, store, kept_database)
    return deepcopy(world)


@pytest.fixture(scope="session")
def routes_once() -> FastAPI:
    """An app without a state of its own: its routes are read once."""
    return routed_app()


@pytest.fixture
def app(store: Store, clock: Clock, routes_once: FastAPI) -> Iterator[FastAPI]:
    """The app over the same database, on the test's clock; searches behind its pages go on until they are proven."""
    settings = Settings(database_url=store.url, search_seconds=0)
    routes_once.state.meetapp = app_state(settings, clock, search_to_the_end(), no_copies)
    # A test that changes rows by itself stands for the same process.
    served = routes_once.state.meetapp.store
    served.close()
    served.kept, served._writer, served._write_lock = store.kept, store._writer, store._write_lock
    yield routes_once
    served.close()


@pytest.fixture
def surfer(app: FastAPI) -> Callable[[], Surfer]:
    """Makes people at browsers, each with their own cookies."""
    return lambda: Surfer(app)


@pytest.fixture
def organiser(world: World, store: Store, clock: Clock, surfer: Callable[[], Surfer]) -> Surfer:
    """The organiser, signed in."""
    person = surfer()
    session = access.sign_in_organiser(store, ORGANISER_PASSWORD, clock())
    person.carry_on(DESK_COOKIE, session.secret, "/organiser")
    return person


@pytest.fixture
def marshal(world: World, store: Store, clock: Clock, surfer: Callable[[], Surfer]) -> Surfer:
    """A marshal named Mo, signed in at the desk."""
    person = surfer()
    session = access.sign_in_marshal_by_pin(store, PIN, "Mo", clock())
    person.carry_on(DESK_COOKIE, session.secret, "/desk")
    return person
