"""Phones at one meet, each acting as soon as it was answered: what they asked and were answered, with the times."""

import asyncio
import random
import re
import time
import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from meetapp.store.engine import Store
from tests.bench.load.wire import Phone, Reply
from tests.history import meaning
from tests.world import PIN

AGAIN = 0.6
"""How often a tap is sent again that wasn't answered because the server was gone."""
TWICE = 0.08
"""How often a tap is sent twice at the same moment, as a part of all."""


Fields = dict[str, str | list[str]]


class Lost(Exception):
    """No answer came: the server is gone. `again`: what to send again, with the path."""

    def __init__(self, again: "Again | None" = None) -> None:
        super().__init__()
        self.again = again


@dataclass(frozen=True)
class Again:
    """A tap that was not answered."""

    record: "Recorded"
    path: str
    sent: Fields


@dataclass
class Recorded:
    """One request. `reply` None: none came."""

    who: str
    kind: str
    facts: dict[str, Any]
    key: str
    called: float
    answered: float | None = None
    reply: Reply | None = None
    is_sent_twice: bool = False


@dataclass
class Ground:
    """The meet that is acted on, ids by name, how much is to be done (`left`), what was recorded.

    `loans` (with `token_of`), `alarms`, `shared`: what pages showed lately, which may be old. `port`: where the server
    is while it `is_up`.
    """

    store: Store
    meet_id: int
    pilots: Mapping[str, int]
    tokens: Mapping[str, int]
    heats: Mapping[str, int]
    seats: Mapping[str, tuple[str, ...]]
    left: int
    port: int = 0
    is_up: asyncio.Event = field(default_factory=asyncio.Event)
    loans: list[int] = field(default_factory=list)
    alarms: list[int] = field(default_factory=list)
    token_of: dict[int, str] = field(default_factory=dict)
    shared: list[str] = field(default_factory=list)
    records: list[Recorded] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def names(self) -> dict[str, str]:
        """Pilots by their ids in addresses."""
        return {str(pilot_id): name for name, pilot_id in self.pilots.items()}


@dataclass
class Person:
    """Somebody with a phone, and a second connection of the same browser for what is sent twice."""

    name: str
    phone: Phone
    ground: Ground
    dice: random.Random
    token: str = ""
    done: list[str] = field(default_factory=list)

    async def read_token(self, path: str) -> str:
        """Take the form token from a page; gives the page."""
        page = (await self._get(path)).body.decode()
        found = re.search(r'name="csrf_token" value="([^"]+)"', page)
        assert found, f"no form on {path}"
        self.token = found[1]
        return page

    async def tap(self, kind: str, path: str, facts: dict[str, Any], **fields: Any) -> Reply:
        """Send a form, now and then twice at once."""
        sent: Fields = {"csrf_token": self.token, "operation_key": str(uuid.uuid4())}
        sent |= {name: value if isinstance(value, list) else str(value) for name, value in fields.items()}
        if self.dice.random() >= TWICE:
            return await self._send(self.phone, kind, path, facts, sent)
        other = Phone(self.phone.port, dict(self.phone.cookies))
        both = [self._send(phone, kind, path, facts, sent, is_twice=True) for phone in (self.phone, other)]
        replies = await asyncio.gather(*both, return_exceptions=True)
        other.hang_up()
        for reply in replies:
            if isinstance(reply, BaseException):
                raise reply
        return replies[0]  # type: ignore[return-value]

    async def _send(
        self, phone: Phone, kind: str, path: str, facts: dict[str, Any], sent: Fields, *, is_twice: bool = False
    ) -> Reply:
        record = Recorded(self.name, kind, facts, str(sent["operation_key"]), time.monotonic(), is_sent_twice=is_twice)
        self.ground.records.append(record)
        try:
            reply = await phone.post(path, sent)
        except (OSError, EOFError) as error:
            raise Lost(Again(record, path, sent)) from error
        record.answered, record.reply = time.monotonic(), reply
        if reply.status == 303 and not is_twice:
            await self._go_on(kind, record.key, reply)
        return reply

    async def _go_on(self, kind: str, key: str, reply: Reply) -> None:
        self.done.append(key)
        if made := re.search(r"/desk/loans/(\d+)\?", reply.header("location")):
            self.ground.loans.append(int(made[1]))
        if self.dice.random() < 0.05:
            shown = meaning.notice_on((await self._get(reply.header("location"))).body.decode())
            if meaning.done(kind, shown)[0] == "?":
                self.ground.faults.append(f"{self.name}'s {kind} was done, and the next page says '{shown}'")

    async def find_the_server(self, lost: Lost) -> None:
        """Wait until a server is there, and send again what wasn't answered, as phones do; not always, as people do."""
        await self.ground.is_up.wait()
        self.phone.hang_up()
        self.phone.port = self.ground.port
        if lost.again is not None and self.dice.random() < AGAIN:
            lost.again.record.is_sent_twice = True
            record, path, sent = lost.again.record, lost.again.path, lost.again.sent
            await self._send(self.phone, record.kind, path, record.facts, sent, is_twice=True)

    async def _get(self, path: str) -> Reply:
        try:
            return await self.phone.get(path)
        except (OSError, EOFError) as error:
            raise Lost from error

    async def look(self, kind: str) -> str:
        """Look at the desk, the board or one's own page; gives the page. What it says of alarms is read apart."""
        called, path = time.monotonic(), "/my" if kind == "offers" else f"/{kind}"
        reply = await self._get(path)
        facts = {"pilot": self.name} if kind == "offers" else {}
        for each, known in ((kind, facts), ("alarms", {})):
            key = str(uuid.uuid4())
            self.ground.records.append(Recorded(self.name, each, known, key, called, time.monotonic(), reply))
        page = reply.body.decode()
        self.ground.alarms[:] = [*self.ground.alarms, *meaning.alarm_ids(page)][-4:]
        if kind == "desk":
            seen = meaning.seen_on_desk(page, self.ground.names)
            self.ground.token_of |= {loan_id: token for loan_id, token, _who in seen[1]}
            self.ground.loans[:] = [*self.ground.loans[-4:], *(loan_id for loan_id, _token, _who in seen[1])]
        return page


async def marshal(name: str, ground: Ground, seed: int) -> Person:
    """Somebody at the desk."""
    person = Person(name, Phone(ground.port), ground, random.Random(f"{seed} {name}"))
    await person.read_token("/desk/join")
    fields = {"csrf_token": person.token, "operation_key": str(uuid.uuid4()), "pin": PIN, "name": name}
    assert (await person.phone.post("/desk/join", fields | {"next": "/desk"})).status == 303
    return person


async def pilot(name: str, ground: Ground, seed: int, secret: str) -> Person:
    """A pilot with their own page."""
    person = Person(name, Phone(ground.port), ground, random.Random(f"{seed} {name}"))
    await person.read_token(f"/my/{secret}")
    return person


async def watcher(name: str, ground: Ground) -> Person:
    """Somebody who only looks."""
    return Person(name, Phone(ground.port), ground, random.Random(name))
