"""Telling those who look on that something was committed."""

import threading
from collections.abc import Callable
from typing import Protocol

from sqlalchemy.orm import Session

Wake = Callable[[], None]
"""Called from any thread, and returns at once: it only says 'look again'."""


class Changes(Protocol):
    """Carries 'something changed' from whoever wrote to whoever shows it. What changed is read from the database."""

    def announce(self, session: Session) -> None:
        """Take part in a write that is about to be committed."""

    def publish(self) -> None:
        """Say that something was committed; called after the commit, by the thread that wrote."""

    def subscribe(self, wake: Wake) -> Callable[[], None]:
        """Have `wake` called after each publish, here or in another process; the answer ends that."""

    def close(self) -> None:
        """Let go of whatever carries the changes."""


class InProcessChanges:
    """Changes for a database that one process serves. What others write is found by looking now and then."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._wakes: list[Wake] = []

    def announce(self, session: Session) -> None:
        """Nobody else is to be told."""

    def close(self) -> None:
        """There is nothing to let go of."""

    def publish(self) -> None:
        """Wake all who subscribed."""
        with self._lock:
            wakes = tuple(self._wakes)
        for wake in wakes:
            wake()

    def subscribe(self, wake: Wake) -> Callable[[], None]:
        """Have `wake` called after each publish; the answer ends that."""
        with self._lock:
            self._wakes.append(wake)
        return lambda: self._forget(wake)

    def _forget(self, wake: Wake) -> None:
        with self._lock:
            if wake in self._wakes:
                self._wakes.remove(wake)
