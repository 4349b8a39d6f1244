"""What the loan sheet of a day shows: the tokens, and who holds one now."""

from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from meetapp.flows.planning.meet_rows import find_meet
from meetapp.flows.printing.day import Day, day_of
from meetapp.flows.snapshot import OnAir, TokenNow, take_snapshot
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class LoanSheet:
    """A loan sheet: the tokens that aren't withdrawn, and the loans that are out now (none before the meet)."""

    day: Day
    zone: ZoneInfo
    tokens: tuple[TokenNow, ...]
    on_air: tuple[OnAir, ...]


def loan_sheet(store: Store, meet_id: int, now: datetime) -> LoanSheet:
    """The loan sheet of a meet."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        snapshot = take_snapshot(session, meet, now)
        return LoanSheet(
            day=day_of(session, meet),
            zone=snapshot.zone,
            tokens=tuple(token for token in snapshot.tokens if token.state != "withdrawn"),
            on_air=tuple(loan for loan in snapshot.on_air if loan.token_id is not None),
        )
