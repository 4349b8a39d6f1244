"""Whoever makes a page or tells the phones stands aside while a deed is being done: they share one interpreter.

What is read for a page is read at once; what is worked out of it and drawn stands aside.
"""

import asyncio
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from time import monotonic
from typing import TypeVar

Part = TypeVar("Part")

LONGEST_S = 0.05
"""How long a deed holds pages up at most: one that waits for another process should not stop everything here."""
PATIENCE_S = 0.2
"""How long one page stands aside in all: where deeds never end, pages are made all the same."""
LOOK_AGAIN_S = 0.001
"""How often the loop looks whether the deed is done: a small part of what a deed takes."""
PIECES = 8
"""After how many pieces of a page it looks whether somebody wants to pass."""


class Deeds:
    """The deeds that are being done in this process. `longest_s`: how long one holds pages up."""

    def __init__(self, longest_s: float = LONGEST_S) -> None:
        self._longest_s = longest_s
        self._lock = threading.Lock()
        self._under_way = 0
        self._none = threading.Event()
        self._none.set()
        self._until = 0.0
        self._is_ours: ContextVar[bool] = ContextVar("is_ours", default=False)

    @contextmanager
    def one(self) -> Iterator[None]:
        """Around a deed, with all that is done for it in other threads."""
        before = self._is_ours.set(True)
        with self._lock:
            self._under_way += 1
            self._until = monotonic() + self._longest_s
            self._none.clear()
        try:
            yield
        finally:
            self._is_ours.reset(before)
            with self._lock:
                self._under_way -= 1
                if not self._under_way:
                    self._none.set()

    def let_pass(self, patience_s: float) -> float:
        """Wait while deeds are being done, unless this is one; gives what is left of the patience, in seconds.

        Never called under a lock that a deed could want.
        """
        if self._none.is_set() or self._is_ours.get():
            return patience_s
        began = monotonic()
        self._none.wait(max(0.0, min(patience_s, self._until - began)))
        return patience_s - (monotonic() - began)

    async def let_pass_in_loop(self, patience_s: float) -> float:
        """The same for what runs in the loop, which has the deed to carry on meanwhile."""
        began = monotonic()
        until = min(self._until, began + patience_s)
        while not self._none.is_set() and monotonic() < until:
            await asyncio.sleep(LOOK_AGAIN_S)
        return patience_s - (monotonic() - began)

    def between(self, parts: Iterable[Part], every: int = 1) -> Iterator[Part]:
        """The same parts, each made when it is asked for, deeds let pass before and between them: before each, or
        before as many as `every`.
        """
        patience_s = self.let_pass(PATIENCE_S)
        for at, part in enumerate(parts, start=1):
            yield part
            if at % every == 0:
                patience_s = self.let_pass(patience_s)


deeds = Deeds()
"""Those of this process."""


def in_pieces(pieces: Iterable[str], passing: Deeds = deeds) -> str:
    """A page put together from its pieces, letting deeds pass in between."""
    return "".join(passing.between(pieces, PIECES))
