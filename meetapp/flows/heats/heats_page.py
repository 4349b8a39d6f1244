"""The organiser's page of heats, the question before they are made, and the look at them with nothing written."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from meetapp.flows.heats.day_plan import PlannedDay, PlannedStretch, Search, Wanted, plan_day, planned_day
from meetapp.flows.heats.ground import Flyer, Ground, PlanNow, read_ground
from meetapp.flows.heats.heat_views import RoundView, people_of, round_views
from meetapp.flows.heats.making import read_meet
from meetapp.flows.planning.meet_rows import find_meet
from meetapp.rules.heat_rounds import begun, pilots_to_come
from meetapp.rules.heats import Heat
from meetapp.spectrum.heats import Spare, Unmet, unmet_demands
from meetapp.store.engine import Store

USUAL_ROUNDS = 3


@dataclass(frozen=True, slots=True)
class HeatsPage:
    """The heats of a meet. `has_tokens`: whether any can be planned. `plan` None: none were made.

    `waiting`: who is here and has no seat in a heat to come.

    `gone`: who has a seat to come and is not at the meet any more; `changed_kit`: whose seat to come is for another
    transmitter than today's.
    """

    meet_id: int
    meet_name: str
    state: str
    zone: ZoneInfo
    has_tokens: bool
    plan: PlanNow | None
    rounds: tuple[RoundView, ...]
    to_come: int
    waiting: tuple[tuple[int, str], ...]
    gone: tuple[str, ...]
    changed_kit: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PilotChoice:
    """A pilot who may be ticked: `detail` says what they fly and whether they are here."""

    pilot_id: int
    name: str
    detail: str


@dataclass(frozen=True, slots=True)
class HeatsQuestion:
    """What the form needs. `ticked`: who flies unless the organiser says otherwise; `begun`: heats that will stay."""

    meet_id: int
    meet_name: str
    state: str
    size: int
    rounds: int
    pads: int | None
    pilots: tuple[PilotChoice, ...]
    ticked: frozenset[int]
    no_transmitter: tuple[str, ...]
    begun: int
    to_come: int


@dataclass(frozen=True, slots=True)
class HeatsLook:
    """Heats as they would be made. `unmet`: what can't be met, with whom it lies and what would free it."""

    day: PlannedDay
    rounds: tuple[RoundView, ...]
    unmet: tuple[Unmet, ...]


def heats_page(store: Store, meet_id: int, now: datetime) -> HeatsPage:
    """Read the heats of a meet."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        ground = read_ground(session, meet, now)
    to_come = [heat for heat in ground.heats if heat.state == "planned"]
    return HeatsPage(
        meet_id=meet_id,
        meet_name=ground.snapshot.meet_name,
        state=ground.snapshot.state,
        zone=ground.snapshot.zone,
        has_tokens=bool(ground.snapshot.tokens),
        plan=ground.plan,
        rounds=round_views(ground.heats, people_of(ground, ground.heats, ground.pads)),
        to_come=len(to_come),
        waiting=tuple(
            (pilot_id, flyer.name)
            for pilot_id, flyer in ground.flyers.items()
            if pilot_id in usual_flyers(ground) - pilots_to_come(ground.heats)
        ),
        gone=_names(ground, pilots_to_come(ground.heats) - ground.flyers.keys()),
        changed_kit=_names(ground, _with_other_kit(ground, to_come)),
    )


def _names(ground: Ground, pilot_ids: Iterable[int]) -> tuple[str, ...]:
    return tuple(sorted((ground.names[pilot_id] for pilot_id in pilot_ids), key=str.casefold))


def _with_other_kit(ground: Ground, to_come: Iterable[Heat]) -> frozenset[int]:
    return frozenset(
        seat.pilot_id
        for heat in to_come
        for seat in heat.seats
        if (flyer := ground.flyers.get(seat.pilot_id)) is not None
        and (seat.mhz not in flyer.token_of or flyer.kit_for(seat.mhz) != ground.seat_kits[heat.heat_id, seat.pilot_id])
    )


def usual_flyers(ground: Ground) -> frozenset[int]:
    """Who flies unless the organiser says otherwise: who is here at an open meet, who is coming before it."""
    return ground.here & ground.flyers.keys() if ground.snapshot.state == "open" else frozenset(ground.flyers)


def heats_question(store: Store, meet_id: int, now: datetime) -> HeatsQuestion:
    """Read what the form needs."""
    ground = read_meet(store, meet_id, now)
    plan = ground.plan
    return HeatsQuestion(
        meet_id=meet_id,
        meet_name=ground.snapshot.meet_name,
        state=ground.snapshot.state,
        size=plan.size if plan else ground.snapshot.fly_at_once,
        rounds=plan.rounds if plan else USUAL_ROUNDS,
        pads=plan.pads if plan else None,
        pilots=tuple(_choice(ground, flyer) for flyer in ground.flyers.values()),
        ticked=usual_flyers(ground) | (pilots_to_come(ground.heats) & ground.flyers.keys()),
        no_transmitter=ground.no_transmitter,
        begun=len(begun(ground.heats)),
        to_come=sum(heat.state == "planned" for heat in ground.heats),
    )


def _choice(ground: Ground, flyer: Flyer) -> PilotChoice:
    person = flyer.person
    kit = person.kit.name if person.kit else ""
    here = "" if ground.snapshot.state != "open" or person.is_present else ", not here yet"
    return PilotChoice(person.pilot_id, flyer.name, f"{kit}{here}")


def look_at_heats(store: Store, meet_id: int, wanted: Wanted, now: datetime, search: Search) -> HeatsLook:
    """Plan heats and write nothing.

    Raises: Refused where nothing can be planned.
    """
    ground = read_meet(store, meet_id, now)
    stretches = plan_day(ground, wanted, search)
    day = planned_day(ground, wanted, stretches)
    heats = (*begun(ground.heats), *day.heats)
    return HeatsLook(
        day=day,
        rounds=_to_come(round_views(heats, people_of(ground, heats, wanted.pads))),
        unmet=tuple(_unmet(ground, stretches, search)),
    )


def _to_come(rounds: Collection[RoundView]) -> tuple[RoundView, ...]:
    kept = [RoundView(each.number, tuple(heat for heat in each.heats if heat.state == "planned")) for each in rounds]
    return tuple(each for each in kept if each.heats)


def _unmet(ground: Ground, stretches: tuple[PlannedStretch, ...], search: Search) -> Iterator[Unmet]:
    """What isn't met in the full rounds, with ways out; of the round under way only what is not said then."""
    *parts, full = stretches
    told = unmet_demands(full.problem, full.plan, _spare(ground), search.is_over)
    yield from told
    said = {each.demand for each in told}
    for part in parts:
        for each in unmet_demands(part.problem, part.plan, None, lambda: True):
            if each.demand not in said:
                said.add(each.demand)
                yield each


def _spare(ground: Ground) -> Spare | None:
    """The transmitter at this meet that serves the most tokens: one of its kind might be borrowed."""
    able = max(ground.flyers.values(), key=lambda flyer: len(flyer.settings), default=None)
    if able is None:
        return None
    return Spare(f"a transmitter like {able.name}'s", able.settings, able.width_mhz)
