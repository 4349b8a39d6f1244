"""Phones that act on one meet at once through HTTP, each tap kept with what was answered, so that it can be judged."""

import random
import threading
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass, field

import httpx
from bs4 import BeautifulSoup
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.world import PIN, World

PATIENCE_S = 60.0
Step = Callable[["Phone", random.Random], object]


def form_token(client: httpx.Client, path: str) -> str:
    """What the forms of a page are sent with."""
    page = BeautifulSoup(client.get(path).text, "html.parser")
    return str(page.find("input", {"name": "csrf_token"})["value"])  # type: ignore[index]


@dataclass
class Tap:
    """One changing request. `status` and `location` None: not answered. Times count from the machine's start."""

    path: str
    fields: dict[str, str]
    actor: str
    called_at: float = 0.0
    answered_at: float | None = None
    status: int | None = None
    location: str | None = None

    @property
    def key(self) -> str:
        """The operation key that it is sent with, however often."""
        return self.fields["operation_key"]


@dataclass
class Phone:
    """A client with cookies and a form token of its own, and every tap that it sent."""

    name: str
    client: httpx.Client
    token: str = ""
    taps: list[Tap] = field(default_factory=list)

    def read_token(self, path: str) -> None:
        """Take the form token from a page."""
        self.token = form_token(self.client, path)

    def tap(self, path: str, **fields: object) -> Tap:
        """Send a tap; cut off, it stays unanswered."""
        sent = {"csrf_token": self.token, "operation_key": str(uuid.uuid4())}
        tap = Tap(path, sent | {name: str(value) for name, value in fields.items()}, self.name, time.monotonic())
        self.taps.append(tap)
        self.send(tap)
        return tap

    def send(self, tap: Tap) -> httpx.Response | None:
        """Send it (again), and keep the first answer."""
        try:
            answer = self.client.post(tap.path, data=tap.fields)
        except httpx.TransportError:
            return None
        if tap.status is None:
            tap.answered_at = time.monotonic()
            tap.status, tap.location = answer.status_code, answer.headers.get("location")
        return answer


def marshal(name: str, base: str) -> Phone:
    """A phone at the desk."""
    phone = Phone(name, httpx.Client(base_url=base, timeout=PATIENCE_S))
    phone.read_token("/desk/join")
    phone.tap("/desk/join", pin=PIN, name=name, next="/desk")
    phone.taps.clear()
    return phone


def pilot(name: str, base: str) -> Phone:
    """The phone of somebody who isn't on the list yet."""
    phone = Phone(name, httpx.Client(base_url=base, timeout=PATIENCE_S))
    phone.read_token("/join/new")
    return phone


@dataclass
class Meet:
    """The meet that the phones act on, and its database to look ids up in."""

    store: Store
    world: World

    def open_loans(self) -> list[int]:
        """The loans that are out now."""
        with self.store.read() as session:
            loans = select(t.Loan.id).where(col(t.Loan.in_at).is_(None), col(t.Loan.voided_at).is_(None))
            return list(session.exec(loans))

    def alarms(self) -> list[int]:
        """The alarms that are on now."""
        with self.store.read() as session:
            return list(session.exec(select(t.Alarm.id).where(col(t.Alarm.ended_at).is_(None))))

    def undo_of(self, tap: Tap) -> int | None:
        """The journal line that the answer to a tap offers to undo."""
        with self.store.read() as session:
            done = session.get(t.Operation, tap.key)
            return done.answer["undo_id"] if done is not None else None


def act(phone: Phone, meet: Meet, dice: random.Random) -> Tap | None:
    """One tap of a marshal, by chance; None where there is nothing to do it to."""
    world = meet.world
    who = world.pilots[dice.choice(sorted(world.pilots))]
    token = world.tokens[dice.choice(sorted(world.tokens))]
    kind = dice.choice(["out", "out", "out", "back", "back", "line", "line", "undo", "state", "alarm", "report"])
    if kind == "out":
        return phone.tap(f"/desk/pilots/{who}/hand-out", token_id=token)
    if kind == "line":
        return phone.tap(f"/desk/line/{who}/{dice.choice(['join', 'join', 'leave', 'not-ready', 'ready'])}")
    if kind == "state":
        return phone.tap(f"/desk/tokens/{token}/{dice.choice(['missing', 'found', 'found'])}")
    if kind == "report":
        return phone.tap("/desk/reports/new", pilot_id=who, look="lines", place="flight")
    if kind == "alarm":
        alarms = meet.alarms()
        return phone.tap(f"/alarms/{alarms[0]}/over" if alarms else "/alarms/stray")
    if kind == "undo":
        lines = [tap for tap in phone.taps[-4:] if tap.status == 303 and "/undo/" not in tap.path]
        line_id = meet.undo_of(lines[-1]) if lines else None
        return phone.tap(f"/undo/{line_id}") if line_id is not None else None
    loans = meet.open_loans()
    return phone.tap(f"/desk/loans/{dice.choice(loans)}/take-back") if loans else None


def act_as_pilot(phone: Phone, dice: random.Random, kind_id: int) -> None:
    """A newcomer comes in with a phone and stands in the line, then leaves it and comes back."""
    if "/my" not in {tap.path[:3] for tap in phone.taps}:
        name = f"{phone.name} {dice.randrange(10**9)}"
        came = phone.tap("/join/new", name=name, kind_id=kind_id, is_here="yes")
        if came.location is None:
            return
        try:
            phone.client.get(came.location)
            phone.read_token("/my")
        except (httpx.TransportError, TypeError):
            return
    phone.tap(f"/my/line/{dice.choice(['join', 'leave'])}")


class Load:
    """Phones that tap in threads until they are stopped or cut off."""

    def __init__(self, meet: Meet, marshals: list[Phone], pilots: list[Phone], seed: int) -> None:
        self._is_over = threading.Event()
        self.answered = 0
        self.failed: list[BaseException] = []
        kind_id = meet.world.kinds["analogue 40"]
        steps: list[tuple[Phone, Step]] = [(phone, lambda p, d: act(p, meet, d)) for phone in marshals]
        steps += [(phone, lambda p, d: act_as_pilot(p, d, kind_id)) for phone in pilots]
        self._threads = [
            threading.Thread(target=self._run, args=(phone, step, random.Random(seed * 100 + number)))
            for number, (phone, step) in enumerate(steps)
        ]
        for thread in self._threads:
            thread.start()

    def _run(self, phone: Phone, step: Step, dice: random.Random) -> None:
        try:
            while not self._is_over.is_set():
                step(phone, dice)
                if phone.taps and phone.taps[-1].status is None:
                    return
                self.answered += 1
        except BaseException as error:
            self.failed.append(error)

    def wait_for(self, taps: int) -> None:
        """Wait until so many were answered since the beginning."""
        end = time.monotonic() + PATIENCE_S
        while self.answered < taps and self.goes_on() and time.monotonic() < end:
            time.sleep(0.002)

    def goes_on(self) -> bool:
        """Whether any phone still taps."""
        return not self.failed and any(thread.is_alive() for thread in self._threads)

    def stop(self) -> None:
        """Let each phone finish its tap; raise what went wrong in any of them."""
        self._is_over.set()
        for thread in self._threads:
            thread.join()
        if self.failed:
            raise self.failed[0]
