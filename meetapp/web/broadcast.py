"""One look into the database for all open streams: after each commit, and every few seconds."""

import asyncio
import json
import logging
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import contextmanager

from starlette.concurrency import run_in_threadpool

from meetapp.flows.desk.live import LiveWords, Look

LOOK_S = 2.0
"""How often it looks without being told to: for the next minute, sessions that end, and other processes that write."""
BEAT_S = 5.0
"""How often a stream says that it is alive (static/live.js waits for it)."""
RETRY_MS = 2000
"""When a browser comes back after a stream was cut."""
SOON_MS, MINUTE_MS = 250, 4000
"""Over how long the pages spread their questions: when somebody did something, and when only a minute went by."""
MOST_STREAMS = 500
OVER = "event: over\ndata: {}\n\n"

_log = logging.getLogger(__name__)


class Broadcaster:
    """Lives in the loop of its first stream, from the first to the last; holds no thread and no connection between."""

    def __init__(
        self,
        look: Callable[[frozenset[int]], Look],
        subscribe: Callable[[Callable[[], None]], Callable[[], None]],
        look_s: float = LOOK_S,
        beat_s: float = BEAT_S,
    ) -> None:
        """`look` reads the words and which of these sessions are good; `subscribe`: see `Changes` of the store."""
        self._look_now = look
        self._subscribe = subscribe
        self._look_s = look_s
        self._beat_s = beat_s
        self._sessions: Counter[int | None] = Counter()
        self._is_stopped = False
        self._watcher: asyncio.Task[None] | None = None
        self._told: asyncio.Event
        self._turn: asyncio.Event
        self._words: LiveWords
        self._ended: frozenset[int] = frozenset()
        self._looks = 0

    @property
    def streams(self) -> int:
        """How many streams are open."""
        return self._sessions.total()

    @property
    def is_full(self) -> bool:
        """Whether one more would be too many: that page asks every few seconds instead."""
        return self.streams >= MOST_STREAMS

    async def follow(self, session_id: int | None) -> AsyncIterator[str]:
        """The messages of one stream: the words of now at once, then each change, and a sign of life in between.

        `session_id`: the stream ends when this session does. A message says how things stand, not what happened: so
        who was away needs the next one only, whatever was missed.
        """
        loop = asyncio.get_running_loop()
        yield f"retry: {RETRY_MS}\n\n"
        with self._joined(session_id):
            last: LiveWords | None = None
            sent_at, seen = 0.0, self._looks
            while await self._look_after(seen):
                seen = self._looks
                if session_id in self._ended:
                    yield OVER
                    return
                words = self._words
                if words != last or loop.time() - sent_at >= self._beat_s:
                    yield message(words, last)
                    last, sent_at = words, loop.time()

    def stop(self) -> None:
        """End every stream, now and from here on. Called in the loop."""
        self._is_stopped = True
        if self._watcher is not None:
            self._turn.set()

    @contextmanager
    def _joined(self, session_id: int | None) -> Iterator[None]:
        self._sessions[session_id] += 1
        if self._watcher is None:
            self._told, self._turn = asyncio.Event(), asyncio.Event()
            self._watcher = asyncio.get_running_loop().create_task(self._watch())
        self._told.set()
        try:
            yield
        finally:
            self._sessions[session_id] -= 1
            self._sessions += Counter()  # drops those that nobody follows any more
            if not self._sessions and self._watcher is not None:
                self._watcher.cancel()
                self._watcher = None

    async def _look_after(self, seen: int) -> bool:
        """Wait until more than `seen` looks were taken; False where there will be none."""
        while self._looks == seen and not self._is_stopped:
            await self._turn.wait()
        return not self._is_stopped

    async def _watch(self) -> None:
        loop, told = asyncio.get_running_loop(), self._told
        leave = self._subscribe(lambda: _set_in(loop, told))
        try:
            while True:
                told.clear()
                await self._look_once()
                try:
                    async with asyncio.timeout(self._look_s):
                        await told.wait()
                except TimeoutError:
                    pass
        finally:
            leave()

    async def _look_once(self) -> None:
        sessions = frozenset(each for each in self._sessions if each is not None)
        try:
            look = await run_in_threadpool(self._look_now, sessions)
        except Exception:
            # Silence is the truth then: pages say how old they are when no sign of life comes.
            _log.exception("live pages can't be told what is new")
            return
        self._words = look.words
        # Only those that were asked about: a stream that came meanwhile is in the next look.
        self._ended = sessions - look.sessions
        self._looks += 1
        turn, self._turn = self._turn, asyncio.Event()
        turn.set()


def _set_in(loop: asyncio.AbstractEventLoop, told: asyncio.Event) -> None:
    if not loop.is_closed():
        loop.call_soon_threadsafe(told.set)


def message(words: LiveWords, last: LiveWords | None = None) -> str:
    """One message of a stream; `last` is what the same stream said before."""
    return f"id: {words.meet}\ndata: {as_json(words, last)}\n\n"


def as_json(words: LiveWords, last: LiveWords | None = None) -> str:
    """The words for a page's script, and over how many milliseconds pages spread their questions."""
    only_a_minute = last is not None and last.happened == words.happened
    spread_ms = (MINUTE_MS if only_a_minute else SOON_MS) if last else 0
    return json.dumps({"meet": words.meet, "alarms": words.alarms, "spread_ms": spread_ms})
