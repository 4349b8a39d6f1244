"""The heats of a meet as the review lists them: when each was called and landed, who flew on what, who didn't."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import cast

from sqlmodel import Session, col, select

from meetapp.flows.heats.heat_rows import seat_rows
from meetapp.flows.heats.heat_views import MISSING_WORDS
from meetapp.flows.review.review_rows import Names, channel_text
from meetapp.rules.heats import WhyMissing
from meetapp.store import tables as t

_STATE_WORDS = {
    "planned": "not called",
    "called": "in the air",
    "flown": "flown",
    "voided": "flown, doesn't count",
}


@dataclass(frozen=True, slots=True)
class ReviewHeat:
    """One heat in words. `seats`: who has one, on what; `missing`: who flew not, with why. `again`: the title of the
    heat that it was flown again for ('' for none)."""

    title: str
    state: str
    called_at: datetime | None
    landed_at: datetime | None
    seats: tuple[str, ...]
    missing: tuple[str, ...]
    again: str


def read_review_heats(session: Session, meet_id: int, names: Names) -> tuple[ReviewHeat, ...]:
    """Every heat of a meet in the order of flying; those that were dropped are left out."""
    rows = session.exec(
        select(t.Heat)
        .where(t.Heat.meet_id == meet_id, col(t.Heat.voided_at).is_(None), t.Heat.state != "dropped")
        .order_by(col(t.Heat.position), col(t.Heat.id))
    ).all()
    titles = {row.id: f"Round {row.round}, heat {row.number}" for row in rows}
    seats = seat_rows(session, [row.id for row in rows])
    return tuple(_heat(row, seats[row.id], titles, names) for row in rows)


def _heat(row: t.Heat, seats: Sequence[t.HeatSeat], titles: dict[int, str], names: Names) -> ReviewHeat:
    who = {seat.id: names.pilots[seat.pilot_id] for seat in seats}
    flew = [f"{who[seat.id]} ({channel_text(seat.label, seat.mhz)})" for seat in seats if not seat.missing]
    missing = [
        f"{who[seat.id]}: {MISSING_WORDS[cast(WhyMissing, seat.missing)]}" for seat in seats if seat.missing
    ]
    return ReviewHeat(
        title=titles[row.id],
        state=_STATE_WORDS[row.state],
        called_at=row.called_at,
        landed_at=row.landed_at,
        seats=tuple(flew),
        missing=tuple(missing),
        again=titles.get(row.again_for_id or 0, ""),
    )
