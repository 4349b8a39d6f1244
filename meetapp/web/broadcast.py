"""One look into the database for all open streams: after each commit, and every few seconds."""

import asyncio
import json
import logging
from collections import Counter
from collections.abc import AsyncIterator, Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass

from starlette.concurrency import run_in_threadpool

from meetapp.flows.desk.live import LiveWords
from meetapp.flows.giving_way import PATIENCE_S, deeds
from meetapp.web.own_part import OwnPart

LOOK_S = 2.0
"""How often it looks without being told to: for the next minute, sessions that end, and other processes that write."""
ANSWER_FIRST_S = 0.02
"""How long it waits after a commit: whoever acted is answered before all are told, and two commits make one look."""
BEAT_S = 5.0
"""How often a stream says that it is alive (static/live.js waits for it)."""
RETRY_MS = 2000
"""When a browser comes back after a stream was cut."""
SOON_MS, MINUTE_MS = 250, 4000
"""Over how long the pages spread their questions: when somebody did something, and when only a minute went by."""
MOST_STREAMS = 500
TOLD_AT_ONCE = 8
"""How many streams are told before the loop turns to other things: whoever acts meanwhile waits for so many at most."""
GONE = "gone"
"""The word for the own page of a pilot who was retired: asked for, it says so."""
OVER = "event: over\ndata: {}\n\n"

_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Told:
    """What one look found: the words, which sessions are good, and the own parts of the pilots asked about."""

    words: LiveWords
    sessions: frozenset[int]
    parts: Mapping[int, OwnPart | None]


@dataclass(frozen=True, slots=True)
class OwnPage:
    """A pilot's own page at the end of a stream. `shows`: the word of what it shows, `dress`: a part for this phone."""

    pilot_id: int
    shows: str
    dress: Callable[[OwnPart], str]


class Broadcaster:
    """Lives in the loop of its first stream, from the first to the last; holds no thread and no connection between."""

    def __init__(
        self,
        look: Callable[[frozenset[int], frozenset[int]], Told],
        subscribe: Callable[[Callable[[], None]], Callable[[], None]],
        look_s: float = LOOK_S,
        beat_s: float = BEAT_S,
    ) -> None:
        """`look`: how things stand for these sessions and these pilots' own pages; `subscribe`: see the store's
        `Changes`.
        """
        self._look_now = look
        self._subscribe = subscribe
        self._look_s = look_s
        self._beat_s = beat_s
        self._sessions: Counter[int | None] = Counter()
        self._pilots: Counter[int] = Counter()
        self._is_stopped = False
        self._watcher: asyncio.Task[None] | None = None
        self._told: asyncio.Event
        self._waiting: list[asyncio.Future[None]] = []
        self._words: LiveWords
        self._parts: Mapping[int, OwnPart | None] = {}
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

    async def follow(self, session_id: int | None, own: OwnPage | None = None) -> AsyncIterator[str]:
        """The messages of one stream: how things stand at once, then each change, and a sign of life in between.

        `session_id`: the stream ends when this session does. `own`: the page at its end is that pilot's; what has
        changed on it comes with the message. A message says how things stand, not what happened: so who was away needs
        the next one only, whatever was missed.
        """
        loop = asyncio.get_running_loop()
        yield f"retry: {RETRY_MS}\n\n"
        with self._joined(session_id, own):
            last: LiveWords | None = None
            sent_at, seen, shows = 0.0, self._looks, own.shows if own else ""
            while await self._look_after(seen):
                seen = self._looks
                if session_id in self._ended:
                    yield OVER
                    return
                if own and own.pilot_id not in self._parts:
                    continue  # it came while that look was taken: the next one is on its way
                words, part = self._words, self._parts[own.pilot_id] if own else None
                is_news = part is not None and part.word != shows
                if is_news or words != last or loop.time() - sent_at >= self._beat_s:
                    yield f"id: {words.meet}\ndata: {as_json(words, last, own, shows, part)}\n\n"
                    last, sent_at = words, loop.time()
                    shows = part.word if part else shows

    def stop(self) -> None:
        """End every stream, now and from here on. Called in the loop."""
        self._is_stopped = True
        for each in self._waiting:
            _wake(each)

    @contextmanager
    def _joined(self, session_id: int | None, own: OwnPage | None) -> Iterator[None]:
        pilots = [own.pilot_id] if own else []
        self._sessions[session_id] += 1
        self._pilots.update(pilots)
        if self._watcher is None:
            self._told = asyncio.Event()
            self._watcher = asyncio.get_running_loop().create_task(self._watch())
        self._told.set()
        try:
            yield
        finally:
            # What is subtracted goes where nobody follows it any more.
            self._sessions -= Counter([session_id])
            self._pilots -= Counter(pilots)
            if not self._sessions and self._watcher is not None:
                self._watcher.cancel()
                self._watcher = None

    async def _look_after(self, seen: int) -> bool:
        """Wait until more than `seen` looks were taken; False where there will be none."""
        while self._looks == seen and not self._is_stopped:
            self._waiting.append(asyncio.get_running_loop().create_future())
            await self._waiting[-1]
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
                    await asyncio.sleep(ANSWER_FIRST_S)
                except TimeoutError:
                    pass
        finally:
            leave()

    async def _look_once(self) -> None:
        sessions = frozenset(each for each in self._sessions if each is not None)
        try:
            look = await run_in_threadpool(self._look_now, sessions, frozenset(self._pilots))
        except Exception:
            # Silence is the truth then: pages say how old they are when no sign of life comes.
            _log.exception("live pages can't be told what is new")
            return
        self._words, self._parts = look.words, look.parts
        # Only those that were asked about: a stream that came meanwhile is in the next look.
        self._ended = sessions - look.sessions
        self._looks += 1
        await self._tell()

    async def _tell(self) -> None:
        waiting, self._waiting = self._waiting, []
        patience_s = PATIENCE_S
        for at, each in enumerate(waiting, start=1):
            _wake(each)
            if at % TOLD_AT_ONCE == 0:
                await asyncio.sleep(0)
                patience_s = await deeds.let_pass_in_loop(patience_s)


def _wake(waiting: asyncio.Future[None]) -> None:
    if not waiting.done():
        waiting.set_result(None)


def _set_in(loop: asyncio.AbstractEventLoop, told: asyncio.Event) -> None:
    if not loop.is_closed():
        loop.call_soon_threadsafe(told.set)


def as_json(
    words: LiveWords,
    last: LiveWords | None = None,
    own: OwnPage | None = None,
    shows: str = "",
    part: OwnPart | None = None,
) -> str:
    """How things stand, for a page's script, and over how many milliseconds pages spread their questions.

    `last`: what the same stream said before. To an own page it says the word of its part too (`part` None: there is no
    such pilot any more), with the part itself where the page shows another one.
    """
    only_a_minute = last is not None and last.happened == words.happened
    spread_ms = (MINUTE_MS if only_a_minute else SOON_MS) if last else 0
    said: dict[str, object] = {"meet": words.meet, "alarms": words.alarms, "spread_ms": spread_ms}
    if own is not None:
        said["own"] = part.word if part else GONE
        if part and part.word != shows:
            said["part"] = own.dress(part)
    return json.dumps(said)
