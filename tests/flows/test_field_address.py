"""Does the server answer at its field address? Yes only for itself, and no for everything else alike."""

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

import pytest

from meetapp.flows.club.field_address import ANSWER_PATH, answers_at, installation_id

OWN = installation_id("a" * 64)
asked: list[str] = []


@contextmanager
def serving(answer: Callable[[BaseHTTPRequestHandler], None]) -> Iterator[str]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append(self.path)
            answer(self)

        def log_message(self, *_args: object) -> None:
            """Keep the test's output quiet."""

    server = HTTPServer(("127.0.0.1", 0), Handler)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}"
    finally:
        server.shutdown()
        server.server_close()


def saying(text: str, status: int = 200, **headers: str) -> Callable[[BaseHTTPRequestHandler], None]:
    def answer(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(status)
        for name, value in headers.items():
            handler.send_header(name, value)
        handler.end_headers()
        handler.wfile.write(text.encode())

    return answer


def test_the_own_installation_answers_and_only_its_own_path_is_asked() -> None:
    asked.clear()
    with serving(saying(OWN)) as address:
        assert answers_at(address, OWN)
    assert asked == [ANSWER_PATH]


@pytest.mark.parametrize(
    "answer",
    [
        saying(installation_id("b" * 64)),
        saying("welcome to another server"),
        saying(OWN, status=404),
        saying(OWN + "and more, far more than an id"),
        saying(""),
    ],
    ids=["another installation", "another server", "not found", "longer", "empty"],
)
def test_whatever_else_answers_is_a_no(answer: Callable[[BaseHTTPRequestHandler], None]) -> None:
    with serving(answer) as address:
        assert not answers_at(address, OWN)


def test_a_redirect_is_not_followed() -> None:
    asked.clear()
    with serving(saying(OWN)) as real, serving(saying("", status=302, Location=real + ANSWER_PATH)) as lure:
        assert not answers_at(lure, OWN)
    assert asked == [ANSWER_PATH]


def test_a_server_that_never_finishes_its_answer_does_not_hold_the_page() -> None:
    done = threading.Event()

    def stall(handler: BaseHTTPRequestHandler) -> None:
        handler.wfile.write(b"HTTP/1.0 200 OK\r\n")
        done.wait(20)

    with serving(stall) as address:
        try:
            assert not answers_at(address, OWN)
            assert not done.is_set()
        finally:
            done.set()


@pytest.mark.parametrize(
    "address",
    ["", "http://127.0.0.1:1", "ftp://127.0.0.1", "http://127.0.0.1/elsewhere", "http://no-such-host.invalid"],
)
def test_where_nothing_can_answer_the_answer_is_no(address: str) -> None:
    assert not answers_at(address, OWN)


def test_the_id_tells_nothing_of_the_secret_and_is_steady() -> None:
    assert installation_id("a" * 64) == OWN
    assert "a" * 8 not in OWN
    assert len(OWN) == 32
