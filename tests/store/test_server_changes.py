"""What one process commits on PostgreSQL wakes who looks on in another, and a break in hearing is made good."""

import time
from collections.abc import Callable, Iterator
from threading import Semaphore

import pytest
from sqlalchemy import text

from meetapp.store import server_changes
from meetapp.store import tables as t
from meetapp.store.engine import Store

pytestmark = pytest.mark.postgres
PATIENCE_S = 60.0
LISTENING = "SELECT pid FROM pg_stat_activity WHERE datname = current_database() AND query LIKE 'LISTEN%'"


class Ear:
    """Counts the times it is woken."""

    def __init__(self) -> None:
        self._woken = Semaphore(0)

    def wake(self) -> None:
        self._woken.release()

    def is_woken(self, within_s: float = PATIENCE_S) -> bool:
        return self._woken.acquire(timeout=within_s)


@pytest.fixture
def other(postgres_store: Store) -> Iterator[Store]:
    """The store of another process, which shares only the database."""
    store = Store(postgres_store.url)
    yield store
    store.close()


@pytest.fixture
def ear(other: Store) -> Iterator[Ear]:
    """Somebody who looks on in the other process, and hears already."""
    ear = Ear()
    leave = other.changes.subscribe(ear.wake)
    assert ear.is_woken()  # it looks once when it begins to hear
    yield ear
    leave()


def write(store: Store, name: str, *, is_kept: bool = True) -> None:
    with store.write() as session:
        session.add(t.BandProfile(name=name, source="a test"))
        session.flush()
        if is_kept:
            session.commit()


def listeners(store: Store) -> list[int]:
    with store.read() as session:
        return list(session.scalars(text(LISTENING)))


def until(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.02)


def test_a_commit_wakes_who_looks_on_in_another_process(postgres_store: Store, ear: Ear) -> None:
    for number in range(5):
        write(postgres_store, f"band {number}")
        assert ear.is_woken()
    assert not ear.is_woken(0.2)


def test_who_wrote_it_is_woken_once(other: Store, ear: Ear) -> None:
    write(other, "its own")
    assert ear.is_woken(0)
    assert not ear.is_woken(0.3)


def test_what_is_rolled_back_wakes_nobody(postgres_store: Store, ear: Ear) -> None:
    write(postgres_store, "never", is_kept=False)
    assert not ear.is_woken(0.3)


def test_after_a_break_it_looks_and_hears_again(
    postgres_store: Store, ear: Ear, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(server_changes, "AGAIN_S", 0.05)
    [cut] = listeners(postgres_store)
    with postgres_store.read() as session:
        session.execute(text("SELECT pg_terminate_backend(:pid)"), {"pid": cut})
    assert ear.is_woken()  # whatever happened in between
    write(postgres_store, "after the break")
    assert ear.is_woken()
    assert "not told of what other processes write, trying again" in caplog.text
    assert listeners(postgres_store) != [cut]


def test_nobody_listens_where_nobody_looks_on(postgres_store: Store, other: Store) -> None:
    assert listeners(postgres_store) == []
    first, second = (other.changes.subscribe(Ear().wake) for _ in range(2))
    until(lambda: len(listeners(postgres_store)) == 1)
    first(), first()
    time.sleep(2 * server_changes.POLL_S)
    assert len(listeners(postgres_store)) == 1
    second()
    until(lambda: listeners(postgres_store) == [])
