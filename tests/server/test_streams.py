"""The stream of a live page, from a real server: what it says, when, and how it ends."""

import json
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
from bs4 import BeautifulSoup
from fastapi import FastAPI
from sqlmodel import select

from meetapp.config import Settings, data_folder
from meetapp.flows import access
from meetapp.main import create_app
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.forward import bring_file_forward
from meetapp.web import broadcast
from meetapp.web.security import PILOT_COOKIE
from tests.running import running, start_server
from tests.server.test_two_clients import Marshal
from tests.world import World, make_world

PATIENCE_S = 60.0


@dataclass
class Listener:
    """One open stream, read message by message."""

    lines: Iterator[str]

    def next(self) -> dict[str, str]:
        """The fields of the next message; {} once the stream has ended."""
        fields: dict[str, str] = {}
        for line in self.lines:
            if not line and fields:
                return fields
            name, _, value = line.partition(": ")
            fields[name] = value
        return {}

    def words(self) -> dict[str, object]:
        """The next message that says how things stand."""
        while (fields := self.next()) and "id" not in fields:
            pass
        said: dict[str, object] = json.loads(fields["data"])
        return said


@dataclass
class Club:
    """The test club on a real port, with a marshal signed in."""

    app: FastAPI
    base: str
    world: World
    mo: Marshal

    @property
    def store(self) -> Store:
        store: Store = self.app.state.meetapp.store
        return store

    @property
    def streams(self) -> int:
        count: int = self.app.state.meetapp.broadcaster.streams
        return count

    def hand_out(self, who: str, label: str) -> None:
        path = f"/desk/pilots/{self.world.pilots[who]}/hand-out"
        assert self.mo.post(path, token_id=self.world.tokens[label]).status_code == 303


@pytest.fixture
def club(store: Store) -> Iterator[Club]:
    world = make_world(store)
    app = create_app(Settings(database_url=store.url))
    with running(app) as base, httpx.Client(base_url=base, timeout=PATIENCE_S) as client:
        mo = Marshal(client)
        mo.join("Mo")
        yield Club(app, base, world, mo)
    app.state.meetapp.store.close()


@contextmanager
def listening(client: httpx.Client, whose: str, **headers: str) -> Iterator[tuple[httpx.Response, Listener]]:
    with client.stream("GET", f"/live/{whose}", headers=headers) as response:
        yield response, Listener(response.iter_lines())


@pytest.fixture
def rare_looks(club: Club) -> None:
    """It looks only when it is told to: what comes then comes from the commit."""
    club.app.state.meetapp.broadcaster._look_s = 3600.0


def test_a_stream_says_at_once_how_things_stand_and_is_never_kept(club: Club) -> None:
    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (response, stream):
        assert response.headers["content-type"].startswith("text/event-stream")
        assert response.headers["cache-control"] == "no-store"
        assert response.headers["x-accel-buffering"] == "no"
        assert "content-encoding" not in response.headers
        said = stream.words()
    asked = httpx.get(f"{club.base}/live/all/now", timeout=PATIENCE_S)
    assert {name: said[name] for name in ("alarms", "spread_ms")} == {"alarms": "none", "spread_ms": 0}
    assert asked.json()["meet"].split(".")[:2] == str(said["meet"]).split(".")[:2]
    assert asked.headers["cache-control"] == "no-store"


@pytest.mark.usefixtures("rare_looks")
def test_a_commit_is_told_to_every_stream_by_itself(club: Club) -> None:
    anybody = httpx.Client(base_url=club.base, timeout=PATIENCE_S)
    with listening(club.mo.client, "desk") as (_, desk), listening(anybody, "all") as (_, board):
        before = [desk.words(), board.words()]
        club.hand_out("Ana", "R1")
        after = [desk.words(), board.words()]
    assert before[0]["meet"] == before[1]["meet"] != after[0]["meet"] == after[1]["meet"]
    assert 0 < int(str(after[0]["spread_ms"])) < 1000


@pytest.mark.usefixtures("rare_looks")
def test_who_comes_back_hears_how_things_stand_whatever_was_missed(club: Club) -> None:
    with listening(club.mo.client, "desk") as (_, stream):
        fields = stream.next()
        while "id" not in fields:
            fields = stream.next()
    club.hand_out("Ana", "R1")
    club.hand_out("Bo", "F1")
    with listening(club.mo.client, "desk", **{"Last-Event-ID": fields["id"]}) as (_, stream):
        now = stream.words()
    assert now["meet"] == httpx.get(f"{club.base}/live/all/now", timeout=PATIENCE_S).json()["meet"] != fields["id"]


