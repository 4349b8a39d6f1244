"""Searches behind pages: one job for a question, few at once, given up when nobody asks, ended at the limit."""

from collections.abc import Callable, Iterator
from threading import Event

import pytest

from meetapp.flows.planning.choosing.search_jobs import KEPT, QUIET_S, Progress, SearchJobs, Watch, search_to_the_end

Run = Callable[[], None]


class Seconds:
    """A clock that stands still until it is moved on."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


class Aside:
    """Keeps the jobs that were started, to be run when a test says so."""

    def __init__(self) -> None:
        self.started: list[Run] = []

    def __call__(self, run: Run) -> None:
        self.started.append(run)

    def run_next(self) -> None:
        self.started.pop(0)()


@pytest.fixture
def seconds() -> Seconds:
    return Seconds()


@pytest.fixture
def aside() -> Aside:
    return Aside()


@pytest.fixture
def jobs(seconds: Seconds, aside: Aside) -> SearchJobs:
    return SearchJobs(seconds, aside, rest=lambda: None, at_once=2, limit_s=60)


def counting(to: int) -> Callable[[Watch], Iterator[int]]:
    """Work that says 1, 2, 3 ... until it is through or told to end."""

    def work(watch: Watch) -> Iterator[int]:
        is_over = watch.over_after(1000)
        for number in range(1, to + 1):
            yield number
            if is_over():
                return

    return work


def test_a_question_has_one_job_whoever_asks(jobs: SearchJobs, aside: Aside) -> None:
    assert jobs.ask("six", counting(3)) == Progress("running", None, 0, 60)
    assert jobs.ask("six", counting(99)) == Progress("running", None, 0, 60)
    assert len(aside.started) == 1
    aside.run_next()
    assert jobs.ask("six", counting(99)) == Progress("done", 3, 0, 60)
    assert aside.started == []


def test_no_more_than_two_run_and_the_next_one_starts_when_one_ends(jobs: SearchJobs, aside: Aside) -> None:
    for name in ("a", "b", "c"):
        jobs.ask(name, counting(1))
    assert len(aside.started) == 2
    assert jobs.ask("c", counting(1)).state == "waiting"
    aside.run_next()
    assert len(aside.started) == 2
    assert jobs.ask("c", counting(1)).state == "running"


def test_while_it_runs_it_tells_what_it_has(seconds: Seconds) -> None:
    seen: list[Progress[int]] = []
    jobs = SearchJobs(seconds, lambda run: run(), rest=lambda: None, limit_s=60)

    def work(watch: Watch) -> Iterator[int]:
        yield 7
        seconds.now += 5
        seen.append(jobs.ask("x", work))

    jobs.ask("x", work)
    assert seen == [Progress("running", 7, 5, 60)]


def test_at_the_limit_it_ends_with_what_it_has(jobs: SearchJobs, seconds: Seconds, aside: Aside) -> None:
    def work(watch: Watch) -> Iterator[int]:
        is_over = watch.over_after(1000)
        number = 0
        while not is_over():
            number += 1
            seconds.now += 10
            jobs.ask("x", work)  # somebody keeps asking
            yield number

    jobs.ask("x", work)
    aside.run_next()
    assert jobs.ask("x", work) == Progress("done", 6, 60, 60)


def test_a_job_that_nobody_asks_for_is_given_up_and_begun_anew(
    jobs: SearchJobs, seconds: Seconds, aside: Aside
) -> None:
    jobs.ask("x", counting(10))
    seconds.now += QUIET_S + 1
    aside.run_next()
    # It stopped after its first number, and that is not passed off as all there is.
    assert jobs.ask("x", counting(10)) == Progress("running", None, 0, 60)
    aside.run_next()
    assert jobs.ask("x", counting(10)).latest == 10


def test_one_that_waits_and_is_not_asked_for_is_forgotten(jobs: SearchJobs, seconds: Seconds, aside: Aside) -> None:
    for name in ("a", "b", "left"):
        jobs.ask(name, counting(1))
    seconds.now += QUIET_S + 1
    jobs.ask("a", counting(1))
    aside.run_next()
    assert len(aside.started) == 1  # only b is left, "left" was not started


def test_a_slice_of_time_ends_by_itself(seconds: Seconds) -> None:
    is_over = Watch(seconds, lambda: False, lambda: None).over_after(3)
    assert not is_over()
    seconds.now += 3
    assert is_over()


def test_what_broke_is_told_once_and_tried_again(jobs: SearchJobs, aside: Aside) -> None:
    def broken(watch: Watch) -> Iterator[int]:
        yield 1
        raise LookupError("broken")

    jobs.ask("x", broken)
    aside.run_next()
    with pytest.raises(LookupError, match="broken"):
        jobs.ask("x", broken)
    assert jobs.ask("x", counting(2)).state == "running"
    aside.run_next()
    assert jobs.ask("x", counting(2)).latest == 2


def test_only_the_latest_answers_are_kept() -> None:
    jobs = search_to_the_end()
    done: list[int] = []

    def work(number: int) -> Callable[[Watch], Iterator[int]]:
        def once(watch: Watch) -> Iterator[int]:
            done.append(number)
            yield number

        return once

    for number in range(KEPT + 1):
        assert jobs.ask(number, work(number)) == Progress("done", number, 0, 120)
    jobs.ask(KEPT, work(KEPT))
    jobs.ask(0, work(0))
    assert done == [*range(KEPT + 1), 0]


def test_in_a_thread_the_one_who_asks_waits_for_the_end() -> None:
    may_end = Event()

    def work(watch: Watch) -> Iterator[str]:
        yield "begun"
        may_end.wait()
        yield "done"

    jobs = SearchJobs()
    assert jobs.ask("x", work).state == "running"
    may_end.set()
    # However slow the machine is: it waits until the job is done, up to a time that no test gets near.
    assert jobs.ask("x", work, patience_s=600).latest == "done"
