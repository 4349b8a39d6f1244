"""How long a command may search: so many seconds, or until Ctrl+C is pressed."""

import re
import signal
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

from meetapp.spectrum.channels import BadProblem

DEFAULT_SECONDS = "2"

_NUMBER = re.compile(r"[0-9]{1,6}(\.[0-9]{1,3})?")


def read_seconds(text: str) -> float:
    """The value of --seconds. Raises: BadProblem where it is no number above 0."""
    if not _NUMBER.fullmatch(text.strip()) or float(text) == 0:
        raise BadProblem("--seconds", f"--seconds must be a number above 0, not '{text}'.")
    return float(text)


@contextmanager
def time_for_search(seconds: float) -> Iterator[Callable[[], bool]]:
    """Gives the question 'is the time over?'. Ctrl+C answers it with yes; a second one stops the program as usual."""
    end = time.monotonic() + seconds
    is_stopped = False

    def stop(_signal: int, _frame: FrameType | None) -> None:
        nonlocal is_stopped
        is_stopped = True
        signal.signal(signal.SIGINT, usual)

    usual = signal.signal(signal.SIGINT, stop)
    try:
        yield lambda: is_stopped or time.monotonic() >= end
    finally:
        signal.signal(signal.SIGINT, usual)
