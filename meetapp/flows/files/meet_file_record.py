"""The rows of one meet as a meet file tells them, and the numbers that stand for their ids."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session, col, select

from meetapp.flows.files.meet_file_refs import ids_in
from meetapp.store import field_queries as queries
from meetapp.store import tables as t


@dataclass(frozen=True, slots=True)
class Record:
    """The rows of one meet, each list in the order of its ids."""

    meet: t.Meet
    attendances: Sequence[t.Attendance]
    chosen: frozenset[int]
    loans: Sequence[t.Loan]
    settings: Sequence[t.LoanSetting]
    line: Sequence[t.LineEntry]
    sharing: Sequence[t.Sharing]
    offers: Sequence[t.PassOffer]
    pauses: Sequence[t.Pause]
    alarms: Sequence[t.Alarm]
    reports: Sequence[t.ClashReport]
    heat_plans: Sequence[t.HeatPlan]
    heats: Sequence[t.Heat]
    seats: Sequence[t.HeatSeat]
    journal: Sequence[t.JournalLine]


class Refs:
    """The number of each row in the file: 1, 2, 3 ... in the order of the ids."""

    def __init__(self) -> None:
        self._numbers: dict[str, dict[int, int]] = {}

    def add(self, rows: str, ids: Iterable[int | None]) -> None:
        """Number the rows with these ids."""
        known = sorted({each for each in ids if each is not None})
        self._numbers[rows] = {row_id: number for number, row_id in enumerate(known, start=1)}

    def ids(self, rows: str) -> Collection[int]:
        """The ids that are numbered, in order."""
        return self._numbers[rows].keys()

    def of(self, rows: str, row_id: int | None) -> int | None:
        """The number of a row; None for no row, and for one that isn't in the file."""
        return None if row_id is None else self._numbers[rows].get(row_id)


def read_record(session: Session, meet: t.Meet) -> Record:
    """Read every row of a meet, undone ones too."""

    def rows(table: type[Any]) -> Sequence[Any]:
        return session.exec(select(table).where(table.meet_id == meet.id).order_by(table.id)).all()

    settings = select(t.LoanSetting).join(t.Loan, col(t.Loan.id) == t.LoanSetting.loan_id)
    seats = select(t.HeatSeat).join(t.Heat, col(t.Heat.id) == t.HeatSeat.heat_id)
    return Record(
        meet=meet,
        attendances=[row for row in rows(t.Attendance) if row.is_expected or row.checked_in_at is not None],
        chosen=frozenset(token.id for token in queries.meet_tokens(session, meet.id)),
        loans=rows(t.Loan),
        settings=session.exec(settings.where(t.Loan.meet_id == meet.id).order_by(col(t.LoanSetting.id))).all(),
        line=rows(t.LineEntry),
        sharing=rows(t.Sharing),
        offers=rows(t.PassOffer),
        pauses=rows(t.Pause),
        alarms=rows(t.Alarm),
        reports=rows(t.ClashReport),
        heat_plans=rows(t.HeatPlan),
        heats=rows(t.Heat),
        seats=session.exec(seats.where(t.Heat.meet_id == meet.id).order_by(col(t.HeatSeat.id))).all(),
        journal=rows(t.JournalLine),
    )


def number_rows(session: Session, record: Record) -> Refs:
    """Number every row that the meet names, and those that these name in turn."""

    def told(rows: str) -> list[int]:
        return [each for line in record.journal for each in ids_in(line.facts, rows)]

    refs = Refs()
    refs.add("loans", [row.id for row in record.loans])
    refs.add("reports", [row.id for row in record.reports])
    refs.add("heat_plans", [row.id for row in record.heat_plans])
    refs.add("heats", [row.id for row in record.heats])
    refs.add("journal", [row.id for row in record.journal])
    with_token: list[Any] = [*record.loans, *record.sharing, *record.seats]
    refs.add("tokens", [*record.chosen, *told("tokens"), *(row.token_id for row in with_token)])
    with_transmitter: list[Any] = [*record.attendances, *record.settings, *record.seats]
    refs.add("transmitters", [*told("transmitters"), *(row.transmitter_id for row in with_transmitter)])
    owned = [session.get_one(t.PilotTransmitter, each) for each in refs.ids("transmitters")]
    refs.add("kinds", [*told("kinds"), *(own.kind_id for own in owned)])
    with_pilot: list[Any] = [*record.attendances, *record.loans, *record.line, *record.sharing, *record.reports]
    refs.add(
        "pilots",
        [
            *told("pilots"),
            *(row.pilot_id for row in (*with_pilot, *record.seats, *owned)),
            *(row.partner_id for row in record.sharing),
            *(row.to_pilot_id for row in record.offers),
            *(row.actor_pilot_id for row in record.journal),
        ],
    )
    return refs
