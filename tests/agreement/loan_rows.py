"""Loans with their settings, the waiting line, turns and offers: the rows held to what the lines told."""

from collections import Counter
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection

from tests.agreement.reading import Row, moment, rows, unlike
from tests.agreement.told import GOES_OUT, SOME_TIME, Told, ToldLoan


def differences(connection: Connection, meet: Row, told: Told) -> Iterator[str]:
    """In what the loans, the line, turns and offers of a meet aren't as the journal tells."""
    every = rows(connection, "SELECT * FROM loan WHERE meet_id = :meet", meet=meet["id"])
    kept = {row["id"]: row for row in every if row["voided_at"] is None}
    yield from _loans(kept, told)
    yield from _undone_rows(every, told)
    yield from _settings(connection, meet["id"], told)
    yield from _line(connection, meet["id"], told)
    yield from _turns(connection, meet["id"], told)
    yield from _offers(connection, meet["id"], told)


def _loans(kept: dict[int, Row], told: Told) -> Iterator[str]:
    stands = {loan_id: _as_told(row, told.loans.get(loan_id)) for loan_id, row in kept.items()}
    yield from unlike("loan", stands, {loan_id: _facts(loan) for loan_id, loan in told.loans.items()})
    for what in ("token_id", "pilot_id"):
        open_ones = Counter(row[what] for row in kept.values() if row["in_at"] is None and row[what] is not None)
        yield from (f"{what} {each} has {times} open loans" for each, times in open_ones.items() if times > 1)
    for what, whose in (("token_id", "token"), ("pilot_id", "pilot")):
        stood = Counter(row[what] for row in kept.values())
        counted = Counter(getattr(loan, whose) for loan in told.loans.values())
        yield from (
            f"{whose} {each} had {stood[each]} loans, by the journal {counted[each]}"
            for each in sorted(stood | counted, key=str)
            if stood[each] != counted[each]
        )


def _facts(loan: ToldLoan) -> tuple[Any, ...]:
    reason = "" if loan.is_paper else "; ".join(loan.reasons)
    return (loan.token, loan.pilot, loan.name, loan.out, loan.back, loan.is_missing, loan.seen, reason)


def _as_told(row: Row, loan: ToldLoan | None) -> tuple[Any, ...]:
    """A row in the shape of `_facts`, without what the journal tells less exactly."""
    is_paper = loan is not None and loan.is_paper
    back = moment(row["in_at"])
    return (
        row["token_id"],
        row["pilot_id"],
        row["holder_name"] if row["pilot_id"] is None else "",
        moment(row["out_at"]),
        SOME_TIME if loan and loan.back == SOME_TIME and back else back,
        bool(row["ended_missing"]),
        moment(row["seen_at"]),
        "" if is_paper else row["override_reason"],
    )


def _undone_rows(every: list[Row], told: Told) -> Iterator[str]:
    """Exactly the loans of lines that were undone count no more."""
    voided = {row["id"] for row in every if row["voided_at"] is not None}
    undone = {line["facts"]["loan"] for line in told.undone if line["kind"] in (*GOES_OUT, "paper_loan")}
    if voided != undone:
        yield f"loans that don't count: {sorted(voided)}, by the journal {sorted(undone)}"


def _settings(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    """Every setting of every loan, in order; the last one of an open loan has no end."""
    found = rows(
        connection,
        "SELECT s.* FROM loan_setting s JOIN loan ON loan.id = s.loan_id WHERE loan.meet_id = :meet "
        "AND loan.voided_at IS NULL AND s.voided_at IS NULL ORDER BY s.id",
        meet=meet_id,
    )
    stands: Row = {}
    for row in found:
        loan = told.loans.get(row["loan_id"])
        until = moment(row["until_at"])
        if loan is not None and loan.back == SOME_TIME and until:
            until = SOME_TIME  # type: ignore[assignment]
        transmitter = None if loan and loan.is_paper else row["transmitter_id"]
        stands.setdefault(row["loan_id"], []).append(
            [transmitter, row["label"], row["mhz"], moment(row["since_at"]), until]
        )
    yield from unlike("setting of loan", stands, {loan_id: loan.settings for loan_id, loan in told.loans.items()})


def _line(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    found = rows(
        connection,
        "SELECT * FROM line_entry WHERE meet_id = :meet AND voided_at IS NULL ORDER BY joined_at, id",
        meet=meet_id,
    )
    stays = [[row["pilot_id"], moment(row["joined_at"]), bool(row["was_served"]), moment(row["left_at"])]
             for row in found]
    if sorted(stays, key=str) != sorted(told.stays, key=str):
        yield f"in the line stood {stays}, by the journal {told.stays}"
    standing = [(row["pilot_id"], bool(row["is_skipped"])) for row in found if row["left_at"] is None]
    if standing != list(told.passed.items()):
        yield f"in the line stand {standing}, by the journal {list(told.passed.items())}"
    ready = [row for row in found if row["left_at"] is None and not row["is_skipped"]]
    head = (ready or [row for row in found if row["left_at"] is None])[:1]
    timed = [row for row in found if row["left_at"] is None and row["head_since"] is not None]
    if timed != head:
        yield f"a time at the head of the line have {[row['pilot_id'] for row in timed]}"


def _turns(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    found = _stretches(connection, "sharing", meet_id)
    stands = [
        [row["token_id"], row["pilot_id"], row["partner_id"], moment(row["started_at"]), moment(row["ended_at"])]
        for row in found
    ]
    if stands != told.turns:
        yield f"turns: {stands}, by the journal {told.turns}"


def _offers(connection: Connection, meet_id: int, told: Told) -> Iterator[str]:
    found = _stretches(connection, "pass_offer", meet_id)
    stands = [
        [row["loan_id"], row["to_pilot_id"], bool(row["was_taken"]), moment(row["started_at"]), moment(row["ended_at"])]
        for row in found
    ]
    if stands != told.offers:
        yield f"offers: {stands}, by the journal {told.offers}"


def _stretches(connection: Connection, table: str, meet_id: int) -> list[Row]:
    query = f"SELECT * FROM {table} WHERE meet_id = :meet AND voided_at IS NULL ORDER BY id"
    return rows(connection, query, meet=meet_id)
