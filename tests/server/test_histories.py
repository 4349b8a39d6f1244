"""One order explains what people at a meet were answered while the server is killed (`tests.bench.histories`: long)."""

from pathlib import Path

import pytest

from meetapp.store.engine import sqlite_url
from tests.bench import histories

ACTIONS = 200


def test_one_order_explains_what_everybody_was_answered(tmp_path: Path) -> None:
    check(histories.run(sqlite_url(tmp_path / "club.db"), ACTIONS))


@pytest.mark.postgres
def test_one_order_explains_what_everybody_was_answered_on_postgresql(postgres_url: str) -> None:
    check(histories.run(postgres_url, ACTIONS // 2, seed=2))


def check(tally: histories.Tally) -> None:
    assert tally.faults == []
    assert tally.actions >= ACTIONS // 2
    assert tally.at_once > 0
    assert tally.kills == 1
