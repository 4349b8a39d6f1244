"""Servers that start within a second: each is a process of its own, forked from one that has read the program already.

What runs there is the command itself (`meetapp serve`) over a real port, so that it may be killed as any other.
"""

import io
import multiprocessing
import os
import re
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from meetapp.cli import main
from meetapp.web.routes import all_routers
from tests.running import Server

all_routers()  # reads the modules of all pages now: a forked server has them
_FORKED = multiprocessing.get_context("forkserver")
_FORKED.set_forkserver_preload(["tests.quick_start", "meetapp.main", "uvicorn.protocols.http.auto"])
PATIENCE_S = 240.0
"""How long a busy machine may take to stop a server."""


class _Printed(io.TextIOBase):
    """Takes what the command prints to the process that started it."""

    def __init__(self, to: Connection) -> None:
        self._to = to

    def write(self, text: str) -> int:
        """As a file does."""
        self._to.send(text)
        return len(text)


def _end_with_the_starter() -> None:
    """End by SIGKILL when the process is gone that started this one, however it ended."""
    starter = multiprocessing.parent_process()
    if starter is not None:
        starter.join()
        kill(os.getpid())


def _run(arguments: tuple[str, ...], to: Connection) -> None:
    threading.Thread(target=_end_with_the_starter, daemon=True).start()
    printed: Any = _Printed(to)
    sys.stdout = printed
    # Workers would be told to read from a number that is open here and not with them.
    nothing: Any = None
    sys.stdin = nothing
    sys.exit(main([*arguments]))


@dataclass
class Started:
    """A command that runs as a process of its own, and what it has printed so far."""

    process: Any
    prints: Connection
    printed: str = ""

    def address(self) -> str:
        """Where a server can be reached, once it says so."""
        while "Ctrl+C" not in self.printed:
            self.printed += self.prints.recv()
        found = re.search(r"http://127\.0\.0\.1:\d+", self.printed)
        assert found, self.printed
        return found.group(0)

    def children(self) -> list[int]:
        """The processes that it started itself."""
        children = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(child) for child in children.read_text().split()] if children.exists() else []

    def workers(self) -> list[int]:
        """Those of them that serve: they have threads (a helper for cleaning up has none)."""
        return [child for child in self.children() if _threads(child) > 1]

    def stop(self) -> None:
        """Tell it to stop, and wait until it has."""
        self.process.terminate()
        self.process.join(PATIENCE_S)
        assert not self.process.is_alive()

    def kill(self) -> None:
        """End it by SIGKILL with every process that it started: it has no chance to tidy up."""
        for each in (self.process.pid, *self.children()):
            kill(each)
        self.process.join()


def kill(process_id: int) -> None:
    """End a process by SIGKILL, if it is still there."""
    with suppress(ProcessLookupError):
        os.kill(process_id, signal.SIGKILL)


def _threads(process_id: int) -> int:
    try:
        return len(list(Path(f"/proc/{process_id}/task").iterdir()))
    except FileNotFoundError:
        return 0


@contextmanager
def _unnamed_program() -> Iterator[None]:
    """Else whatever is started here, its workers too, would read the program first that runs here: a long run, say."""
    here: Any = sys.modules["__main__"]
    spec, path = here.__spec__, getattr(here, "__file__", None)
    here.__spec__ = here.__file__ = None
    try:
        yield
    finally:
        here.__spec__, here.__file__ = spec, path


@contextmanager
def started(*arguments: str) -> Iterator[Started]:
    """A command of the program, killed at the end."""
    here, there = _FORKED.Pipe(duplex=False)
    process = _FORKED.Process(target=_run, args=(arguments, there))
    with _unnamed_program():
        process.start()
    there.close()
    running = Started(process, here)
    try:
        yield running
    finally:
        running.kill()
        here.close()


@contextmanager
def killed_at_the_end(*arguments: str) -> Iterator[str]:
    """A server's address; it ends by SIGKILL with every process that it started."""
    with serving(*arguments) as server:
        yield server.address()


def serving(*arguments: str) -> AbstractContextManager[Started]:
    """A server on a free port, killed at the end."""
    return started(*arguments, "--host", "127.0.0.1", "--port", "0")


@contextmanager
def quick_server(*arguments: str) -> Iterator[Server]:
    """A server on a free port, told to stop at the end: it tidies up behind itself."""
    with serving(*arguments) as running:
        address = running.address()
        yield Server(address, running.printed)
        running.stop()
