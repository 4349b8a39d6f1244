"""HTTP/1.1 as a browser speaks it, in as few lines as a load run needs: it must cost less than what it measures."""

import asyncio
import zlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from urllib.parse import urlencode


@dataclass(frozen=True, slots=True)
class Reply:
    """What the server answered. `body` is unpacked."""

    status: int
    headers: tuple[tuple[str, str], ...]
    body: bytes

    def header(self, name: str) -> str:
        """The first header of this name (lower case), or ''."""
        return next((value for each, value in self.headers if each == name), "")


@dataclass
class Phone:
    """One browser: its cookies, and a connection that is kept."""

    port: int
    cookies: dict[str, str] = field(default_factory=dict)
    _line: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None
    _stream: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def get(self, path: str, *, is_fragment: bool = False) -> Reply:
        """Ask for a page, or as htmx asks for a part of one."""
        return await self._ask("GET", path, b"", {"HX-Request": "true"} if is_fragment else {})

    async def post(self, path: str, fields: Mapping[str, str | Sequence[str]]) -> Reply:
        """Send a form; a field with several values is sent once for each."""
        head = {"Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://127.0.0.1:{self.port}"}
        return await self._ask("POST", path, urlencode(fields, doseq=True).encode(), head)

    async def listen(self, path: str) -> asyncio.StreamReader:
        """Open a stream on a connection of its own; its lines are what the reader gives."""
        reader, writer = self._stream = await asyncio.open_connection("127.0.0.1", self.port)
        writer.write(self._head("GET", path, 0, {"Accept": "text/event-stream"}))
        reply = await _read_head(reader)
        assert reply.status == 200, reply.status
        return reader

    def hang_up(self) -> None:
        """Close the kept connection."""
        if self._line is not None:
            self._line[1].close()
            self._line = None

    async def _ask(self, method: str, path: str, body: bytes, more: dict[str, str]) -> Reply:
        request = self._head(method, path, len(body), more) + body
        try:
            reply = await self._send(request)
        except (asyncio.IncompleteReadError, ConnectionError):
            # The server closes a connection that was quiet for some seconds; a browser then opens another.
            self.hang_up()
            reply = await self._send(request)
        for name, value in reply.headers:
            if name == "set-cookie":
                key, _, rest = value.partition("=")
                self.cookies[key] = rest.split(";")[0]
        if reply.header("connection") == "close":
            self.hang_up()
        return reply

    async def _send(self, request: bytes) -> Reply:
        if self._line is None:
            self._line = await asyncio.open_connection("127.0.0.1", self.port)
        reader, writer = self._line
        writer.write(request)
        return await _read_reply(reader)

    def _head(self, method: str, path: str, length: int, more: dict[str, str]) -> bytes:
        headers = {
            "Host": f"127.0.0.1:{self.port}",
            "Accept-Encoding": "gzip",
            "Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()),
            **({"Content-Length": str(length)} if method == "POST" else {}),
            **more,
        }
        lines = "".join(f"{name}: {value}\r\n" for name, value in headers.items() if value)
        return f"{method} {path} HTTP/1.1\r\n{lines}\r\n".encode()


async def _read_head(reader: asyncio.StreamReader) -> Reply:
    head = (await reader.readuntil(b"\r\n\r\n")).decode("latin-1").split("\r\n")
    pairs = (line.split(":", 1) for line in head[1:] if line)
    return Reply(int(head[0].split(" ")[1]), tuple((name.lower(), value.strip()) for name, value in pairs), b"")


async def _read_reply(reader: asyncio.StreamReader) -> Reply:
    head = await _read_head(reader)
    body = b""
    if head.header("transfer-encoding") == "chunked":
        while size := int((await reader.readline()).strip(), 16):
            body += (await reader.readexactly(size + 2))[:-2]
        await reader.readline()
    elif length := int(head.header("content-length") or 0):
        body = await reader.readexactly(length)
    if head.header("content-encoding") == "gzip":
        body = zlib.decompress(body, wbits=31)
    return Reply(head.status, head.headers, body)
