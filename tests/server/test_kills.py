"""A server that is killed in the middle of a busy meet (`tests.bench.kills` does the same many times)."""

from pathlib import Path

from meetapp.store.engine import sqlite_url
from tests.bench import kills


def test_nothing_answered_is_lost_and_nothing_half_done_while_the_server_is_killed(tmp_path: Path) -> None:
    tally = kills.run(sqlite_url(tmp_path / "club.db"), kills=5)
    assert tally.faults == []
    assert tally.kills == 5
    assert tally.answered > 0