def test_a_stream_gives_a_sign_of_life_while_nothing_happens(club: Club) -> None:
    club.app.state.meetapp.broadcaster._look_s = club.app.state.meetapp.broadcaster._beat_s = 0.05
    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (_, stream):
        said = [stream.words() for _ in range(4)]
    assert len({str(words["meet"]).rpartition(".")[0] for words in said}) == 1


def test_what_another_process_writes_is_found_by_looking(club: Club) -> None:
    club.app.state.meetapp.broadcaster._look_s = 0.05
    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (_, stream):
        before = stream.words()
        other = Store(club.store.url)
        with other.write() as session:
            session.get_one(t.Meet, club.world.meet).state = "closed"
            session.commit()
        other.close()
        while (after := stream.words())["meet"] == before["meet"]:
            pass
    assert str(after["meet"]).startswith("none")


@pytest.mark.usefixtures("rare_looks")
def test_a_stream_ends_with_its_session(club: Club) -> None:
    with listening(club.mo.client, "desk") as (_, stream), listening(club.mo.client, "all") as (_, board):
        stream.words(), board.words()
        club.mo.post("/sign-out/desk")
        assert stream.next()["event"] == "over"
        assert stream.next() == {}
        # The board is everybody's.
        club.app.state.meetapp.broadcaster._beat_s = 0.0
        assert club.mo.client.get("/live/desk").status_code == 401
        assert club.mo.client.get("/live/desk/now").status_code == 401


@pytest.mark.usefixtures("rare_looks")
def test_a_marshal_s_stream_ends_with_the_meet(club: Club) -> None:
    with listening(club.mo.client, "desk") as (_, stream):
        stream.words()
        with club.store.write() as session:
            session.get_one(t.Meet, club.world.meet).state = "closed"
            session.commit()
        assert stream.next()["event"] == "over"


@contextmanager
def own_page(club: Club, who: str) -> Iterator[tuple[httpx.Client, BeautifulSoup]]:
    """A phone with the own page of this pilot, just opened; the page's live part."""
    secret = access.sign_in_pilot(club.store, club.world.pilots[who], who, datetime.now(UTC)).secret
    with httpx.Client(base_url=club.base, timeout=PATIENCE_S, cookies={PILOT_COOKIE: secret}) as phone:
        yield phone, part_of(phone.get("/my").text)


def part_of(html: str) -> BeautifulSoup:
    part = BeautifulSoup(html, "html.parser").find(id="my-live")
    assert part is not None
    return part  # type: ignore[return-value]


def shown(part: BeautifulSoup) -> str:
    return str(part["data-seen"])


@pytest.mark.usefixtures("rare_looks")
def test_a_pilot_s_phone_is_sent_its_own_part_where_that_changed_and_nobody_else_s(club: Club) -> None:
    with ExitStack() as open_ones:
        streams = {}
        for who in ("Ana", "Bo"):
            phone, part = open_ones.enter_context(own_page(club, who))
            streams[who] = open_ones.enter_context(listening(phone, f"pilot?shows={shown(part)}"))[1]
            said = streams[who].words()
            assert said["own"] == shown(part)
            assert "part" not in said, "it shows that already"
        club.hand_out("Ana", "R1")
        ana, bo = (streams[who].words() for who in ("Ana", "Bo"))
        assert "You hold R1" in str(ana["part"])
        assert "1 on air" in str(bo["part"])
        assert "R1" not in str(bo["part"])
        for said in (ana, bo):
            assert shown(part_of(str(said["part"]))) == said["own"]

        with club.store.read() as session:
            loan_id = session.exec(select(t.Loan.id)).one()
        club.mo.post(f"/desk/loans/{loan_id}/seen")
        ana_then, bo_then = (streams[who].words() for who in ("Ana", "Bo"))
        assert ana_then["own"] != ana["own"]
        # Bo's page is told that it is still true, up to the newest line.
        assert bo_then["own"] == bo["own"]
        assert "part" not in bo_then
        assert bo_then["meet"] == ana_then["meet"] != bo["meet"]


@pytest.mark.usefixtures("rare_looks")
def test_a_part_that_was_sent_has_forms_of_that_phone_that_count_once(club: Club) -> None:
    with own_page(club, "Ana") as (phone, _), listening(phone, "pilot?shows=older") as (_, stream):
        form = part_of(str(stream.words()["part"])).find("form", action="/my/line/join")
        assert form is not None
        fields = {each["name"]: each["value"] for each in form.find_all("input")}  # type: ignore[union-attr]
        for _ in range(2):
            assert phone.post("/my/line/join", data=fields).status_code == 303
        with own_page(club, "Bo") as (other, _):
            assert other.post("/my/line/join", data=fields).status_code == 403
    with club.store.read() as session:
        assert len(session.exec(select(t.LineEntry)).all()) == 1


