"""What may be sent to the server: so much, and in so much time. Looked at before anything is read or parsed."""

import asyncio

from starlette.datastructures import Headers
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from meetapp.flows.errors import MeetError

FORM_BYTES = 1_000_000
FILE_BYTES = 12_000_000
"""A meet file of 2 MB, sent again from its preview as a field of a form, takes up to six times as much."""
FILE_PATHS = ("/organiser/pilots/import", "/organiser/meet-files/import")
PATIENCE_S = 60.0
"""How long a form may take to arrive: a phone at the edge of the field's Wi-Fi is slow, a minute is not a phone."""


class TooLarge(MeetError):
    """More was sent than any form of ours holds."""

    code = "too_large"

    def __init__(self) -> None:
        super().__init__("This is more than a form of this tool can hold.", "Nothing was changed. Send less at once.")


class TooSlow(MeetError):
    """The form didn't arrive whole in time."""

    code = "too_slow"

    def __init__(self) -> None:
        super().__init__(
            "This form didn't arrive whole.", "Nothing was changed. Go nearer to the Wi-Fi and send it again."
        )


def most_bytes(path: str) -> int:
    """How much may be sent to an address."""
    return FILE_BYTES if path.startswith(FILE_PATHS) else FORM_BYTES


class BodyLimits:
    """Lets whoever reads a request's body meet TooLarge or TooSlow in time; once it is being answered, its end."""

    def __init__(self, app: ASGIApp, patience_s: float = PATIENCE_S) -> None:
        self.app = app
        self.patience_s = patience_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand the request on, its body counted and timed."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        body = _Body(scope, receive, self.patience_s)

        async def send_noted(message: Message) -> None:
            body.is_answered = True
            await send(message)

        await self.app(scope, body.receive, send_noted)


class _Body:
    """What comes of one request: so many bytes, until then."""

    def __init__(self, scope: Scope, receive: Receive, patience_s: float) -> None:
        self.is_answered = False
        self._receive = receive
        self._is_whole = False
        declared = Headers(scope=scope).get("content-length", "0")
        is_number = declared.isdecimal() and len(declared) < 20
        self._left = most_bytes(scope["path"])
        self._is_too_large = not is_number or int(declared) > self._left
        self._end = asyncio.get_running_loop().time() + patience_s

    async def receive(self) -> Message:
        """The next part of it, or why there is none."""
        if self._is_whole:
            return await self._receive()
        try:
            return await self._counted()
        except MeetError:
            if self.is_answered:  # a stream that only waits for its end: no refusal can follow its first line
                return {"type": "http.disconnect"}
            raise

    async def _counted(self) -> Message:
        if self._is_too_large:
            raise TooLarge
        try:
            async with asyncio.timeout_at(self._end):
                message = await self._receive()
        except TimeoutError as error:
            raise TooSlow from error
        self._left -= len(message.get("body", b""))
        self._is_whole = not message.get("more_body", False)
        if self._left < 0:
            raise TooLarge
        return message
