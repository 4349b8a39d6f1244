"""Who acts goes before who looks: a few pages are made at a time, the others wait their turn; deeds never wait.

The desk's pages have turns of their own, so that a marshal doesn't stand in line behind every phone of the field.
"""

import asyncio
from collections import defaultdict
from weakref import WeakKeyDictionary

from starlette.types import ASGIApp, Receive, Scope, Send

from meetapp.flows.giving_way import deeds

PAGES_AT_ONCE = 2
"""Pages share one interpreter: more at a time make none of them sooner, and every deed later."""
_NO_PAGES = ("/live/", "/static/")
_AT_THE_DESK = ("/desk", "/organiser", "/alarms")

Lanes = defaultdict[bool, asyncio.Semaphore]


class Turns:
    """Lets `PAGES_AT_ONCE` pages of the desk and as many of others be made at the same time. Event streams and files
    take no turn.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app
        self._lanes: WeakKeyDictionary[asyncio.AbstractEventLoop, Lanes] = WeakKeyDictionary()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Wait for a turn where the request only looks, then hand it on; pages that are being made let a deed pass."""
        if scope["type"] == "http" and scope["method"] == "POST":
            with deeds.one():
                await self.app(scope, receive, send)
            return
        if scope["type"] != "http" or scope["method"] not in ("GET", "HEAD") or scope["path"].startswith(_NO_PAGES):
            await self.app(scope, receive, send)
            return
        lanes = self._lanes.setdefault(
            asyncio.get_running_loop(), defaultdict(lambda: asyncio.Semaphore(PAGES_AT_ONCE))
        )
        async with lanes[scope["path"].startswith(_AT_THE_DESK)]:
            await self.app(scope, receive, send)
