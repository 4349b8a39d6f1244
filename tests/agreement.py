"""Whether the journal and the tables of a club tell the same: its lines replayed by themselves, then held to the rows.

It shares no code with the program: the tables are read as they stand, and what a line means is told here anew. For
any club, in use or not: `python -m tests.agreement URL`.
"""

import json
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, create_engine, text

Row = dict[str, Any]
GOES_OUT = ("handed_out", "handed_over", "turns_swapped", "ground_lent", "heat_token_out", "paper_loan_out")
COMES_BACK = ("taken_back", "ground_off", "token_missing", "heat_token_back", "heat_landed_late")
GETS_A_TOKEN = ("handed_out", "handed_over", "heat_token_out", "paper_loan_out")
HERE = ("checked_in", "checked_in_new", "here_by_self")
STATES = {"meet_opened": "open", "meet_closed": "closed"}
SOME_TIME = "some time"
ALARMS = {"Stray transmitter": "stray", "Everybody down": "down"}
TOKEN_STATES = {
    "token_missing": "missing", "token_found": "usable", "token_in_use_again": "usable", "token_withdrawn": "withdrawn",
}


@dataclass
class Told:
    """What the lines of one meet come to. `loans`: how each stands, by its id; `line`: who waits, in order."""

    loans: dict[int, Row] = field(default_factory=dict)
    line: dict[int, bool] = field(default_factory=dict)
    alarms: set[str] = field(default_factory=set)
    paused: bool = False
    reports: dict[int, tuple[int | None, int | None]] = field(default_factory=dict)
    here: dict[int, bool] = field(default_factory=dict)
    state: str | None = None


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
    lines = _rows(connection, "SELECT * FROM journal_line ORDER BY id")
    for line in lines:
        line["facts"] = _unpacked(line["facts"])
    undone = {line["undoes_id"] for line in lines}
    counting = [line for line in lines if line["id"] not in undone and line["kind"] != "undone"]
    yield from _answers_and_lines(connection, lines)
    yield from _tokens(connection, counting)
    for meet in _rows(connection, "SELECT id, state FROM meet ORDER BY id"):
        own = [line for line in counting if line["meet_id"] == meet["id"]]
        if any(line["kind"] == "meet_imported" for line in own):
            continue  # its lines were written elsewhere
        told = _replayed(own)
        for fault in _meet(connection, meet, told):
            yield f"meet {meet['id']}: {fault}"


def _rows(connection: Connection, query: str, **values: object) -> list[Row]:
    return [dict(row._mapping) for row in connection.execute(text(query), values)]


def _unpacked(value: Any) -> Any:
    return json.loads(value) if isinstance(value, str) else value


def _replayed(lines: list[Row]) -> Told:
    told = Told()
    for line in lines:
        _tell_loans(told, line, line["kind"], line["facts"])
        _tell_line(told.line, line["kind"], line["facts"])
        _tell_meet(told, line["kind"], line["facts"])
    return told


def _tell_loans(told: Told, line: Row, kind: str, facts: Row) -> None:
    if kind in GOES_OUT or kind == "paper_loan":
        if facts.get("loan_before"):
            _end(told, facts["loan_before"], line)
        told.loans[facts["loan"]] = {
            "token": facts.get("token"), "pilot": facts.get("pilot"), "mhz": facts.get("mhz"),
            "out": line["happened_at"], "in": SOME_TIME if kind == "paper_loan" else None,
        }
    elif kind in COMES_BACK and facts.get("loan"):
        _end(told, facts["loan"], line)
    elif kind == "setting_changed" and facts.get("loan") in told.loans:
        told.loans[facts["loan"]]["mhz"] = facts["mhz"]


def _tell_meet(told: Told, kind: str, facts: Row) -> None:
    if kind == "report_added":
        told.reports[facts["report"]] = (facts.get("pilot"), facts.get("loan"))
    elif kind in ("alarm_raised", "alarm_over"):
        told.alarms ^= {ALARMS[facts["name"]]}
    elif kind in ("paused", "resumed"):
        told.paused = kind == "paused"
    elif kind in STATES:
        told.state = STATES[kind]
    elif kind in HERE or kind == "went_home":
        told.here[facts["pilot"]] = kind != "went_home"


def _end(told: Told, loan_id: int, line: Row) -> None:
    if loan_id in told.loans:
        told.loans[loan_id]["in"] = line["entered_at"]


def _tell_line(standing: dict[int, bool], kind: str, facts: Row) -> None:
    """Who stands in the line, in order, and whether they are passed once."""
    pilot = facts.get("pilot")
    if kind == "line_joined":
        standing[facts["pilot"]] = False
    elif kind in ("line_not_ready", "line_ready_again") and pilot in standing:
        standing[facts["pilot"]] = kind == "line_not_ready"
    elif kind in GETS_A_TOKEN and pilot in standing:
        del standing[facts["pilot"]]
        standing.update(dict.fromkeys(standing, False))
    elif kind in ("line_left", "went_home"):
        standing.pop(facts["pilot"], None)
    elif kind == "sharing_started":
        standing.pop(facts["other_pilot"], None)
    elif kind == "meet_closed":
        standing.clear()


def _answers_and_lines(connection: Connection, lines: list[Row]) -> Iterator[str]:
    """Each line that can be undone came with one answer, which offers to undo it; no answer offers anything else."""
    answers = [_unpacked(row["answer"]) for row in _rows(connection, "SELECT answer FROM operation")]
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


