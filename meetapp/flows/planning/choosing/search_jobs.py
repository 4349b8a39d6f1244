"""Searches that outlive a request: each is worked on in a thread of its own while somebody keeps asking for it.

A job is known by its question, a value that holds all that the sums need. So whoever asks the same finds the same
job, an answer never grows old, and nothing is stored: a restart loses only the jobs, and the next ask starts them anew.
No transaction is open while one runs. There are few at once, the others wait their turn; each has a hard limit; and one
that nobody has asked for lately is given up. With several server processes each has jobs of its own.
"""

import time
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass
from threading import Condition, Thread
from typing import Any, Generic, Literal, TypeVar

from meetapp.spectrum.search import IsOver

T = TypeVar("T")
JobState = Literal["waiting", "running", "done"]

AT_ONCE = 2
LIMIT_S = 120
QUIET_S = 20
"""A page asks again every few seconds; one that hasn't for so long was left, or its phone has lost the network."""

KEPT = 32
REST_S = 0.001
"""A search in plain Python holds back the other threads: it steps aside so long, every few milliseconds."""


@dataclass(frozen=True, slots=True)
class Progress(Generic[T]):
    """How far a job is. `latest` None: it has nothing to say yet; `ran_s`: how long it has run, of `limit_s`."""

    state: JobState
    latest: T | None
    ran_s: float
    limit_s: float


class Watch:
    """What a job asks whether it should end."""

    def __init__(self, clock: Callable[[], float], is_unwanted: IsOver, rest: Callable[[], None]) -> None:
        self._clock, self._is_unwanted, self._rest = clock, is_unwanted, rest

    def over_after(self, seconds: float) -> IsOver:
        """A question that is answered with yes after so many seconds from now, or once nobody wants the job."""
        end = self._clock() + seconds

        def is_over() -> bool:
            self._rest()
            return self._is_unwanted() or self._clock() >= end

        return is_over


Work = Callable[[Watch], Iterator[T]]
"""The work of a job: ever better answers. It ends by itself once the watch says so."""


class _Job:
    def __init__(self, work: Work[Any], asked_at: float) -> None:
        self.work = work
        self.asked_at = asked_at
        self.started_at: float | None = None
        self.ended_at: float | None = None
        self.latest: Any = None
        self.error: Exception | None = None


def _in_thread(run: Callable[[], None]) -> None:
    Thread(target=run, name="search", daemon=True).start()


class SearchJobs:
    """The jobs of one server process. The clock counts seconds from anywhere; `start` runs a job, usually aside."""

    def __init__(
        self,
        clock: Callable[[], float] = time.monotonic,
        start: Callable[[Callable[[], None]], None] = _in_thread,
        rest: Callable[[], None] = lambda: time.sleep(REST_S),
        at_once: int = AT_ONCE,
        limit_s: float = LIMIT_S,
    ) -> None:
        self._clock, self._start, self._rest = clock, start, rest
        self._at_once, self._limit_s = at_once, limit_s
        self._jobs: dict[Hashable, _Job] = {}
        self._changed = Condition()

    def ask(self, key: Hashable, work: Work[T], patience_s: float = 0) -> Progress[T]:
        """How far the job of this question is; it is begun if there is none. Waits a while for its end.

        Raises whatever ended the job, once; the next ask begins it anew.
        """
        with self._changed:
            job = self._jobs.setdefault(key, _Job(work, self._clock()))
            job.asked_at = self._clock()
        self._start_waiting()
        with self._changed:
            self._changed.wait_for(lambda: job.ended_at is not None, timeout=patience_s)
            if job.error is not None:
                self._jobs.pop(key, None)
                raise job.error
            return self._progress(job)

    def _progress(self, job: _Job) -> Progress[Any]:
        if job.started_at is None:
            return Progress("waiting", None, 0, self._limit_s)
        now = self._clock() if job.ended_at is None else job.ended_at
        state: JobState = "running" if job.ended_at is None else "done"
        return Progress(state, job.latest, now - job.started_at, self._limit_s)

    def _start_waiting(self) -> None:
        """Start the jobs whose turn has come, and forget those that nobody waits for any more."""
        while (job := self._next_in_turn()) is not None:
            self._start(lambda job=job: self._run(job))  # type: ignore[misc]

    def _next_in_turn(self) -> _Job | None:
        with self._changed:
            for key in [key for key, job in self._jobs.items() if job.started_at is None and self._is_quiet(job)]:
                del self._jobs[key]
            if sum(job.started_at is not None and job.ended_at is None for job in self._jobs.values()) >= self._at_once:
                return None
            job = next((job for job in self._jobs.values() if job.started_at is None), None)
            if job is not None:
                job.started_at = self._clock()
            return job

    def _run(self, job: _Job) -> None:
        watch = Watch(self._clock, lambda: self._is_unwanted(job), self._rest)
        try:
            for latest in job.work(watch):
                job.latest = latest
        except Exception as error:  # told to whoever asks next
            job.error = error
        with self._changed:
            job.ended_at = self._clock()
            self._forget(job)
            self._changed.notify_all()
        self._start_waiting()

    def _forget(self, given_up: _Job) -> None:
        """Keep what was worked out, the latest asked for; but not what was given up half way."""
        if self._is_quiet(given_up):
            self._jobs = {key: job for key, job in self._jobs.items() if job is not given_up}
        ended = [(key, job) for key, job in self._jobs.items() if job.ended_at is not None]
        for key, _job in sorted(ended, key=lambda pair: pair[1].asked_at)[:-KEPT]:
            del self._jobs[key]

    def _is_unwanted(self, job: _Job) -> bool:
        assert job.started_at is not None
        return self._is_quiet(job) or self._clock() - job.started_at >= self._limit_s

    def _is_quiet(self, job: _Job) -> bool:
        return self._clock() - job.asked_at > QUIET_S


def search_to_the_end() -> SearchJobs:
    """Jobs that are done before `ask` answers, however long they take: for the demo and wherever nobody waits."""
    return SearchJobs(clock=lambda: 0, start=lambda run: run(), rest=lambda: None)
