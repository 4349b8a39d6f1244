"""Start the server: check everything that can be wrong first, touch nothing if something is."""

import errno
import gc
import socket
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI

from meetapp.config import Settings, data_folder
from meetapp.main import create_app
from meetapp.store.backup import only_one
from meetapp.store.engine import file_of, is_file
from meetapp.store.forward import CantOpen, bring_file_forward
from meetapp.store.server_database import check_server

SWITCH_S = 0.0001
"""How long a thread may keep the interpreter while others want it (Python's own: 5 ms). A deed lets go of it at each of
its dozen statements and hand-overs, and then waits behind the pages that are made meanwhile: so often for so long.
"""
GRACE_S = 3
"""How long a stopping server waits for answers that are on their way."""


def listen(host: str, port: int) -> socket.socket:
    """A socket on the wanted port, taken before the database is touched.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    taken = socket.socket(family, socket.SOCK_STREAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((host, port))
        # From here on a call waits for the app to stand, rather than being refused just after the address was printed.
        taken.listen()
    except (OSError, OverflowError) as error:
        taken.close()
        raise CantOpen(_why_not_listening(host, port, error)) from error
    return taken


def _why_not_listening(host: str, port: int, error: Exception) -> str:
    code = getattr(error, "errno", None)
    if isinstance(error, socket.gaierror) or code in (errno.EADDRNOTAVAIL, errno.EINVAL):
        return f"{host} is no address of this machine. Choose another with --host, or leave it out for all of them."
    if code == errno.EADDRINUSE:
        return f"Port {port} is in use by another program. Choose another with --port."
    if code == errno.EACCES:
        return f"Port {port} may not be opened by this user. Choose one above 1023 with --port."
    return f"Port {port} can't be opened on {host}. Choose another with --port."


def prepare_database(url: str, now: datetime) -> Path | None:
    """Check the database and bring a SQLite file forward; returns the path of the copy that was kept, if one was.

    Raises:
        CantOpen: with a sentence that says what to do.
    """
    if not is_file(url):
        check_server(url, data_folder("migrations"))
        return None
    path = file_of(url)
    return bring_file_forward(path, data_folder("migrations"), now)


def hold_database(url: str) -> AbstractContextManager[None]:
    """Keep other servers off a SQLite file meanwhile; a database server puts several in order itself.

    Raises:
        CantOpen: (on entering) a server runs on the file.
    """
    return only_one(file_of(url)) if is_file(url) else nullcontext()


class PromptServer(uvicorn.Server):
    """A server that ends the streams of live pages when it is told to stop: they would go on for ever."""

    def __init__(self, app: FastAPI, **options: Any) -> None:
        super().__init__(
            uvicorn.Config(
                app, timeout_graceful_shutdown=GRACE_S, proxy_headers=False, server_header=False, **options
            )
        )
        self._broadcaster = app.state.meetapp.broadcaster

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        """End the streams, then everything else."""
        self._broadcaster.stop()
        await super().shutdown(sockets)


def set_interpreter() -> None:
    """Have everybody answered in time: called once the app stands.

    Threads take short turns, and what stands now is left out when Python looks for garbage: it stays for as long as the
    server, and to walk through it took a third of a second, with everybody waiting.
    """
    sys.setswitchinterval(SWITCH_S)
    gc.collect()
    gc.freeze()


def run(settings: Settings, taken: socket.socket, announce: Callable[[Settings], None]) -> None:
    """Serve on the taken socket until stopped. `announce` prints the addresses once the app stands."""
    app = create_app(settings)
    set_interpreter()
    announce(replace(settings, port=taken.getsockname()[1]))
    server = PromptServer(app, log_level="warning", ssl_certfile=settings.certificate, ssl_keyfile=settings.key)
    server.run(sockets=[taken])


def own_addresses(host: str) -> tuple[str, ...]:
    """The addresses under which phones on the same network may reach this machine (nothing is sent to find out).

    As they stand in a web address:

    >>> own_addresses("::1"), own_addresses("192.168.4.1")
    (('[::1]',), ('192.168.4.1',))
    """
    if host not in ("0.0.0.0", "::"):
        return (f"[{host}]" if ":" in host else host,)
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Connecting a datagram socket only picks the outgoing address; 192.0.2.0/24 is for texts (RFC 5737).
            probe.connect(("192.0.2.1", 9))
            found.append(str(probe.getsockname()[0]))
        except OSError:
            pass
    return tuple(dict.fromkeys(found)) or ("127.0.0.1",)


