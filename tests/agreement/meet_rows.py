"""The meet itself: open or closed, alarms, pauses, reports, who is here with what."""

from collections.abc import Iterator

from sqlalchemy import Connection

from tests.agreement.reading import Row, moment, rows, unlike
from tests.agreement.told import Told

LOOKS = {
    "lines": "lines or snow",
    "other_picture": "somebody else's picture",
    "gone": "picture gone",
    "colour": "colour or sync lost",
    "unsure": "unsure",
}


def differences(connection: Connection, meet: Row, told: Told) -> Iterator[str]:
    """In what a meet, its alarms, pauses, reports and people aren't as the journal tells."""
    if told.state is not None and told.state != meet["state"]:
        yield f"it is {meet['state']}, by the journal {told.state}"
    times = (moment(meet["opened_at"]), moment(meet["closed_at"]))
    if told.opened is not None and times != (told.opened, told.closed):
        yield f"it was opened and closed at {times}, by the journal at {(told.opened, told.closed)}"
    if told.state is None and times[1] is not None:
        yield f"it was closed at {times[1]}, and the journal tells of no closing"
    for table, column, stretches in (("alarm", "kind", told.alarms), ("pause", "reason", told.pauses)):
        found = _counting(connection, table, meet["id"])
        stands = [[row[column], moment(row["started_at"]), moment(row["ended_at"])] for row in found]
        if stands != stretches:
            yield f"{table}s: {stands}, by the journal {stretches}"
    yield from _reports(connection, meet["id"], told)
    yield from _people(connection, meet["id"], told)


def _counting(connection: Connection, table: str, meet_id: int) -> list[Row]:
    query = f"SELECT * FROM {table} WHERE meet_id = :meet AND voided_at IS NULL ORDER BY id"
    return rows(connection, query, meet=meet_id)


def _reports(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    stands = {
        row["id"]: (row["pilot_id"], row["loan_id"], moment(row["happened_at"]), LOOKS[row["look"]])
        for row in _counting(connection, "clash_report", meet_id)
    }
    yield from unlike("report", stands, dict(told.reports))


def _people(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    found = {row["pilot_id"]: row for row in rows(
        connection, "SELECT * FROM attendance WHERE meet_id = :meet", meet=meet_id
    )}  # fmt: skip
    for pilot, is_here in told.here.items():
        row = found.get(pilot)
        if (row is not None and row["checked_in_at"] is not None and row["left_at"] is None) != is_here:
            yield f"pilot {pilot} is {'not ' if is_here else ''}here, by the journal it is otherwise"
    for pilot, transmitter in told.transmitters.items():
        row = found.get(pilot)
        if row is None or row["transmitter_id"] != transmitter:
            yield f"pilot {pilot} has today's transmitter {row and row['transmitter_id']}, by the journal {transmitter}"