def _tokens(connection: Connection, lines: list[Row]) -> Iterator[str]:
    told: dict[int, str] = {}
    for line in lines:
        if line["kind"] in TOKEN_STATES:
            told[line["facts"]["token"]] = TOKEN_STATES[line["kind"]]
        elif line["kind"] == "token_replaced":
            told[line["facts"]["token_before"]] = "withdrawn"
    states = {row["id"]: row["state"] for row in _rows(connection, "SELECT id, state FROM token")}
    for token, state in told.items():
        if states.get(token) != state:
            yield f"token {token} is {states.get(token)}, by the journal {state}"


def _meet(connection: Connection, meet: Row, told: Told) -> Iterator[str]:
    if told.state is not None and told.state != meet["state"]:
        yield f"it is {meet['state']}, by the journal {told.state}"
    yield from _loans(connection, meet["id"], told)
    line = _rows(
        connection,
        "SELECT pilot_id, is_skipped FROM line_entry WHERE meet_id = :meet AND left_at IS NULL AND voided_at IS NULL "
        "ORDER BY joined_at, id",
        meet=meet["id"],
    )
    stands = [(row["pilot_id"], bool(row["is_skipped"])) for row in line]
    if stands != list(told.line.items()):
        yield f"in the line stand {stands}, by the journal {list(told.line.items())}"
    alarms = {row["kind"] for row in _running(connection, "alarm", "kind", meet["id"])}
    if alarms != told.alarms:
        yield f"alarms on: {sorted(alarms)}, by the journal {sorted(told.alarms)}"
    if bool(_running(connection, "pause", "id", meet["id"])) != told.paused:
        yield f"by the journal the meet is {'paused' if told.paused else 'not paused'}, by the tables it isn't so"
    yield from _reports_and_presence(connection, meet["id"], told)


def _running(connection: Connection, table: str, column: str, meet_id: int) -> list[Row]:
    query = f"SELECT {column} FROM {table} WHERE meet_id = :meet AND ended_at IS NULL AND voided_at IS NULL"
    return _rows(connection, query, meet=meet_id)


def _loans(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    query = "SELECT * FROM loan WHERE meet_id = :meet AND voided_at IS NULL"
    rows = {row["id"]: row for row in _rows(connection, query, meet=meet_id)}
    yield from (f"loan {each} isn't in the journal" for each in sorted(rows.keys() - told.loans.keys()))
    yield from (f"loan {each} isn't in the table" for each in sorted(told.loans.keys() - rows.keys()))
    for loan_id in sorted(rows.keys() & told.loans.keys()):
        row, loan = rows[loan_id], told.loans[loan_id]
        if (row["token_id"], row["pilot_id"]) != (loan["token"], loan["pilot"]):
            yield f"loan {loan_id} names another token or pilot than the journal"
        if not _same_time(row["out_at"], loan["out"]):
            yield f"loan {loan_id} is out since {row['out_at']}, by the journal {loan['out']}"
        if not _came_in_alike(row["in_at"], loan["in"]):
            yield f"loan {loan_id} came in at {row['in_at']}, by the journal {loan['in']}"
    yield from _settings(connection, meet_id, rows, told)
    for what in ("token_id", "pilot_id"):
        open_ones = Counter(row[what] for row in rows.values() if row["in_at"] is None and row[what] is not None)
        yield from (f"{what} {each} has {times} open loans" for each, times in open_ones.items() if times > 1)


def _settings(connection: Connection, meet_id: int, rows: dict[int, Row], told: Told) -> Iterator[str]:
    """An open loan has one current setting, that which was told last; another has none."""
    query = (
        "SELECT loan_id, mhz FROM loan_setting JOIN loan ON loan.id = loan_id WHERE loan.meet_id = :meet "
        "AND until_at IS NULL AND loan_setting.voided_at IS NULL"
    )
    current = [(row["loan_id"], row["mhz"]) for row in _rows(connection, query, meet=meet_id)]
    out = {loan_id for loan_id, row in rows.items() if row["in_at"] is None}
    expected = [(loan_id, told.loans[loan_id]["mhz"]) for loan_id in out & told.loans.keys()]
    if sorted(current) != sorted(expected):
        yield f"set now (loan, MHz): {sorted(current)}, by the journal {sorted(expected)}"


def _came_in_alike(in_at: object, told: object) -> bool:
    if in_at is None or told is None:
        return in_at is told
    return told == SOME_TIME or _same_time(in_at, told)


def _same_time(one: object, other: object) -> bool:
    return one is not None and other is not None and _moment(one) == _moment(other)


def _moment(value: object) -> datetime:
    found = datetime.fromisoformat(value) if isinstance(value, str) else value
    assert isinstance(found, datetime)
    return found.replace(tzinfo=None) if found.utcoffset() is None else found


def _reports_and_presence(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    query = "SELECT id, pilot_id, loan_id FROM clash_report WHERE meet_id = :meet AND voided_at IS NULL"
    reports = {row["id"]: (row["pilot_id"], row["loan_id"]) for row in _rows(connection, query, meet=meet_id)}
    if reports != told.reports:
        yield f"reports: {reports}, by the journal {told.reports}"
    query = "SELECT pilot_id, checked_in_at, left_at FROM attendance WHERE meet_id = :meet"
    here = {
        row["pilot_id"]: row["checked_in_at"] is not None and row["left_at"] is None
        for row in _rows(connection, query, meet=meet_id)
    }
    for pilot, is_here in told.here.items():
        if here.get(pilot) != is_here:
            yield f"pilot {pilot} is {'not ' if is_here else ''}here, by the journal it is otherwise"


if __name__ == "__main__":
    found = disagreements(sys.argv[1])
    print("\n".join(found) or "The journal and the tables agree.")
    sys.exit(bool(found))
