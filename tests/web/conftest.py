"""The club in the middle of its day, for tests that walk over every route."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.busy_club import BusyClub, ServedClub, make_busy_club
from tests.world import World


@pytest.fixture(scope="module")
def club(world_database: tuple[Path, World], tmp_path_factory: pytest.TempPathFactory) -> BusyClub:
    """Its file, made once."""
    source, world = world_database
    return make_busy_club(source, world, tmp_path_factory.mktemp("busy") / "club.db")


@pytest.fixture(scope="module")
def served_club(club: BusyClub, tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedClub]:
    """The app over that file."""
    served = ServedClub(club, tmp_path_factory.mktemp("served"))
    yield served
    served.store.close()
