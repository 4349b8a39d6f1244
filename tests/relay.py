"""A radio between page and server that can be cut: passes bytes on, loses requests or answers, drops what is open."""

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from urllib.parse import urlsplit


class Relay:
    """Listens on a port of its own. `state`: 'good', 'no request gets through' or 'no answer gets through'."""

    def __init__(self, base: str) -> None:
        self._server = (str(urlsplit(base).hostname), urlsplit(base).port or 80)
        self._listening = socket.create_server(("127.0.0.1", 0))
        self._open: set[socket.socket] = set()
        self.state = "good"
        self.answers_lost = 0
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def base(self) -> str:
        """The address that the page uses."""
        return f"http://127.0.0.1:{self._listening.getsockname()[1]}"

    def move_to(self, base: str) -> None:
        """The server came up again elsewhere."""
        self._server = (str(urlsplit(base).hostname), urlsplit(base).port or 80)

    def lose(self, what: str) -> None:
        """From now on no 'request' or no 'answer' gets through; what is open is cut."""
        self.state = f"no {what} gets through"
        self.cut()

    def mend(self) -> None:
        """Everything gets through again."""
        self.state = "good"
        self.cut()

    def cut(self) -> None:
        """Drop every open connection."""
        for each in tuple(self._open):
            self._drop(each)

    def close(self) -> None:
        """Stop listening."""
        self._drop(self._listening)
        self.cut()

    def _drop(self, each: socket.socket) -> None:
        self._open.discard(each)
        with suppress(OSError):
            each.shutdown(socket.SHUT_RDWR)
        each.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                page, _ = self._listening.accept()
                if self.state == "no request gets through":
                    self._drop(page)
                    continue
                try:
                    server = socket.create_connection(self._server)
                except OSError:
                    self._drop(page)
                    continue
                self._open |= {page, server}
                threading.Thread(target=self._pass, args=(page, server, False), daemon=True).start()
                threading.Thread(target=self._pass, args=(server, page, True), daemon=True).start()

    def _pass(self, source: socket.socket, target: socket.socket, is_answer: bool) -> None:
        with suppress(OSError):
            while data := source.recv(65536):
                if is_answer and self.state == "no answer gets through":
                    self.answers_lost += 1
                    break
                target.sendall(data)
        self._drop(source)
        self._drop(target)


@contextmanager
def relay_to(base: str) -> Iterator[Relay]:
    """A relay in front of the server at this address."""
    relay = Relay(base)
    try:
        yield relay
    finally:
        relay.close()
