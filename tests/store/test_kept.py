"""What is kept for the next page is never older than the newest commit, of this process or another."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from time import sleep

import pytest
from sqlalchemy import text, update
from sqlmodel import Session

from meetapp.flows.desk.desk import desk_view
from meetapp.flows.errors import Refused
from meetapp.flows.loans import loans
from meetapp.flows.loans.loans import HandOut
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.kept import MOST_KEPT, Kept, keep
from tests.acting import DESK, deed
from tests.world import NOON, World


class Readings:
    """Counts how often it was read."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self.count = 0

    def club_name(self) -> str:
        """The club's name as a page shows it."""
        with self.store.read() as session:

            def read() -> str:
                self.count += 1
                club = session.get(t.Club, 1)
                return club.name if club else ""

            return keep(session, "name", read)


@pytest.fixture
def readings(world: object, store: Store) -> Readings:
    return Readings(store)


def rename(store: Store, name: str, while_writing: Callable[[], None] = lambda: None) -> None:
    with store.write() as session:
        club = session.get_one(t.Club, 1)
        club.name = name
        session.add(club)
        session.commit()
        while_writing()


def test_the_second_page_reads_nothing(readings: Readings) -> None:
    assert readings.club_name() == readings.club_name() != ""
    assert readings.count == 1


def test_a_commit_is_seen_by_the_next_page(readings: Readings) -> None:
    readings.club_name()
    rename(readings.store, "Another")
    assert readings.club_name() == "Another"
    assert readings.club_name() == "Another"
    assert readings.count == 2


def test_what_is_read_while_a_commit_is_on_its_way_is_not_kept(readings: Readings) -> None:
    rename(readings.store, "Another", while_writing=lambda: readings.club_name() and None)
    readings.club_name()
    assert readings.count == 2


def test_a_page_that_began_before_a_commit_keeps_nothing_for_those_after_it(readings: Readings) -> None:
    with readings.store.read() as early:
        rename(readings.store, "Another")
        assert keep(early, "name", lambda: "old") == "old"
    assert readings.club_name() == "Another"


def test_who_writes_uses_what_is_kept_until_something_is_changed(readings: Readings) -> None:
    name = readings.club_name()

    def name_for(session: Session) -> str:
        return keep(session, "name", lambda: "read anew")

    with readings.store.write() as session:
        assert name_for(session) == name
        club = session.get_one(t.Club, 1)
        assert name_for(session) == name, "looking changes nothing"
        club.name = "Another"
        assert name_for(session) == "read anew", "not written yet, but changed"
        session.flush()
        assert name_for(session) == "read anew"
        session.commit()
    assert readings.club_name() == "Another", "what was read after a change is kept for nobody"
    with readings.store.write() as session:
        assert name_for(session) == "Another"


def test_a_bulk_change_counts_as_a_change(readings: Readings) -> None:
    name = readings.club_name()
    with readings.store.write() as session:
        session.execute(update(t.Club).values(name="Another"))
        assert keep(session, "name", lambda: "read anew") == "read anew"
    assert readings.club_name() == name


def test_what_is_read_before_a_change_is_kept_for_others_until_the_commit(readings: Readings) -> None:
    with readings.store.write() as session:
        assert keep(session, "name", lambda: "as it stands") == "as it stands"
        session.get_one(t.Club, 1).name = "Another"
        session.flush()
        assert readings.club_name() == "as it stands"
        session.commit()
    assert readings.club_name() == "Another"


def test_a_deed_sees_what_another_process_did_since_a_page_was_read(store: Store, world: World) -> None:
    orders = [HandOut(world.meet, world.pilots[who], world.tokens["R1"]) for who in ("Ana", "Bo")]
    desk_view(store, world.meet, NOON, DESK)
    other = Store(store.url)
    loans.hand_out(other, deed(), orders[0])
    other.close()
    with pytest.raises(Refused, match="Ana"):
        loans.hand_out(store, deed(), orders[1])


def test_what_another_process_wrote_is_seen_by_the_next_page(readings: Readings) -> None:
    readings.club_name()
    other = Store(readings.store.url)  # has a connection and a lock of its own, as another process has
    for name in ("Second", "Third"):
        rename(other, name)
        assert readings.club_name() == name
    rename(readings.store, "Fourth")
    rename(other, "Fifth")
    assert readings.club_name() == readings.club_name() == "Fifth"
    other.close()
    assert readings.count == 4, "and is kept from then on"


def test_a_write_that_is_rolled_back_changes_nothing(readings: Readings) -> None:
    name = readings.club_name()
    with readings.store.write() as session:
        session.get_one(t.Club, 1).name = "Never"
    assert readings.club_name() == name


def test_many_at_once_are_served_by_one_reading(readings: Readings) -> None:
    start, made = Barrier(8), []
    kept = Kept()

    def ask(_number: int) -> str:
        start.wait()
        return kept.get(0, "name", lambda: made.append(sleep(0.01)) or "read")  # type: ignore[func-returns-value]

    with ThreadPoolExecutor(8) as pool:
        assert set(pool.map(ask, range(8))) == {"read"}
    assert len(made) == 1


def test_a_reading_that_fails_is_tried_again() -> None:
    kept = Kept()
    with pytest.raises(ZeroDivisionError):
        kept.get(0, "name", lambda: 1 // 0)
    assert kept.get(0, "name", lambda: 7) == 7


def writes_to_the_club() -> dict[str, Callable[[Session], object]]:
    def by_attribute(session: Session) -> None:
        session.get_one(t.Club, 1).name = "Another"  # flushed by the commit only

    return {
        "by attribute": by_attribute,
        "in bulk": lambda session: session.execute(update(t.Club).values(name="Another")),
        "as text": lambda session: session.execute(text("UPDATE club SET name = 'Another'")),
    }


@pytest.mark.parametrize("way", writes_to_the_club())
def test_what_comes_from_other_tables_outlives_a_write(store: Store, world: World, way: str) -> None:
    read: list[str] = []

    def ask() -> None:
        with store.read() as session:
            for table in (t.Club, t.Site):
                keep(session, table, lambda table=table: read.append(table.__name__), of=(table,))  # type: ignore[misc]

    ask()
    with store.write() as session:
        writes_to_the_club()[way](session)
        session.commit()
    ask()
    others = [] if way == "as text" else ["Site"]  # a text doesn't say what it changes
    assert sorted(set(read[2:])) == sorted({"Club", "Site"} - set(others))


def test_so_many_are_kept_and_no_more() -> None:
    kept, made = Kept(), []
    for key in (*range(MOST_KEPT + 1), 0):
        kept.get(0, key, lambda key=key: made.append(key))  # type: ignore[misc]
    assert made[-1] == 0
