"""Several server processes over PostgreSQL: one club for all of them, whichever answers, and none is missed."""

import os
import re
import signal
import ssl
import subprocess
import time
import uuid
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import httpx
import pytest
from sqlmodel import col, select

from meetapp.cli import main
from meetapp.config import DATABASE_URL, Settings
from meetapp.flows.guessing import Limits
from meetapp.main import create_app
from meetapp.store import tables as t
from meetapp.store.engine import Store
from tests.certificates import write_pair
from tests.running import Server, running, start_server, stop_server
from tests.server.test_streams import listening
from tests.server.test_two_clients import Marshal, Running
from tests.world import make_world

PATIENCE_S = 240.0
"""A request waits for a process that stands, which on a busy machine takes its time."""
ROUNDS = int(os.environ.get("RACE_ROUNDS", "2"))
TAPS = 2 * ROUNDS


@contextmanager
def workers_over(store: Store, *options: str) -> Iterator[tuple[subprocess.Popen[str], Server]]:
    process, server = start_server("serve", "--workers", "2", *options, environment={DATABASE_URL: store.url})
    try:
        until(lambda: len(worker_ids(process)) == 2)
        yield process, server
    finally:
        if process.poll() is None:
            stop_server(process)


def worker_ids(process: subprocess.Popen[str]) -> list[int]:
    """The processes that serve: the supervisor's children that have threads (its helper for cleaning up has none)."""
    children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text().split()
    return [int(child) for child in children if thread_count(child) > 1]


def thread_count(process_id: str) -> int:
    try:
        return len(list(Path(f"/proc/{process_id}/task").iterdir()))
    except FileNotFoundError:
        return 0


def is_running(process_id: int) -> bool:
    try:
        return ") Z " not in Path(f"/proc/{process_id}/stat").read_text()
    except FileNotFoundError:
        return False


