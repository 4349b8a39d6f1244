"""The heats of a meet as the review lists them: when each was called and landed, who flew on what, who didn't."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import Session, select

from meetapp.flows.heats.heat_rows import read_heats
from meetapp.flows.heats.heat_views import MISSING_WORDS
from meetapp.flows.heats.heat_words import heat_name
from meetapp.flows.review.review_rows import Names, channel_text
from meetapp.rules.heats import Heat, HeatState
from meetapp.store import tables as t

_STATE_WORDS: Mapping[HeatState, str] = {
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
    heats = read_heats(session, meet_id)
    rows = {row.id: row for row in session.exec(select(t.Heat).where(t.Heat.meet_id == meet_id))}
    titles = {heat.heat_id: heat_name(heat) for heat in heats}
    return tuple(_heat(heat, rows[heat.heat_id], titles, names) for heat in heats)


def _heat(heat: Heat, row: t.Heat, titles: Mapping[int, str], names: Names) -> ReviewHeat:
    return ReviewHeat(
        title=heat_name(heat),
        state=_STATE_WORDS[heat.state],
        called_at=row.called_at,
        landed_at=row.landed_at,
        seats=tuple(f"{names.pilots[seat.pilot_id]} ({channel_text(seat.label, seat.mhz)})" for seat in heat.seats),
        missing=tuple(f"{names.pilots[gap.seat.pilot_id]}: {MISSING_WORDS[gap.why]}" for gap in heat.gaps),
        again=titles.get(heat.again_for or 0, ""),
    )
