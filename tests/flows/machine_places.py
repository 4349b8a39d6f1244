"""Where the runs of any order of steps lie: a file or a database on a server, laid anew for each run."""

import atexit
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
from alembic import command
from hypothesis import HealthCheck, settings
from hypothesis.stateful import RuleBasedStateMachine, run_state_machine_as_test

from meetapp.config import data_folder
from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from meetapp.store.forward import alembic_config
from tests.kept import kept_engine
from tests.postgres import laid_like, new_database
from tests.world import World, add_pilot, make_club, open_meet

KINDS = {
    "Ana": "analogue 40",
    "Bo": "analogue tunable",
    "Cy": "analogue R",
    "Di": "digital wide",
    "Ed": "analogue 40",
}
TOKENS = {"R1": 5658, "R2": 5695, "F1": 5740, "R5": 5806, "R7": 5880}
SPACING, CLEARANCE = 37, 8
MIGRATIONS = data_folder("migrations")


@cache
def made_once() -> tuple[Path, World]:
    """A database file with the club and the open meet, to be copied for each run; gone when the tests are."""
    folder = tempfile.mkdtemp(prefix="meetapp-machine-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    path = Path(folder, "made.db")
    store = Store(sqlite_url(path))
    t.metadata.create_all(store.engine)
    config = alembic_config(MIGRATIONS)
    with store.engine.begin() as connection:
        config.attributes["connection"] = connection
        command.stamp(config, "head")
    world = make_meet(store)
    store.close()
    return path, world


def make_meet(store: Store) -> World:
    """The club and the open meet, in an empty database."""
    world = World()
    with store.write() as session:
        make_club(session, world)
        for name, kind in KINDS.items():
            add_pilot(session, world, name, kind)
        open_meet(session, world, TOKENS, spacing=SPACING, clearance=CLEARANCE)
        session.get_one(t.Meet, world.meet).head_limit_min = 10_000_000
        session.commit()
    return world


@dataclass(frozen=True)
class Place:
    """Where a run's database lies, what lays it there anew, and what it holds by name."""

    url: str
    put: Callable[[], object]
    world: World


def set_machine_zone(name: str | None) -> None:
    """The zone that this machine believes it is in; None: as it was told by nobody."""
    if name is None:
        os.environ.pop("TZ", None)
    else:
        os.environ["TZ"] = name
    time.tzset()


@pytest.fixture
def in_file(tmp_path: Path) -> Iterator[Place]:
    made, world = made_once()
    club = tmp_path / "club.db"

    def put() -> None:
        for each in tmp_path.iterdir():
            each.unlink()
        shutil.copy(made, club)

    with kept_engine(sqlite_url(club)):
        yield Place(sqlite_url(club), put, world)


@pytest.fixture
def on_server(postgres_server: str, postgres_with_tables: str) -> Iterator[Place]:
    with new_database(postgres_server, like=postgres_with_tables) as made:
        store = Store(made)
        world = make_meet(store)
        store.close()
        url, put = laid_like(postgres_server, made)
        with kept_engine(url):
            yield Place(url, put, world)


def run_any_order(make: Callable[[], RuleBasedStateMachine], *, steps: int, quick: int, deep: int) -> None:
    """Run a machine so many times, each of so many steps; with the deep profile as often as `deep`, twice as long."""
    is_deep = settings.get_current_profile_name() == "deep"
    run_state_machine_as_test(
        make,
        settings=settings(
            max_examples=deep if is_deep else quick,
            stateful_step_count=2 * steps if is_deep else steps,
            deadline=None,
            derandomize=not is_deep,
            suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
        ),
    )
