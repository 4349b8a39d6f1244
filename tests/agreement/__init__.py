"""Whether the journal and the tables of a club tell the same: its lines replayed by themselves, then held to the rows.

It shares no code with the program: the tables are read as they stand, and what a line means is told here anew. For
any club, in use or not: `python -m tests.agreement URL`.
"""

from collections import Counter
from collections.abc import Iterator

from sqlalchemy import Connection, create_engine

from tests.agreement import club_rows, heat_rows, loan_rows, meet_rows
from tests.agreement.reading import Row, rows, unpacked
from tests.agreement.told import Told, replayed

REBUILT = {
    "alarm", "attendance", "clash_report", "heat", "heat_plan", "heat_seat", "journal_line", "line_entry", "loan",
    "loan_setting", "meet", "operation", "pass_offer", "pause", "pilot", "pilot_transmitter", "sharing", "token",
}  # fmt: skip
"""The tables that are held against the journal."""

_SAVED = "its lines say by whom and when it was saved, in words for people; what was saved stands in its row alone"
_SECRET = "it holds secrets, and the journal holds none"
_GUESSES = "counts of wrong guesses, which go by themselves: nobody's deed"
NOT_REBUILT = {
    "band_profile": _SAVED,
    "band_segment": _SAVED,
    "channel_plan": _SAVED,
    "plan_channel": _SAVED,
    "transmitter_kind": _SAVED,
    "site": _SAVED,
    "neighbour": _SAVED,
    "club": _SAVED,
    "meet_token": "lines of a chosen set say how many tokens and which MHz, not which tags",
    "desk_session": _SECRET,
    "guess_crowd": _GUESSES,
    "guess_source": _GUESSES,
    "installation": _SECRET,
}
"""The tables that are not, each with the reason."""

COLUMNS_NOT_REBUILT = {
    "heat": "position of heats to come: a plan and a change by hand tell what was asked for, not the order",
    "heat_plan": "floors, bounds and proofs: figures of the search, told on its page",
    "heat_seat": "who sits where on what: a plan's line tells how many heats and pilots, not each seat",
    "meet": "name, site, floors, PIN: told only as far as somebody reading along needs them",
    "pilot": "names: they stand in one place, so that they can be deleted",
    "loan": "override_reason of paper; holder_name of pilots",
    "line_entry": "head_since: worked out anew after each step",
    "attendance": "is_expected: its line tells how many are expected",
}
"""What of the tables that are held against the journal isn't, and why."""


def disagreements(url: str) -> list[str]:
    """Everything in which the journal and the tables of this club don't agree; empty where they do."""
    engine = create_engine(url)
    try:
        # One moment for all that is read, even where somebody writes meanwhile.
        options = {} if url.startswith("sqlite") else {"isolation_level": "REPEATABLE READ"}
        with engine.connect().execution_options(**options) as connection:
            if url.startswith("sqlite"):
                connection.exec_driver_sql("BEGIN")
            return list(_all(connection))
    finally:
        engine.dispose()


def _all(connection: Connection) -> Iterator[str]:
    lines = rows(connection, "SELECT * FROM journal_line ORDER BY id")
    for line in lines:
        line["facts"] = unpacked(line["facts"])
    undone = {line["undoes_id"] for line in lines}
    counting = [line for line in lines if line["id"] not in undone and line["kind"] != "undone"]
    taken_back = [line for line in lines if line["id"] in undone]
    imported = {line["meet_id"] for line in lines if line["kind"] == "meet_imported"}
    yield from _answers_and_lines(connection, lines)
    yield from club_rows.differences(connection, [line for line in counting if line["meet_id"] not in imported])
    for meet in rows(connection, "SELECT * FROM meet ORDER BY id"):
        if meet["id"] in imported:
            continue  # its lines were written elsewhere
        told = replayed(line for line in counting if line["meet_id"] == meet["id"])
        told.undone = [line for line in taken_back if line["meet_id"] == meet["id"]]
        for fault in _meet(connection, meet, told):
            yield f"meet {meet['id']}: {fault}"


def _meet(connection: Connection, meet: Row, told: Told) -> Iterator[str]:
    yield from told.odd
    for part in (loan_rows, meet_rows, heat_rows):
        yield from part.differences(connection, meet, told)


def _answers_and_lines(connection: Connection, lines: list[Row]) -> Iterator[str]:
    """Each line that can be undone came with one answer, which offers to undo it; no answer offers anything else."""
    answers = [unpacked(row["answer"]) for row in rows(connection, "SELECT answer FROM operation")]
    offered = Counter(answer["undo_id"] for answer in answers if answer["undo_id"] is not None)
    undoable = {line["id"] for line in lines if line["is_undoable"]}
    yield from (f"line {each} can be undone, and no answer says so" for each in sorted(undoable - offered.keys()))
    yield from (f"an answer offers to undo line {each}, which isn't there" for each in offered.keys() - undoable)
    yield from (f"line {each} belongs to {times} answers" for each, times in offered.items() if times > 1)
    known = {line["id"] for line in lines}
    yield from (
        f"line {line['id']} undoes {line['undoes_id']}, which isn't there"
        for line in lines
        if line["undoes_id"] is not None and line["undoes_id"] not in known
    )
