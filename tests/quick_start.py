"""Servers that start within a second: each is a process of its own, forked from one that has read the program already.

What runs there is the command itself (`meetapp serve`) over a real port, so that it may be killed as any other.
"""

import io
import multiprocessing
import os
import re
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from meetapp.cli import main
from meetapp.web.routes import all_routers

all_routers()  # reads the modules of all pages now: a forked server has them
_FORKED = multiprocessing.get_context("forkserver")
_FORKED.set_forkserver_preload(["tests.quick_start", "meetapp.main", "uvicorn.protocols.http.auto"])


class _Printed(io.TextIOBase):
    """Takes what the command prints to the process that started it."""

    def __init__(self, to: Connection) -> None:
        self._to = to

    def write(self, text: str) -> int:
        """As a file does."""
        self._to.send(text)
        return len(text)


def _serve(arguments: tuple[str, ...], to: Connection) -> None:
    printed: Any = _Printed(to)
    sys.stdout = printed
    sys.exit(main([*arguments, "--host", "127.0.0.1", "--port", "0"]))


@contextmanager
def killed_at_the_end(*arguments: str) -> Iterator[str]:
    """A server's address; it ends by SIGKILL with every process that it started, and has no chance to tidy up."""
    here, there = _FORKED.Pipe(duplex=False)
    process = _FORKED.Process(target=_serve, args=(arguments, there))
    process.start()
    there.close()
    try:
        printed = ""
        while "Ctrl+C" not in printed:
            printed += here.recv()
        found = re.search(r"http://127\.0\.0\.1:\d+", printed)
        assert found, printed
        yield found.group(0)
    finally:
        assert process.pid is not None
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children")
        started = [int(child) for child in children.read_text().split()] if children.exists() else []
        for each in (process.pid, *started):
            try:
                os.kill(each, signal.SIGKILL)
            except ProcessLookupError:
                continue
        process.join()
        here.close()
