"""Light pages: packed, static files asked for once, streams sent as they come, no token that a page's length tells."""

import asyncio
import re
from collections.abc import AsyncIterator, Callable

import pytest
from fastapi import FastAPI
from starlette.responses import StreamingResponse
from starlette.types import Message

from tests.apart import run_apart
from tests.surfer import Surfer
from tests.world import World


@pytest.fixture
def visitor(surfer: Callable[[], Surfer], world: World) -> Surfer:
    return surfer()


def addresses_on(page: Surfer, path: str) -> list[str]:
    page.open(path)
    return [str(tag.get("href") or tag.get("src")) for tag in page.page.select("link[href], script[src]")]


@pytest.mark.parametrize("path", ["/board", "/sign-in"])
def test_pages_are_sent_packed_and_never_kept(path: str, visitor: Surfer) -> None:
    answer = visitor.client.get(path)
    assert answer.headers["content-encoding"] == "gzip"
    assert "Accept-Encoding" in answer.headers["vary"]
    assert answer.headers["cache-control"] == "no-store"
    assert "content-encoding" not in visitor.client.get(path, headers={"Accept-Encoding": "identity"}).headers


def test_every_file_of_a_page_is_named_by_its_content_and_kept_for_good(visitor: Surfer) -> None:
    addresses = addresses_on(visitor, "/board")
    assert len(addresses) >= 4
    for address in addresses:
        assert re.fullmatch(r"/static/[\w./]+\?v=[0-9a-f]{10}", address)
        answer = visitor.client.get(address)
        assert answer.status_code == 200
        assert answer.headers["cache-control"] == "public, max-age=31536000, immutable"


@pytest.mark.parametrize("other", ["", "?v=0123456789", "?v="])
def test_another_address_of_a_file_is_asked_about_each_time(other: str, visitor: Surfer) -> None:
    answer = visitor.client.get(f"/static/app.css{other}")
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-cache"
    again = visitor.client.get(f"/static/app.css{other}", headers={"If-None-Match": answer.headers["etag"]})
    assert (again.status_code, again.headers["cache-control"]) == (304, "no-cache")


def test_a_file_that_is_not_there_is_not_found(visitor: Surfer) -> None:
    answer = visitor.client.get("/static/nothing.css?v=0123456789")
    assert (answer.status_code, answer.headers["cache-control"]) == (404, "no-store")


def test_an_event_stream_is_sent_word_by_word(app: FastAPI) -> None:
    """The second word is made only after the first has arrived: something that gathers or packs them would wait."""

    async def first_and_second() -> tuple[list[tuple[bytes, bytes]], list[bytes]]:
        arrived = asyncio.Event()
        answers: list[Message] = []

        async def words() -> AsyncIterator[bytes]:
            yield b"data: first\n\n"
            await arrived.wait()
            yield b"data: second\n\n"

        async def send(message: Message) -> None:
            answers.append(message)
            if b"first" in message.get("body", b""):
                arrived.set()

        async def receive() -> Message:
            await asyncio.sleep(0 if not answers else 3600)
            return {"type": "http.request", "body": b"", "more_body": False}

        app.add_api_route("/words", lambda: StreamingResponse(words(), media_type="text/event-stream"))
        scope = {
            "type": "http", "method": "GET", "path": "/words", "raw_path": b"/words", "query_string": b"",
            "headers": [(b"host", b"testserver"), (b"accept-encoding", b"gzip")], "http_version": "1.1",
            "scheme": "http", "server": ("testserver", 80), "client": ("test", 1), "root_path": "",
        }  # fmt: skip
        await asyncio.wait_for(app(scope, receive, send), timeout=60)
        return answers[0]["headers"], [body for message in answers[1:] if (body := message["body"])]

    headers, bodies = run_apart(first_and_second())
    assert bodies == [b"data: first\n\n", b"data: second\n\n"]
    assert b"content-encoding" not in dict(headers)


def test_a_form_token_looks_different_on_every_page_and_counts_on_each(visitor: Surfer) -> None:
    tokens = []
    for _ in range(2):
        visitor.open("/sign-in")
        field = visitor.page.find("input", {"name": "csrf_token"})
        assert field is not None
        tokens.append(str(field["value"]))
    one, other = tokens
    assert not {one[:64], one[64:]} & {other[:64], other[64:]}
    for token in tokens:
        answer = visitor.client.post(
            "/sign-in", data={"csrf_token": token, "operation_key": f"key {token}"[:40], "password": "wrong"}
        )
        assert answer.status_code != 403


@pytest.mark.parametrize(
    "change", [lambda token: token[:-1], lambda token: token[64:] * 2, lambda _: "", lambda _: "ü" * 128]
)
def test_a_token_that_was_changed_is_refused(change: Callable[[str], str], visitor: Surfer) -> None:
    visitor.open("/sign-in")
    field = visitor.page.find("input", {"name": "csrf_token"})
    assert field is not None
    data = {"csrf_token": change(str(field["value"])), "operation_key": "12345678", "password": "x"}
    assert visitor.client.post("/sign-in", data=data).status_code == 403
