"""A long sum without the search for garbage, which looks again and again at all that the program holds."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Put the search off until this ends. For what refers to nothing that refers back: that is freed at once anyhow.

    Two at a time do no harm: whoever was first searches again.

    >>> with uncollected():
    ...     gc.isenabled()
    False
    >>> gc.isenabled()
    True
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
