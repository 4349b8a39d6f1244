"""A few pages at a time; deeds, streams and the desk don't stand behind the phones of the field."""

import asyncio
from collections import Counter

import pytest
from starlette.types import Receive, Scope, Send

from meetapp.web.turns import PAGES_AT_ONCE, Turns
from tests.apart import run_apart


class Kitchen:
    """An app whose answers stay unfinished until `serve` is set, and that counts who is being served."""

    def __init__(self) -> None:
        self.serve = asyncio.Event()
        self.served: Counter[str] = Counter()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Count and wait."""
        self.served[scope["path"]] += 1
        await self.serve.wait()


async def _nothing() -> dict[str, object]:
    return {}


async def _sink(_message: object) -> None:
    pass


async def served_among(phones: int, *others: tuple[str, str]) -> Counter[str]:
    """Who is served while nobody is finished: so many phones ask for /my, then others by method and path."""
    kitchen = Kitchen()
    turns = Turns(kitchen)
    asked = [("GET", "/my")] * phones + list(others)
    tasks = [
        asyncio.create_task(turns({"type": "http", "method": method, "path": path}, _nothing, _sink))
        for method, path in asked
    ]
    for _ in range(20):
        await asyncio.sleep(0)
    found = Counter(kitchen.served)
    kitchen.serve.set()
    await asyncio.gather(*tasks)
    assert kitchen.served.total() == len(asked), "everybody is served in the end"
    return found


def test_phones_take_turns() -> None:
    assert run_apart(served_among(20))["/my"] == PAGES_AT_ONCE


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("POST", "/my/line"),
        ("POST", "/desk/pilots/1/hand-out"),
        ("GET", "/desk"),
        ("GET", "/live/pilot"),
        ("GET", "/static/app.css"),
    ],
)
def test_others_need_not_wait_for_them(method: str, path: str) -> None:
    assert run_apart(served_among(20, (method, path)))[path] == 1


def test_those_of_another_loop_are_not_in_the_way() -> None:
    turns = Turns(Kitchen())
    for _ in range(2):
        with pytest.raises(TimeoutError):
            run_apart(asyncio.wait_for(_ask_often(turns), 0.01))


async def _ask_often(turns: Turns) -> None:
    turns.app = Kitchen()
    asked: Scope = {"type": "http", "method": "GET", "path": "/my"}
    await asyncio.gather(*(turns(asked, _nothing, _sink) for _ in range(9)))
