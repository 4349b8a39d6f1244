"""An engine that is kept from test to test, so that each statement is compiled once."""

from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from meetapp.store import engine


@contextmanager
def kept_engine(url: str) -> Iterator[None]:
    """Meanwhile, whoever opens this database is given the same engine."""
    kept = engine.open_engine(url)
    opened = engine.open_engine
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "open_engine", lambda asked: kept if asked == url else opened(asked))
        yield
    kept.dispose()
