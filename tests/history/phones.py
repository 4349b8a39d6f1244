"""Phones at one meet, each acting as soon as it was answered: what they asked and were answered, with the times."""

import asyncio
import random
import re
import time
import uuid
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sqlmodel import Session, col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.bench.load.wire import Phone, Reply
from tests.history import meaning
from tests.history.order import Answer, Op
from tests.world import PIN

TWICE = 0.08
"""How often a tap is sent twice at the same moment, as a part of all."""
Fields = dict[str, str | list[str]]


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

    `loans`: the ids that pages showed lately, which may be old.
    """

    store: Store
    meet_id: int
    pilots: Mapping[str, int]
    tokens: Mapping[str, int]
    heats: Mapping[str, int]
    seats: Mapping[str, tuple[str, ...]]
    left: int
    loans: list[int] = field(default_factory=list)
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
        page = (await self.phone.get(path)).body.decode()
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
        replies = await asyncio.gather(*both)
        other.hang_up()
        return replies[0]

    async def _send(
        self, phone: Phone, kind: str, path: str, facts: dict[str, Any], sent: Fields, *, is_twice: bool = False
    ) -> Reply:
        record = Recorded(self.name, kind, facts, str(sent["operation_key"]), time.monotonic(), is_sent_twice=is_twice)
        self.ground.records.append(record)
        reply = await phone.post(path, sent)
        record.answered, record.reply = time.monotonic(), reply
        if reply.status == 303 and not is_twice:
            await self._go_on(kind, record.key, reply)
        return reply

    async def _go_on(self, kind: str, key: str, reply: Reply) -> None:
        self.done.append(key)
        if made := re.search(r"/desk/loans/(\d+)\?", reply.header("location")):
            self.ground.loans.append(int(made[1]))
        if self.dice.random() < 0.05:
            shown = meaning.notice_on((await self.phone.get(reply.header("location"))).body.decode())
            if meaning.done(kind, shown)[0] == "?":
                self.ground.faults.append(f"{self.name}'s {kind} was done, and the next page says '{shown}'")

    async def look(self, kind: str) -> str:
        """Look at the desk or the board; gives the page."""
        record = Recorded(self.name, kind, {}, str(uuid.uuid4()), time.monotonic())
        self.ground.records.append(record)
        record.reply = await self.phone.get(f"/{kind}")
        record.answered = time.monotonic()
        page = record.reply.body.decode()
        if kind == "desk":
            seen = meaning.seen_on_desk(page, self.ground.names)
            self.ground.loans[:] = [*self.ground.loans[-4:], *(loan_id for loan_id, _token, _who in seen[1])]
        return page


async def marshal(name: str, port: int, ground: Ground, seed: int) -> Person:
    """Somebody at the desk."""
    person = Person(name, Phone(port), ground, random.Random(f"{seed} {name}"))
    await person.read_token("/desk/join")
    fields = {"csrf_token": person.token, "operation_key": str(uuid.uuid4()), "pin": PIN, "name": name}
    assert (await person.phone.post("/desk/join", fields | {"next": "/desk"})).status == 303
    return person


async def pilot(name: str, port: int, ground: Ground, seed: int, secret: str) -> Person:
    """A pilot with their own page."""
    person = Person(name, Phone(port), ground, random.Random(f"{seed} {name}"))
    await person.read_token(f"/my/{secret}")
    return person


async def watcher(name: str, port: int, ground: Ground) -> Person:
    """Somebody who only looks."""
    return Person(name, Phone(port), ground, random.Random(name))


async def act_at_the_desk(person: Person) -> None:
    """One thing that a marshal does, by chance."""
    ground, dice = person.ground, person.dice
    deeds, weights = zip(*_AT_THE_DESK.items(), strict=True)
    await dice.choices(deeds, weights)[0](person, ground, dice)


async def act_as_pilot(person: Person) -> None:
    """One thing that a pilot does."""
    kind, path = person.dice.choice((("join", "join"), ("join", "join"), ("leave", "leave"), ("not ready", "not-ready"),
                                     ("ready", "ready")))  # fmt: skip
    await person.tap(kind, f"/my/line/{path}", {"pilot": person.name})
    await asyncio.sleep(person.dice.uniform(0, 0.5))


async def look_at_the_board(person: Person) -> None:
    """What somebody does who has a phone and no part in it."""
    await person.look("board")
    await asyncio.sleep(1)


async def _hand_out(person: Person, ground: Ground, dice: random.Random) -> None:
    who, token = dice.choice(sorted(ground.pilots)), dice.choice(sorted(ground.tokens))
    path = f"/desk/pilots/{ground.pilots[who]}/hand-out"
    await person.tap("hand out", path, {"pilot": who, "token": token}, token_id=ground.tokens[token])


async def _hand_out_next(person: Person, ground: Ground, dice: random.Random) -> None:
    """What the desk proposes, as it stood a moment ago."""
    page = await person.look("desk")
    form = re.search(r'/desk/pilots/(\d+)/hand-out".*?name="token_id" value="(\d+)"', page, re.S)
    if form is not None:
        label = next(label for label, token_id in ground.tokens.items() if token_id == int(form[2]))
        facts = {"pilot": ground.names[form[1]], "token": label}
        await person.tap("hand out", f"/desk/pilots/{form[1]}/hand-out", facts, token_id=form[2])


async def _take_back(person: Person, ground: Ground, dice: random.Random) -> None:
    if ground.loans:
        loan_id = dice.choice(ground.loans[-8:])
        await person.tap("take back", f"/desk/loans/{loan_id}/take-back", {"loan": loan_id})


async def _line(person: Person, ground: Ground, dice: random.Random) -> None:
    who = dice.choice(sorted(ground.pilots))
    kind = dice.choice(["join", "join", "join", "leave", "not ready", "ready"])
    await person.tap(kind, f"/desk/line/{ground.pilots[who]}/{kind.replace(' ', '-')}", {"pilot": who})


async def _token(person: Person, ground: Ground, dice: random.Random) -> None:
    label, kind = dice.choice(sorted(ground.tokens)), dice.choice(["missing", "found", "found", "found"])
    await person.tap(kind, f"/desk/tokens/{ground.tokens[label]}/{kind}", {"token": label})


async def _call(person: Person, ground: Ground, dice: random.Random) -> None:
    """The next heat, as the page of heats showed it."""
    page = await person.read_token("/desk/heats")
    heat = re.search(r'name="heat_id" value="(\d+)"', page)
    landing = re.search(r'name="landing_id" value="(\d+)"', page)
    drawn = re.findall(r'name="drawn" value="(\d+)"', page)
    if heat is None:
        return
    names = {heat_id: name for name, heat_id in ground.heats.items()}
    facts = {
        "heat": names[int(heat[1])],
        "landing": names[int(landing[1])] if landing else None,
        "drawn": frozenset(int(each) for each in drawn),
    }
    fields = {"heat_id": heat[1], "then": "next"} | ({"landing_id": landing[1]} if landing else {})
    await person.tap("call", "/desk/heats/next", facts, drawn=drawn, **fields)


async def _call_off(person: Person, ground: Ground, dice: random.Random) -> None:
    heat = dice.choice(sorted(ground.heats))
    await person.tap("call off", f"/desk/heats/{ground.heats[heat]}/call-off", {"heat": heat})


async def _broken(person: Person, ground: Ground, dice: random.Random) -> None:
    heat = dice.choice(sorted(ground.heats))
    who = dice.choice(ground.seats[heat])
    path = f"/desk/heats/{ground.heats[heat]}/seats/{ground.pilots[who]}/missing"
    await person.tap("broken", path, {"heat": heat, "pilot": who}, why="broken")


async def _undo(person: Person, ground: Ground, dice: random.Random) -> None:
    """One's own last, now and then somebody else's or an older one."""
    if not person.done:
        return
    key = person.done[-1] if dice.random() < 0.7 else dice.choice(person.done[-4:])
    with ground.store.read() as session:
        operation = session.get(t.Operation, key)
        line_id = operation.answer["undo_id"] if operation is not None else None
    if line_id is not None:
        await person.tap("undo", f"/undo/{line_id}", {"of": key})


async def _look(person: Person, ground: Ground, dice: random.Random) -> None:
    await person.look(dice.choice(["desk", "desk", "board"]))


_AT_THE_DESK: dict[Callable[[Person, Ground, random.Random], Awaitable[None]], int] = {
    _hand_out: 24, _hand_out_next: 3, _take_back: 20, _line: 16, _token: 9, _call: 4, _call_off: 4, _broken: 1,
    _undo: 12, _look: 5,
}  # fmt: skip


async def act(people: list[tuple[Person, Callable[[Person], Awaitable[object]]]], ground: Ground) -> None:
    """Everybody acts until as much as asked was done; then each looks once more."""

    async def go_on(person: Person, step: Callable[[Person], Awaitable[object]]) -> None:
        while len(ground.records) < ground.left:
            await step(person)

    await asyncio.gather(*(go_on(person, step) for person, step in people))
    for person, step in people:
        await person.look("desk" if step is act_at_the_desk else "board")
        person.phone.hang_up()


def as_ops(ground: Ground) -> tuple[list[Op], dict[str, int]]:
    """The history for the model, and each key's place in the order of the journal."""
    with ground.store.read() as session:
        answers = {row.key: row.answer for row in session.exec(select(t.Operation))}
        made = _loans_made(session, ground.meet_id)
        undone = dict(session.exec(select(t.JournalLine.undoes_id, t.JournalLine.id)).all())
    lines = {key: answer["undo_id"] for key, answer in answers.items() if answer["undo_id"] is not None}
    lines |= {
        record.key: undone[lines[record.facts["of"]]]
        for record in ground.records
        if record.kind == "undo" and record.key in answers
    }
    ops = [
        Op(
            number=number,
            who=record.who,
            kind=record.kind,
            facts=record.facts,
            key=record.key,
            called=record.called,
            answered=record.answered,
            answer=_answer(record, answers.get(record.key), ground),
            made=made.get(lines.get(record.key, 0), {}),
            is_sent_twice=record.is_sent_twice,
        )
        for number, record in enumerate(ground.records)
    ]
    return ops, lines


