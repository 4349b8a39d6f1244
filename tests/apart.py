"""Running a coroutine whatever else goes on: browser tests leave an event loop running in the thread of the tests."""

import asyncio
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

Answer = TypeVar("Answer")


def run_apart(coroutine: Coroutine[Any, Any, Answer]) -> Answer:
    """`asyncio.run` in a thread of its own."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, coroutine).result()
