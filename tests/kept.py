"""An engine that is kept from test to test, so that each statement is compiled once; and no copies beside a test."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from meetapp.store import engine
from meetapp.store.engine import Store


@contextmanager
def kept_engine(url: str) -> Iterator[None]:
    """Meanwhile, whoever opens this database is given the same engine."""
    kept = engine.open_engine(url)
    opened = engine.open_engine
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(engine, "open_engine", lambda asked: kept if asked == url else opened(asked))
        yield
    kept.dispose()


def lay(source: Path, store: Store, path: Path) -> None:
    """Put a copy of that file where the store's database lies."""
    store.close()
    for each in path.parent.glob(f"{path.name}*"):
        each.unlink()
    shutil.copy(source, path)


def no_copies(_work: Callable[[], None]) -> None:
    """Leave the copies undone that the tool makes by itself: they would outlive the test."""