def _answer(record: Recorded, kept: Mapping[str, Any] | None, ground: Ground) -> Answer | None:
    """What was answered. The sentence of a deed that was done is what the next page reads from the kept answer."""
    if record.reply is None:
        return None
    page = record.reply.body.decode()
    if record.kind == "desk":
        return meaning.seen_on_desk(page, ground.names)
    if record.kind == "board":
        return meaning.seen_on_board(page)
    if record.reply.status == 303:
        return meaning.done(record.kind, kept["notice"]) if kept else ("done, and lost",)
    if record.reply.status in (409, 422):
        return meaning.refused(record.kind, page)
    return ("status", record.reply.status)


def _loans_made(session: Session, meet_id: int) -> dict[int, dict[str, int]]:
    """The loans that each line made, by the labels of their tokens; those of a heat are told by the lines after it."""
    labels = {token.id: token.label for token in session.exec(select(t.Token))}
    made: dict[int, dict[str, int]] = {}
    of = 0
    lines = select(t.JournalLine).where(t.JournalLine.meet_id == meet_id).order_by(col(t.JournalLine.id))
    for line in session.exec(lines):
        of = line.id if line.is_undoable else of
        if line.kind in ("handed_out", "heat_token_out"):
            made.setdefault(of, {})[labels[line.facts["token"]]] = line.facts["loan"]
    return made