@pytest.mark.usefixtures("rare_looks")
def test_a_phone_whose_pilot_got_a_new_link_is_sent_nothing_more(club: Club) -> None:
    with own_page(club, "Ana") as (phone, part), listening(phone, f"pilot?shows={shown(part)}") as (_, stream):
        stream.words()
        with club.store.write() as session:
            for each in session.exec(select(t.DeskSession).where(t.DeskSession.role == "pilot")):
                each.ended_at = datetime.now(UTC)
            session.get_one(t.Meet, club.world.meet).state = "closed"
            session.commit()
        assert stream.next()["event"] == "over"
        assert stream.next() == {}
        assert phone.get(f"/live/pilot/now?shows={shown(part)}").status_code == 401


def test_a_page_that_goes_leaves_nothing_behind(club: Club) -> None:
    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (_, stream):
        stream.words()
        assert club.streams == 1
    until(lambda: club.streams == 0)
    assert club.app.state.meetapp.broadcaster._watcher is None
    assert club.store.changes._wakes == []  # type: ignore[attr-defined]


def test_one_stream_too_many_is_told_to_ask_instead(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(broadcast, "MOST_STREAMS", 1)
    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (_, stream):
        stream.words()
        assert httpx.get(f"{club.base}/live/all", timeout=PATIENCE_S).status_code == 503
        assert httpx.get(f"{club.base}/live/all/now", timeout=PATIENCE_S).status_code == 200


def test_streams_hold_no_connection_to_the_database(club: Club) -> None:
    many = 40  # more than the pool has, and more than there are threads for requests
    anybody = httpx.Client(base_url=club.base, limits=httpx.Limits(max_connections=many), timeout=PATIENCE_S)
    with ExitStack() as open_ones:
        streams = [open_ones.enter_context(listening(anybody, "all"))[1] for _ in range(many)]
        for stream in streams:
            stream.words()
        assert club.streams == many
        # A look that is being taken has one, all streams together; the one for writing is kept.
        until(lambda: club.store.engine.pool.checkedout() <= 1)  # type: ignore[attr-defined]
        club.hand_out("Ana", "R1")


def test_a_look_that_fails_gives_no_sign_of_life(club: Club) -> None:
    """A page must not believe that it is up to date when nobody could look."""
    broadcaster = club.app.state.meetapp.broadcaster
    broadcaster._look_s = broadcaster._beat_s = 0.05
    look_now, failed = broadcaster._look_now, []

    def fail(session_ids: frozenset[int], _pilot_ids: frozenset[int]) -> None:
        failed.append(session_ids)
        raise OSError("the disk is gone")

    with listening(httpx.Client(base_url=club.base, timeout=PATIENCE_S), "all") as (_, stream):
        stream.words()
        broadcaster._look_now = fail
        until(lambda: len(failed) > 0)
        looks = broadcaster._looks
        until(lambda: len(failed) > 3)
        assert broadcaster._looks == looks
        broadcaster._look_now = look_now
        # Only those that were sent before it failed, and then it goes on.
        assert [stream.words() for _ in range(5)]


def test_ctrl_c_stops_the_server_cleanly_with_streams_open(tmp_path: Path) -> None:
    path = tmp_path / "club.db"
    bring_file_forward(path, data_folder("migrations"), datetime.now(UTC))
    process, server = start_server("serve", "--database", str(path))
    clients = [httpx.Client(base_url=server.base, timeout=PATIENCE_S) for _ in range(3)]
    with ExitStack() as open_ones:
        streams = [open_ones.enter_context(listening(client, "all"))[1] for client in clients]
        for stream in streams:
            stream.words()
        process.send_signal(signal.SIGINT)
        assert [stream.next() for stream in streams] == [{}, {}, {}]
        output, _ = process.communicate(timeout=PATIENCE_S)
    # Were the streams left to the end of the server's patience, it would say so, with a trace. Where the tests run as a
    # job in the background, the signal is ignored but by the server itself, which then ends without a word.
    assert output in ("Stopped.\n", "")


def until(is_so: Callable[[], bool]) -> None:
    """Wait for something that takes a moment."""
    end = time.monotonic() + PATIENCE_S
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.01)
