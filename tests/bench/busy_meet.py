"""The command of a run at a busy meet: on a new file or an empty database, with one process or several."""

import argparse
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Protocol

from meetapp.store.engine import sqlite_url


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
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix=f"meetapp-{amount}-") as folder:
        url = options.url or sqlite_url(Path(folder, "club.db"))
        outcome = run(url, getattr(options, amount), options.seed, options.workers)
    print("\n".join(outcome.faults))
    print(outcome.sentence())
    return 1 if outcome.faults else 0
