"""The check of journal against tables: quiet about a sound club, and not to be fooled by a spoilt one."""

import pytest
from sqlalchemy import text

from meetapp.flows.desk import alarms, reports
from tests.agreement import disagreements
from tests.desk import Desk

SPOILT = {
    "a hand-out without its line": "UPDATE journal_line SET kind = 'seen_on_goggles' WHERE kind = 'handed_out'",
    "a loan that came back without a line": "UPDATE loan SET in_at = out_at WHERE in_at IS NULL",
    "a loan since another time": "UPDATE loan SET out_at = '2026-06-14 11:00:00.000000'",
    "another holder": "UPDATE loan SET pilot_id = (SELECT max(id) FROM pilot) WHERE in_at IS NULL",
    "another setting": "UPDATE loan_setting SET mhz = mhz + 1 WHERE until_at IS NULL",
    "an open loan without a setting": "UPDATE loan_setting SET until_at = since_at",
    "a pilot gone from the line": "UPDATE line_entry SET left_at = joined_at",
    "a pilot who is passed": "UPDATE line_entry SET is_skipped = NOT is_skipped WHERE left_at IS NULL",
    "another reporter": "UPDATE clash_report SET pilot_id = (SELECT max(id) FROM pilot)",
    "an alarm that is over": "UPDATE alarm SET ended_at = started_at",
    "a missing token that hangs on the board": "UPDATE token SET state = 'usable'",
    "a tap without its answer": "DELETE FROM operation WHERE key = (SELECT min(key) FROM operation)",
    "an undo that undoes something else":
        "UPDATE journal_line SET undoes_id = (SELECT min(id) FROM journal_line WHERE kind = 'handed_out') "
        "WHERE kind = 'undone'",
}


@pytest.fixture
def busy(desk: Desk) -> Desk:
    """A little of everything: a loan that is out and one that came back, a line, an undo, a report, an alarm."""
    desk.join("Cy", "Di", "Ed")
    desk.hand_out("Ana", "R1")
    desk.hand_out("Cy", "F1")
    desk.take_back("Cy")
    desk.not_ready("Di")
    desk.undo(desk.hand_out("Bo", "F5"))
    desk.missing("R8")
    draft = reports.ReportDraft(desk.world.meet, desk.world.pilots["Ana"], "lines", "flight", "", 0, "", None)
    reports.add(desk.store, desk.deed(), draft)
    alarms.raise_alarm(desk.store, desk.deed(), "stray")
    return desk


def test_journal_and_tables_of_a_sound_club_agree(busy: Desk) -> None:
    assert disagreements(busy.store.url) == []


@pytest.mark.parametrize("spoil", SPOILT.values(), ids=SPOILT)
def test_a_spoilt_club_is_told(busy: Desk, spoil: str) -> None:
    with busy.store.write() as session:
        assert session.execute(text(spoil)).rowcount > 0  # type: ignore[attr-defined]
        session.commit()
    assert disagreements(busy.store.url) != []
