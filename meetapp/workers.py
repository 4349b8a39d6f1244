"""Several server processes behind one port, over a database server. The supervisor is uvicorn's own."""

import asyncio
import os
import signal
import socket
import threading
from collections.abc import Callable
from dataclasses import replace
from multiprocessing import parent_process
from types import FrameType

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send
from uvicorn.supervisors import Multiprocess

from meetapp.config import DATABASE_URL, NAMES, Settings
from meetapp.main import create_app
from meetapp.serving import GRACE_S, set_interpreter
from meetapp.store.engine import is_file
from meetapp.store.forward import CantOpen

MOST = 64
SILENT_S = 30
"""A process that says nothing for so long is taken for hung and replaced; a busy machine makes it wait far less."""


def check_count(count: int, url: str) -> None:
    """Whether so many processes may share this database.

    Raises:
        CantOpen: a file with more than one process, since their writes would wait for each other in no fair order.
    """
    if count > 1 and is_file(url):
        raise CantOpen(
            "A club in a file has one server process: leave --workers out. "
            "For more than one, move the club to PostgreSQL ('meetapp move')."
        )


def run_workers(settings: Settings, taken: socket.socket, count: int, announce: Callable[[Settings], None]) -> None:
    """Serve on the taken socket by so many processes until stopped; one that dies is started again.

    Raises:
        CantOpen: a process could not start.
        KeyboardInterrupt: stopped by Ctrl+C.
    """
    announce(replace(settings, port=taken.getsockname()[1]))
    # The processes begin with nothing but the environment.
    os.environ[DATABASE_URL] = settings.database_url
    os.environ[NAMES] = " ".join((settings.host, *settings.names))
    config = uvicorn.Config(
        "meetapp.workers:worker_app",
        factory=True,
        workers=count,
        log_level="warning",
        timeout_graceful_shutdown=GRACE_S,
        timeout_worker_healthcheck=SILENT_S,
        proxy_headers=False,
        server_header=False,
        ssl_certfile=settings.certificate,
        ssl_keyfile=settings.key,
    )
    supervisor = _Supervisor(config, [taken])
    supervisor.run()
    if supervisor.is_interrupted:
        raise KeyboardInterrupt
    if not supervisor.was_told:
        raise CantOpen("The server's processes could not start; what went wrong stands above.")


class _Supervisor(Multiprocess):
    """Remembers why it ended."""

    is_interrupted = False
    was_told = False

    def handle_int(self) -> None:
        """Ctrl+C."""
        self.is_interrupted = self.was_told = True
        super().handle_int()

    def handle_term(self) -> None:
        """Stopped by whatever started it."""
        self.was_told = True
        super().handle_term()


def worker_app() -> ASGIApp:
    """The app of one process; its settings come from the environment."""
    threading.Thread(target=_end_with_supervisor, name="end with supervisor", daemon=True).start()
    app = create_app(Settings(os.environ[DATABASE_URL], names=tuple(os.environ.get(NAMES, "").split())))
    set_interpreter()

    async def serve(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            _when_told_to_stop(app.state.meetapp.broadcaster.stop)
        await app(scope, receive, send)

    return serve


def _when_told_to_stop(end_streams: Callable[[], None]) -> None:
    """End the streams before the server waits for open answers. By then its own handlers stand: they follow."""
    loop = asyncio.get_running_loop()

    def also(then: Callable[[int, FrameType | None], object]) -> Callable[[int, FrameType | None], None]:
        def handle(number: int, frame: FrameType | None) -> None:
            loop.call_soon_threadsafe(end_streams)
            then(number, frame)

        return handle

    for number in (signal.SIGINT, signal.SIGTERM):
        then = signal.getsignal(number)
        if callable(then):
            signal.signal(number, also(then))


def _end_with_supervisor() -> None:
    """Without its supervisor a process would keep the port for ever."""
    supervisor = parent_process()
    if supervisor is not None:
        supervisor.join()
        os.kill(os.getpid(), signal.SIGTERM)
