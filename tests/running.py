"""The program behind a real port: as a process of its own, started as a user starts it, or as an app in a thread."""

import os
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from fastapi import FastAPI

from meetapp.serving import PromptServer

# On Linux it ends with the process that started it, even if that is killed.
_ENDING_WITH_THE_TESTS = ("setpriv", "--pdeathsig", "KILL") if shutil.which("setpriv") else ()


@dataclass(frozen=True)
class Server:
    """A running server: its base address and everything it printed before it began to serve."""

    base: str
    printed: str

    def printed_path(self, pattern: str) -> str:
        """The first part of what it printed that fits, such as '/first-visit/\\\\S+'."""
        found = re.search(pattern, self.printed)
        assert found, f"{pattern} is not in:\n{self.printed}"
        return found.group(0)


def start_server(*arguments: str, environment: dict[str, str] | None = None) -> tuple[subprocess.Popen[str], Server]:
    """Start the program and wait until it has printed its addresses."""
    process = subprocess.Popen(
        [*_ENDING_WITH_THE_TESTS, sys.executable, "-m", "meetapp", *arguments, "--host", "127.0.0.1", "--port", "0"],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, **(environment or {}), "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    printed = ""
    for line in process.stdout:
        printed += line
        if "Ctrl+C" in line:
            break
    found = re.search(r"(https?)://\S+?:(\d+)", printed)
    assert found, f"the server printed no address:\n{printed}"
    return process, Server(f"{found[1]}://127.0.0.1:{found[2]}", printed)


def stop_server(process: subprocess.Popen[str]) -> None:
    process.terminate()
    try:
        process.wait(timeout=240)
    except subprocess.TimeoutExpired:
        process.kill()
        raise


@contextmanager
def running(app: FastAPI) -> Iterator[str]:
    """The app behind a real port of this machine."""
    server = PromptServer(app, host="127.0.0.1", port=0, log_level="error")
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        assert thread.is_alive()
    try:
        yield f"http://127.0.0.1:{server.servers[0].sockets[0].getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
