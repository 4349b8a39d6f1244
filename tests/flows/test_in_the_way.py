"""Two writes that stand in each other's way on PostgreSQL: done once more, or told in a sentence; never a fault."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from sqlalchemy import text
from sqlmodel import select

from meetapp.flows.deeds import Answer, Work, do_once
from meetapp.flows.errors import Conflict
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.acting import deed, journal_kinds
from tests.world import World, make_world

pytestmark = pytest.mark.postgres


@pytest.fixture
def world(postgres_store: Store) -> World:
    return make_world(postgres_store)


def locked(work: Work, pilot_id: int) -> t.Pilot:
    return work.session.exec(select(t.Pilot).where(t.Pilot.id == pilot_id).with_for_update()).one()


def test_of_two_that_wait_for_each_other_both_get_done(postgres_store: Store, world: World) -> None:
    ana, bo = world.pilots["Ana"], world.pilots["Bo"]
    both_hold_one = Barrier(2)
    tries = {"Ana first": 0, "Bo first": 0}

    def crossing(name: str, first: int, second: int) -> Callable[[Work], Answer]:
        def work(work: Work) -> Answer:
            tries[name] += 1
            locked(work, first)
            if tries[name] == 1:
                both_hold_one.wait()
            locked(work, second).board_name = name
            work.note("pilot_changed", {"pilot": second})
            return Answer("/", name)

        return work

    works = [crossing("Ana first", ana, bo), crossing("Bo first", bo, ana)]
    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(lambda work: do_once(postgres_store, deed(), work), works))
    assert [answer.notice for answer in answers] == ["Ana first", "Bo first"]
    assert sorted(tries.values()) == [1, 2]
    assert journal_kinds(postgres_store) == ["pilot_changed"] * 2


def test_a_lock_that_is_held_too_long_is_told_in_a_sentence(postgres_store: Store, world: World) -> None:
    def impatient(work: Work) -> Answer:
        work.session.execute(text("SET LOCAL lock_timeout = 50"))
        return Answer("/", work.lock_meet(world.meet).name)

    with postgres_store.write() as session:
        session.exec(select(t.Meet).where(t.Meet.id == world.meet).with_for_update()).one()
        with pytest.raises(Conflict, match="busy for too long, so nothing was changed"):
            do_once(postgres_store, deed(), impatient)


def test_a_write_whose_connection_is_cut_is_done_once_more(postgres_store: Store, world: World) -> None:
    cut = []

    def work(work: Work) -> Answer:
        meet = work.lock_meet(world.meet)
        if not cut:
            cut.append(work.session.scalar(text("SELECT pg_backend_pid()")))
            with postgres_store.read() as other:
                other.execute(text("SELECT pg_terminate_backend(:pid)"), {"pid": cut[0]})
        meet.name = "kept"
        work.note("meet_changed", {}, meet_id=meet.id)
        return Answer("/", "done")

    assert do_once(postgres_store, deed(), work).notice == "done"
    assert journal_kinds(postgres_store) == ["meet_changed"]
