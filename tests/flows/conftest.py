"""The desk of the test meet, on SQLite, or once on each database."""

import pytest

from meetapp.store.engine import Store
from tests.desk import Desk
from tests.world import Clock, World


@pytest.fixture
def desk(store: Store, world: World, clock: Clock) -> Desk:
    """Mo at the desk of the test meet."""
    return Desk(store, world, clock)


@pytest.fixture
def any_desk(any_world: tuple[Store, World], clock: Clock) -> Desk:
    """The same, once on SQLite and once on PostgreSQL."""
    store, world = any_world
    return Desk(store, world, clock)
