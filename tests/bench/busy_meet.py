"""The command of a run at a busy meet: on a new file or an empty database, with one process or several."""

import argparse
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Protocol

from meetapp.store.engine import sqlite_url
from tests.own_server import address_of, own_server
from tests.postgres import new_database


class Outcome(Protocol):
    """What came of a run."""

    faults: list[str]

    def sentence(self) -> str:
        """All that was counted."""


def command(
    doc: str | None, amount: str, run: Callable[[str, int, int, int], Outcome], usual: int | None = None
) -> int:
    """Read the options, call `run(url, amount, seed, workers)`, print what came of it; 1 if anything was wrong.

    `amount`: what the first argument counts. `usual`: how many if none are named (None: it has to be named).
    """
    parser = argparse.ArgumentParser(description=doc, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument(amount, type=int, nargs=None if usual is None else "?", default=usual)
    parser.add_argument("url", nargs="?", help="an empty database (else a file of its own)")
    parser.add_argument("--postgres", action="store_true", help="a PostgreSQL server of its own, gone at the end")
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with _place(options) as url:
        outcome = run(url, getattr(options, amount), options.seed, options.workers)
    print("\n".join(outcome.faults))
    print(outcome.sentence())
    return 1 if outcome.faults else 0


@contextmanager
def _place(options: argparse.Namespace) -> Iterator[str]:
    """The database to run on."""
    if options.url:
        yield options.url
    elif options.postgres:
        with own_server() as server, new_database(address_of(server)) as url:
            yield url
    else:
        with tempfile.TemporaryDirectory(prefix="meetapp-run-") as folder:
            yield sqlite_url(Path(folder, "club.db"))
