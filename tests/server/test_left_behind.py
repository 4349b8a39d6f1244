"""Whatever ends a run of tests, even SIGKILL: the servers that it started end with it."""

import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.server.test_workers import is_running, until

FORKED = """
from tests.quick_start import serving
with serving("serve", "--database", "sqlite:///" + sys.argv[1]) as server:
    server.address()
    print(server.process.pid, flush=True)
    time.sleep(600)
"""
DATABASE = """
from tests.own_server import own_server
with own_server() as server:
    print(server.get_pid(), flush=True)
    time.sleep(600)
"""


@pytest.mark.parametrize(
    "starting", [FORKED, pytest.param(DATABASE, marks=pytest.mark.postgres)], ids=["the program", "PostgreSQL"]
)
def test_a_server_ends_with_the_process_that_started_it(starting: str) -> None:
    with tempfile.TemporaryDirectory(prefix="meetapp-left-", ignore_cleanup_errors=True) as folder:
        Path(folder).chmod(0o755)
        check_it_ends(starting, Path(folder))


def check_it_ends(starting: str, folder: Path) -> None:
    program = f"import sys, time\nif __name__ == '__main__':\n{'    '.join(starting.splitlines(keepends=True))}"
    starter = subprocess.Popen(
        [sys.executable, "-c", program, str(folder / "club.db")],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "TMPDIR": str(folder)},
    )
    assert starter.stdout is not None
    server = int(starter.stdout.readline())
    assert is_running(server)
    starter.send_signal(signal.SIGKILL)
    starter.wait()
    starter.stdout.close()
    until(lambda: not is_running(server) and not list(folder.glob("meetapp-pg-*")))