def until(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not is_so():
        assert time.monotonic() < end
        time.sleep(0.05)


def test_a_file_is_not_served_by_several(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "club.db"
    assert main(["serve", "--workers", "2", "--port", "0", "--database", str(path)]) == 1
    assert "A club in a file has one server process" in capsys.readouterr().err
    assert not path.exists()


@pytest.mark.parametrize("count", ["0", "-1", "two", "1000"])
def test_a_number_of_processes_that_is_none_is_bad_input(count: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", f"--workers={count}"]) == 2
    assert "is no number of processes" in capsys.readouterr().err


@pytest.mark.postgres
def test_each_process_serves_encrypted_under_the_name_and_all_count_guesses_together(
    postgres_store: Store, tmp_path: Path
) -> None:
    certificate, key = map(str, write_pair(tmp_path))
    options = ("--certificate", certificate, "--key", key, "--name", "meet.example")
    with ExitStack() as open_ones:
        process, server = open_ones.enter_context(workers_over(postgres_store, *options))
        assert server.printed.count("https://meet.example:") == 1
        path = server.printed_path(r"/first-visit/\S+")
        context = ssl.create_default_context(cafile=certificate)
        context.check_hostname = False
        # A connection each time: sometimes one process answers, sometimes the other.
        one_by_one = httpx.Limits(max_keepalive_connections=0)
        phone = open_ones.enter_context(
            httpx.Client(
                base_url=server.base,
                verify=context,
                limits=one_by_one,
                headers={"Host": "meet.example"},
                timeout=PATIENCE_S,
            )
        )
        assert "Name your club" in phone.get(path).text
        assert {name for name in phone.cookies if name.startswith("__Host-")} == set(phone.cookies)
        other = phone.get("/", headers={"Host": "other.example"})
        assert (other.status_code, other.headers.get("server")) == (400, None)
        token = re.search(r"[0-9a-f]{128}", phone.get("/sign-in").text)
        assert token is not None
        guesses = [
            phone.post("/sign-in", data={"csrf_token": token[0], "operation_key": f"a-guess-{n}", "password": "no"})
            for n in range(Limits().free + 1)
        ]
        assert [answer.status_code for answer in guesses] == [422] * Limits().free + [429]
        workers = worker_ids(process)
        process.kill()
        # Without its supervisor no process keeps the port.
        until(lambda: not any(is_running(worker) for worker in workers))


@pytest.mark.postgres
def test_a_tap_at_one_process_shows_on_the_streams_of_the_others_and_ctrl_c_ends_them_all(
    postgres_store: Store,
) -> None:
    world = make_world(postgres_store)
    third = create_app(Settings(postgres_store.url))
    third.state.meetapp.broadcaster._look_s = 3600.0  # it looks only when it is told to
    with ExitStack() as open_ones:
        process, server = open_ones.enter_context(workers_over(postgres_store))
        base = open_ones.enter_context(running(third))
        bases = [server.base] * 6 + [base]
        phones = [open_ones.enter_context(httpx.Client(base_url=each, timeout=PATIENCE_S)) for each in bases]
        streams = [open_ones.enter_context(listening(phone, "all"))[1] for phone in phones]
        before = [str(stream.words()["meet"]).rpartition(".")[0] for stream in streams]
        mo = Marshal(open_ones.enter_context(httpx.Client(base_url=server.base, timeout=PATIENCE_S)))
        mo.join("Mo")
        mo.post(f"/desk/pilots/{world.pilots['Ana']}/hand-out", token_id=world.tokens["R1"])
        for was, stream in zip(before, streams, strict=True):
            while str(stream.words()["meet"]).rpartition(".")[0] == was:
                pass
        workers = worker_ids(process)
        process.send_signal(signal.SIGINT)
        assert [stream.next() for stream in streams[:6]] == [{}] * 6
        output, _ = process.communicate(timeout=PATIENCE_S)
        # Were the streams left to the end of the server's patience, it would say so, with a trace.
        assert (output, process.returncode) == ("Stopped.\n", 130)
        assert not any(is_running(worker) for worker in workers)
    third.state.meetapp.store.close()


@pytest.mark.postgres
def test_no_answered_tap_is_lost_and_none_done_twice_while_processes_are_killed(postgres_store: Store) -> None:
    """Taps go on while one process after the other is killed; each is sent again, as a phone does, until answered."""
    world = make_world(postgres_store)
    with workers_over(postgres_store) as (process, server):
        mo, lu = (Marshal(httpx.Client(base_url=server.base, timeout=PATIENCE_S)) for _ in range(2))
        mo.join("Mo")
        lu.join("Lu")
        of_two_at_once_one_wins(Running(server, postgres_store, world, mo, lu))
        for number in range(TAPS):
            tap = {"csrf_token": mo.token, "operation_key": str(uuid.uuid4())}
            if number % 2 == 0:
                path = f"/desk/pilots/{world.pilots['Ana']}/hand-out"
                tap |= {"token_id": str(world.tokens["R1"])}
            else:
                path = f"/desk/loans/{open_loan(postgres_store).id}/take-back"
            if number % 2 == 1:
                until(lambda: len(worker_ids(process)) == 2)
                os.kill(worker_ids(process)[number // 2 % 2], signal.SIGKILL)
            send_until_answered(mo.client, path, tap)
    with postgres_store.read() as session:
        kinds = list(session.exec(select(t.JournalLine.kind).order_by(col(t.JournalLine.id))))
        loans = list(session.exec(select(t.Loan)))
    assert kinds == ["handed_out", "taken_back"] * (ROUNDS + TAPS // 2)
    assert len(loans) == ROUNDS + TAPS // 2
    assert all(loan.in_at is not None for loan in loans)


def of_two_at_once_one_wins(running: Running) -> None:
    for _round in range(ROUNDS):
        answers = running.at_once((running.mo, "Ana", "R1"), (running.lu, "Bo", "R1"))
        assert sorted(answer.status_code for answer in answers) == [303, 422]
        running.mo.post(f"/desk/loans/{open_loan(running.store).id}/take-back")


def send_until_answered(client: httpx.Client, path: str, tap: dict[str, str]) -> None:
    end = time.monotonic() + PATIENCE_S
    while True:
        try:
            answer = client.post(path, data=tap)
        except httpx.TransportError:  # the process that was asked is gone
            assert time.monotonic() < end
            continue
        assert answer.status_code == 303, answer.text
        return


def open_loan(store: Store) -> t.Loan:
    with store.read() as session:
        return session.exec(select(t.Loan).where(col(t.Loan.in_at).is_(None))).one()
