"""The people of a load run: phones that follow a stream and ask for what is new, marshals at the desk."""

import asyncio
import json
import random
import re
import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from time import perf_counter
from typing import Any
from urllib.parse import urlsplit

from tests.bench.load.wire import Phone, Reply

OURS = ("csrf_token", "operation_key")
"""Hidden fields that each request makes anew."""
LOOKS_S = 0.2
"""How long a marshal looks at the page before a tap, at most."""


@dataclass(frozen=True, slots=True)
class Heard:
    """When a phone learned of something (seconds, perf_counter), and the newest journal line it then knew of."""

    at: float
    line: int


@dataclass
class LivePage:
    """A pilot's page lying open. It does what static/live.js does: a part that comes with the news is shown at once;
    where none comes though the word differs, the page asks for it a while later, one question at a time. A page that
    is told that what it shows is still true shows the newest line: nothing of it is to be seen there.
    """

    phone: Phone
    seen: str = ""
    told: list[Heard] = field(default_factory=list)
    shown: list[Heard] = field(default_factory=list)
    parts: int = 0
    asked: int = 0
    _task: asyncio.Task[None] | None = None

    async def follow(self) -> None:
        """Until cancelled."""
        reader = await self.phone.listen("/live/pilot?shows=" + self.seen)
        while line := await reader.readline():
            if line.startswith(b"data: "):
                self._hear(json.loads(line[6:]))

    def _hear(self, said: dict[str, Any]) -> None:
        self.told.append(Heard(perf_counter(), line_of(said["meet"])))
        if said["own"] != self.seen and "part" in said:
            self.seen = word_of(said["part"].encode())
            self.parts += 1
        if said["own"] == self.seen:
            self.shown.append(self.told[-1])
        elif self._task is None or self._task.done():
            self._task = asyncio.create_task(self._refresh(said["own"], said["spread_ms"] / 1000))

    async def _refresh(self, wanted: str, spread_s: float) -> None:
        await asyncio.sleep(random.random() * spread_s)
        line = self.told[-1].line
        self.asked += 1
        await self.show("/my/live?seen=" + self.seen)
        if self.seen == wanted:
            self.shown.append(Heard(perf_counter(), line))

    async def show(self, path: str) -> Reply:
        """Ask for the page or its live part, and remember what it shows."""
        reply = await self.phone.get(path, is_fragment="live" in path)
        assert reply.status in (200, 204), reply.status
        if reply.status == 200:
            self.seen = word_of(reply.body)
        return reply


def word_of(html: bytes) -> str:
    """The word of the own part in a page, or of that part alone."""
    found = re.search(rb'data-live="own" data-seen="([^"]+)"', html)
    assert found
    return found.group(1).decode()


def line_of(word: str) -> int:
    """The newest journal line behind a word of the live pages."""
    return int(word.split(".")[1])


@dataclass(frozen=True, slots=True)
class Action:
    """One tap: when it was sent and answered (seconds, perf_counter)."""

    sent: float
    answered: float

    @property
    def took(self) -> float:
        """Seconds from tap to answer."""
        return self.answered - self.sent


@dataclass
class Marshal:
    """Hands tokens out and takes them back, as the buttons of the desk do."""

    phone: Phone
    name: str
    actions: list[Action] = field(default_factory=list)
    refused: int = 0
    _token: str = ""

    async def join(self, secret: str) -> None:
        """Open the desk by its link."""
        path = f"/desk/join/{secret}"
        self._token = _form_token(await self.phone.get(path))
        reply = await self.phone.post(path, self._fields({"name": self.name}))
        assert reply.status == 303, reply.status

    def _fields(self, more: dict[str, str]) -> dict[str, str]:
        return {"csrf_token": self._token, "operation_key": str(uuid.uuid4()), **more}

    async def act(self, every_s: float, until: float, is_mine: int) -> None:
        """Press buttons of the desk until then. `is_mine`: 0 or 1, so that two marshals seldom want the same.

        People look before they tap, and two of them don't keep step: else every tap would meet the other's, or none.
        """
        dice = random.Random(is_mine)
        while perf_counter() < until:
            next_at = perf_counter() + every_s * dice.uniform(0.5, 1.5)
            desk = await self.phone.get("/desk")
            self._token = _form_token(desk)
            await asyncio.sleep(dice.uniform(0.05, LOOKS_S))
            await self._tap(_choice(desk.body.decode(), is_mine))
            await asyncio.sleep(max(0.0, next_at - perf_counter()))

    async def _tap(self, choice: "tuple[str, dict[str, str]] | None") -> None:
        if choice is None:
            self.refused += 1
            return
        path, fields = choice
        sent = perf_counter()
        reply = await self.phone.post(path, self._fields(fields))
        if reply.status == 303:
            self.actions.append(Action(sent, perf_counter()))
            target = urlsplit(reply.header("location"))
            await self.phone.get(f"{target.path}?{target.query}")
        else:
            self.refused += 1


_BUTTON = re.compile(
    r'<form[^>]*action="(/desk/(?:pilots/(\d+)/hand-out|loans/(\d+)/take-back|line/(\d+)/join))"[^>]*>(.*?)</form>',
    re.DOTALL,
)
_HIDDEN = re.compile(r'<input type="hidden" name="([^"]+)" value="([^"]*)"')
SHORT_LINE = 6


def _choice(desk: str, is_mine: int) -> tuple[str, dict[str, str]] | None:
    """What a marshal presses on this desk: somebody into a short line, else hand out, else take back."""
    buttons = [found for found in _BUTTON.finditer(desk) if int(next(filter(None, found.groups()[1:4]))) % 2 == is_mine]
    waiting = len(re.findall(r"/desk/line/\d+/leave", desk))
    order = ("/join", "/hand-out", "/take-back") if waiting < SHORT_LINE else ("/hand-out", "/take-back")
    for end in order:
        for found in buttons:
            if found.group(1).endswith(end):
                return found.group(1), dict(pair for pair in _HIDDEN.findall(found.group(5)) if pair[0] not in OURS)
    return None


def _form_token(reply: Reply) -> str:
    found = re.search(rb'name="csrf_token" value="([^"]+)"', reply.body)
    assert found
    return found.group(1).decode()


def last_to_know(pages: Sequence[LivePage], which: str, lines: Iterable[int]) -> dict[int, float]:
    """By journal line: when the last phone knew of it (seconds, perf_counter); a line that one never knew is left out.

    Cost: what every phone heard, once.
    """
    last: dict[int, float] = {}
    left = sorted(lines)
    for page in pages:
        heard: Iterator[Heard] = iter(getattr(page, which))
        now = next(heard, None)
        for place, line in enumerate(left):
            while now is not None and now.line < line:
                now = next(heard, None)
            if now is None:
                left = left[:place]
                break
            last[line] = max(last.get(line, now.at), now.at)
    return {line: last[line] for line in left if line in last}
