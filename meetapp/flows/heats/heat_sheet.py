"""The heats of a meet on paper: round by round, and pilot by pilot."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from meetapp.flows.heats.ground import read_ground
from meetapp.flows.heats.heat_views import RoundView, SeatView, people_of, round_views
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.store import tables as t
from meetapp.store.engine import Store


@dataclass(frozen=True, slots=True)
class OwnHeat:
    """One line of a pilot's list: the heat, and the seat in it."""

    title: str
    seat: SeatView


@dataclass(frozen=True, slots=True)
class HeatSheet:
    """The heats that count, to be printed. `by_pilot`: (name, their heats in order of flying), by name."""

    meet_name: str
    site_name: str
    on_date: date
    zone: ZoneInfo
    printed_at: datetime
    rounds: tuple[RoundView, ...]
    by_pilot: tuple[tuple[str, tuple[OwnHeat, ...]], ...]


def heat_sheet(store: Store, meet_id: int, now: datetime) -> HeatSheet:
    """Read the heats for paper; those that don't count any more are left out."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        site_name, on_date = session.get_one(t.Site, meet.site_id).name, meet.on_date
        ground = read_ground(session, meet, now)
    rounds = tuple(_counting(round_views(ground.heats, people_of(ground, ground.heats, ground.pads))))
    return HeatSheet(
        meet_name=ground.snapshot.meet_name,
        site_name=site_name,
        on_date=on_date,
        zone=ground.snapshot.zone,
        printed_at=now,
        rounds=rounds,
        by_pilot=_by_pilot(rounds),
    )


def _counting(rounds: tuple[RoundView, ...]) -> Iterator[RoundView]:
    for each in rounds:
        heats = tuple(heat for heat in each.heats if heat.state != "voided" and heat.seats)
        if heats:
            yield RoundView(each.number, heats)


def _by_pilot(rounds: tuple[RoundView, ...]) -> tuple[tuple[str, tuple[OwnHeat, ...]], ...]:
    own: dict[tuple[str, int], list[OwnHeat]] = {}
    for each in rounds:
        for heat in each.heats:
            for seat in heat.seats:
                own.setdefault((seat.name, seat.pilot_id), []).append(OwnHeat(heat.title, seat))
    in_order = sorted(own, key=lambda pilot: (pilot[0].casefold(), pilot[1]))
    return tuple((pilot[0], tuple(own[pilot])) for pilot in in_order)
