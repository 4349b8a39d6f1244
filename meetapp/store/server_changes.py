"""Changes for a database that several processes share: PostgreSQL carries them with the commit (LISTEN and NOTIFY)."""

import logging
import threading
import uuid
from collections.abc import Callable

import psycopg
from sqlalchemy import Engine, text
from sqlalchemy.orm import Session

from meetapp.store.change_feed import InProcessChanges, Wake

CHANNEL = "meetapp_change"
POLL_S = 1.0
"""How soon the listener notices that nobody wants to hear from it any more."""
AGAIN_S = 2.0
"""How long it waits before it calls a server again that didn't answer."""
_NOTICE_A_DEAD_SERVER = {
    "connect_timeout": "10",
    "keepalives_idle": "10",
    "keepalives_interval": "5",
    "keepalives_count": "2",
}

_log = logging.getLogger(__name__)


class ServerChanges:
    """One connection listens in a thread of its own while anybody in this process wants to hear."""

    def __init__(self, engine: Engine) -> None:
        address = engine.url.set(drivername="postgresql").update_query_dict(_NOTICE_A_DEAD_SERVER)
        self._address = address.render_as_string(hide_password=False)
        self._here = InProcessChanges()
        self._sender = uuid.uuid4().hex
        self._lock = threading.Lock()
        self._listeners = 0
        self._is_over: threading.Event | None = None

    def announce(self, session: Session) -> None:
        """Part of the write: the server passes it on at the commit, or never."""
        session.execute(text("SELECT pg_notify(:channel, :sender)"), {"channel": CHANNEL, "sender": self._sender})

    def publish(self) -> None:
        """Wake all in this process at once; the others hear from the server."""
        self._here.publish()

    def subscribe(self, wake: Wake) -> Callable[[], None]:
        """Have `wake` called after each commit, here or elsewhere, and after a break in hearing; the answer ends it."""
        leave = self._here.subscribe(wake)
        with self._lock:
            self._listeners += 1
            if self._is_over is None:
                self._is_over = threading.Event()
                threading.Thread(target=self._listen, args=(self._is_over,), name="changes", daemon=True).start()
        has_left = threading.Event()

        def end() -> None:
            if not has_left.is_set():
                has_left.set()
                leave()
                self._forget_one()

        return end

    def close(self) -> None:
        """Listen no more."""
        with self._lock:
            self._end()

    def _forget_one(self) -> None:
        with self._lock:
            self._listeners -= 1
            if self._listeners == 0:
                self._end()

    def _end(self) -> None:
        if self._is_over is not None:
            self._is_over.set()
            self._is_over = None

    def _listen(self, is_over: threading.Event) -> None:
        while not is_over.is_set():
            try:
                self._hear(is_over)
            except psycopg.OperationalError as error:
                _log.warning("not told of what other processes write, trying again: %s", str(error).strip())
                is_over.wait(AGAIN_S)

    def _hear(self, is_over: threading.Event) -> None:
        with psycopg.connect(self._address, autocommit=True) as connection:
            connection.execute(f"LISTEN {CHANNEL}")
            self._here.publish()  # whatever was committed before this was not heard
            while not is_over.is_set():
                for notice in connection.notifies(timeout=POLL_S):
                    if notice.payload != self._sender:
                        self._here.publish()
                    if is_over.is_set():
                        return
