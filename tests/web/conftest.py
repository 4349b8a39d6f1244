"""The club in the middle of its day, for tests that walk over every route."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from anyio.from_thread import start_blocking_portal
from fastapi.testclient import TestClient

from meetapp.store.engine import sqlite_url
from meetapp.store.moving import move
from tests.busy_club import BusyClub, ServedClub, make_busy_club, served_from_file
from tests.postgres import laid_like, new_database
from tests.world import World


@pytest.fixture(scope="session", autouse=True)
def one_loop() -> Iterator[None]:
    """One event loop for all requests: starting one for each takes as long as many an answer."""
    with start_blocking_portal() as portal, pytest.MonkeyPatch.context() as patch:
        patch.setattr(TestClient, "portal", portal)
        yield


@pytest.fixture(scope="session")
def club(world_database: tuple[Path, World], tmp_path_factory: pytest.TempPathFactory) -> BusyClub:
    """Its file, made once."""
    source, world = world_database
    return make_busy_club(source, world, tmp_path_factory.mktemp("busy") / "club.db")


@pytest.fixture(scope="session")
def served_club(club: BusyClub, tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedClub]:
    """The app over that file."""
    served = served_from_file(club, tmp_path_factory.mktemp("served"))
    yield served
    served.store.close()


@pytest.fixture(scope="session")
def served_from_server(club: BusyClub, postgres_server: str, postgres_with_tables: str) -> Iterator[ServedClub]:
    """The app over the same club on PostgreSQL."""
    with new_database(postgres_server, like=postgres_with_tables) as made:
        move(sqlite_url(club.file), made)
        url, put = laid_like(postgres_server, made)
        served = ServedClub(club, url, put)
        yield served
        served.store.close()
