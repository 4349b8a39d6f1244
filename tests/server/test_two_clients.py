"""Two marshals with two real clients against a real server: one wins, the other gets the sentence."""

import os
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from threading import Barrier

import httpx
import pytest
from bs4 import BeautifulSoup
from sqlmodel import col, select

from meetapp.store import tables as t
from meetapp.store.engine import Store, sqlite_url
from tests.desk_load import form_token
from tests.quick_start import quick_server
from tests.running import Server
from tests.world import PIN, World

ROUNDS = int(os.environ.get("RACE_ROUNDS", "10"))


@dataclass
class Marshal:
    """One marshal's phone: a client with its own cookies and form token."""

    client: httpx.Client
    token: str = ""

    def join(self, name: str) -> None:
        self.token = form_token(self.client, "/desk/join")
        self.post("/desk/join", pin=PIN, name=name, next="/desk")

    def post(self, path: str, **fields: object) -> httpx.Response:
        data = {"csrf_token": self.token, "operation_key": str(uuid.uuid4())}
        return self.client.post(path, data=data | {name: str(value) for name, value in fields.items()})


@dataclass
class Running:
    """A server over the test club, two marshals, and the same database to look into."""

    server: Server
    store: Store
    world: World
    mo: Marshal
    lu: Marshal

    def at_once(self, *posts: tuple[Marshal, str, str]) -> list[httpx.Response]:
        """Hand tokens (by label) to pilots (by name) at the same moment."""
        start = Barrier(len(posts))

        def run(marshal: Marshal, who: str, label: str) -> httpx.Response:
            start.wait()
            path = f"/desk/pilots/{self.world.pilots[who]}/hand-out"
            return marshal.post(path, token_id=self.world.tokens[label])

        with ThreadPoolExecutor(len(posts)) as pool:
            return [each.result() for each in [pool.submit(run, *post) for post in posts]]

    def open_loans(self) -> list[t.Loan]:
        with self.store.read() as session:
            return list(session.exec(select(t.Loan).where(col(t.Loan.in_at).is_(None))))

    def kinds(self) -> list[str]:
        """What the journal of the meet says, in order."""
        with self.store.read() as session:
            lines = select(t.JournalLine).where(t.JournalLine.meet_id == self.world.meet)
            return [line.kind for line in session.exec(lines.order_by(col(t.JournalLine.id)))]


@pytest.fixture
def running(club_file: Path, served_world: tuple[Path, World]) -> Iterator[Running]:
    store, world = Store(sqlite_url(club_file)), served_world[1]
    with ExitStack() as open_ones:
        server = open_ones.enter_context(quick_server("serve", "--database", str(club_file)))
        mo, lu = (Marshal(open_ones.enter_context(httpx.Client(base_url=server.base, timeout=60))) for _ in range(2))
        mo.join("Mo")
        lu.join("Lu")
        yield Running(server, store, world, mo, lu)
    store.close()


def sentence(response: httpx.Response) -> str:
    return " ".join(BeautifulSoup(response.text, "html.parser").get_text(" ").split())


def test_the_same_token_at_the_same_moment_goes_to_exactly_one(running: Running) -> None:
    for _round in range(ROUNDS):
        answers = running.at_once((running.mo, "Ana", "R1"), (running.lu, "Bo", "R1"))
        won = [answer for answer in answers if answer.status_code == 303]
        lost = [answer for answer in answers if answer.status_code in (409, 422)]
        assert (len(won), len(lost)) == (1, 1), [answer.status_code for answer in answers]
        (loan,) = running.open_loans()
        winner = next(name for name, pilot in running.world.pilots.items() if pilot == loan.pilot_id)
        assert f"R1 is out with {winner} since" in sentence(lost[0])
        running.mo.post(f"/desk/loans/{loan.id}/take-back")
    assert running.kinds() == ["handed_out", "taken_back"] * ROUNDS


def test_two_tokens_that_together_break_a_floor_never_go_out_both(running: Running) -> None:
    with running.store.write() as session:
        meet = session.get_one(t.Meet, running.world.meet)
        meet.spacing_floor_mhz = 83  # R1 and F1 are 82 MHz apart
        session.commit()
    for _round in range(ROUNDS):
        answers = running.at_once((running.mo, "Ana", "R1"), (running.lu, "Bo", "F1"))
        assert sorted(answer.status_code for answer in answers) == [303, 422]
        (loan,) = running.open_loans()
        lost = next(answer for answer in answers if answer.status_code == 422)
        assert "the floor is 83" in sentence(lost)
        running.lu.post(f"/desk/loans/{loan.id}/take-back")
    assert running.kinds() == ["handed_out", "taken_back"] * ROUNDS


def test_a_tap_that_is_sent_twice_is_done_once_and_answered_alike(running: Running) -> None:
    path = f"/desk/pilots/{running.world.pilots['Ana']}/hand-out"
    fields = {"token_id": running.world.tokens["R1"], "operation_key": "the same key twice"}
    first, second = (running.mo.client.post(path, data={"csrf_token": running.mo.token, **fields}) for _ in range(2))
    assert first.status_code == second.status_code == 303
    assert first.headers["location"] == second.headers["location"]
    assert len(running.open_loans()) == 1
    assert running.kinds() == ["handed_out"]
