"""A browser without manners: sends any bytes to the app, past every library that would put them right first.

An error that a route doesn't handle is raised here, with its trace, instead of becoming an answer.
"""

import asyncio
from collections.abc import Awaitable, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from typing import Any, TypeVar
from urllib.parse import unquote

from fastapi import FastAPI

Headers = list[tuple[bytes, bytes]]
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Sent:
    """One request as it goes over the wire. `target`: path and query, quoted."""

    method: str
    target: bytes
    headers: Headers = field(default_factory=list)
    body: bytes = b""


@dataclass(frozen=True)
class Got:
    """The answer: status, headers by lower-case name (the last of each), body."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        return self.body.decode()


class RawBrowser:
    """Keeps cookies, sends requests one after the other. Close it at the end."""

    def __init__(self, app: FastAPI) -> None:
        self._app = app
        self._loop = asyncio.new_event_loop()
        # Browser tests leave a loop running in the thread of the tests.
        self._apart = ThreadPoolExecutor(1)
        self.cookies: dict[str, str] = {}

    def close(self) -> None:
        self._run(self._loop.shutdown_default_executor())
        self._apart.shutdown()
        self._loop.close()

    def get(self, path: str) -> Got:
        return self.send(Sent("GET", path.encode()))

    def send(self, sent: Sent) -> Got:
        """The answer; a body that never ends is left after its first part."""
        path, _mark, query = sent.target.partition(b"?")
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items()).encode("latin-1")
        headers = [(b"host", b"testserver"), *([(b"cookie", cookies)] if cookies else []), *sent.headers]
        scope = {
            "type": "http",
            "asgi": {"version": "3.0"},
            "http_version": "1.1",
            "method": sent.method,
            "scheme": "http",
            "path": _unquoted(path),
            "raw_path": path,
            "query_string": query,
            "root_path": "",
            "headers": headers,
            "client": ("127.0.0.1", 5000),
            "server": ("testserver", 80),
        }
        return self._run(self._call(scope, sent.body))

    def _run(self, coroutine: Coroutine[Any, Any, Answer]) -> Answer:
        return self._apart.submit(self._loop.run_until_complete, coroutine).result()

    async def _call(self, scope: dict[str, Any], body: bytes) -> Got:
        parts: list[bytes] = []
        started: dict[str, Any] = {}
        waiting = [{"type": "http.request", "body": body, "more_body": False}]

        async def receive() -> dict[str, Any]:
            return waiting.pop() if waiting else {"type": "http.disconnect"}

        async def send(message: dict[str, Any]) -> None:
            if message["type"] == "http.response.start":
                started.update(message)
            else:
                parts.append(message.get("body", b""))

        app: Callable[..., Awaitable[None]] = self._app
        await app(scope, receive, send)
        headers = [(name.decode("latin-1").lower(), value.decode("latin-1")) for name, value in started["headers"]]
        for name, value in headers:
            if name == "set-cookie":
                self._keep(value)
        return Got(started["status"], dict(headers), b"".join(parts))

    def _keep(self, cookie: str) -> None:
        for name, morsel in SimpleCookie(cookie).items():
            if morsel.value and morsel["max-age"] != "0":
                self.cookies[name] = morsel.value
            else:
                self.cookies.pop(name, None)


def _unquoted(path: bytes) -> str:
    """The path as a server hands it on: unquoted, and what is no UTF-8 as uvicorn reads it."""
    return unquote(path.decode("ascii"))
