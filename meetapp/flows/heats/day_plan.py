"""A day of heats for the pilots of a meet, planned by the sums around the heats that have begun already."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count

from meetapp.flows.errors import Refused
from meetapp.flows.heats.ground import Ground, check_can_be_planned
from meetapp.rules.heat_rounds import Stretch, begun, channels_flown, left_to_fly
from meetapp.rules.heats import Heat, HeatList, Seat, next_number
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.heats import HeatPlan, HeatProblem, never, plan_heats
from meetapp.spectrum.heats.opponents import bound_words, pairs_met


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the organiser asks for. `rounds`: of the whole day, those flown counted; `pads`: None for as many as needed.

    `pilot_ids`: who flies.
    """

    size: int
    rounds: int
    pads: int | None
    pilot_ids: frozenset[int]


@dataclass(frozen=True, slots=True)
class Search:
    """How far the sums go: what plans a day, and what ends the search for ways out of what is not met."""

    plan: Callable[[HeatProblem], HeatPlan]
    is_over: Callable[[], bool]


ONE_LOOK = Search(plan_heats, never)
"""As far as the first look goes: bounded by steps, so the same meet gives the same heats."""


@dataclass(frozen=True, slots=True)
class PlannedStretch:
    """Some rounds as the sums planned them."""

    rounds: tuple[int, ...]
    problem: HeatProblem
    plan: HeatPlan


@dataclass(frozen=True, slots=True)
class DayFigures:
    """What is said about a day. Changes are counted over all rounds planned, the rest over the full rounds.

    `changes_bound`: no plan with as few heats and sizes as even has fewer channel changes. `met`: different others,
    summed over all pilots; `met_bound` bounds that only for the plans that `met_words` names; `met_even`: it was made
    for even sizes. `grounded`: the pilots with no frequency that keeps the floors even alone.
    """

    heats_per_round: int
    heats_bound: int
    heats_proven: bool
    channel_changes: int
    changes_bound: int
    changes_proven: bool
    twice_running: int
    sizes_even: bool
    met: int
    met_bound: int
    met_even: bool
    grounded: tuple[str, ...]

    @property
    def met_words(self) -> str:
        """What the bound on different others met says, and of which plans."""
        return bound_words(self.met_bound, self.heats_per_round, self.met_even)


@dataclass(frozen=True, slots=True)
class PlannedDay:
    """Heats that could be flown. `heats`: those to come, in order, with ids below zero; `basis`: see `basis_of`."""

    wanted: Wanted
    basis: str
    heats: HeatList
    figures: DayFigures


def plan_day(ground: Ground, wanted: Wanted, search: Search) -> tuple[PlannedStretch, ...]:
    """Plan what is left to fly; the heats that have begun stay as they are.

    Who has not yet flown in a round under way flies it first; what was flown counts as met, as set and as just flown.
    Raises: Refused where nothing can be planned, or nothing is left to fly.
    """
    unknown = wanted.pilot_ids - ground.flyers.keys()
    if unknown:
        raise Refused("Somebody of these is not coming any more, or has no transmitter.", "Load the page again.")
    if not wanted.pilot_ids:
        raise Refused("Nobody is ticked.", "Tick who flies.", field="pilot")
    check_can_be_planned(ground, wanted.pilot_ids)
    flown = begun(ground.heats)
    last = max((heat.round for heat in flown), default=0)
    if wanted.rounds < last:
        raise Refused(f"Round {last} has begun: ask for {last} rounds or more.", field="rounds")
    stretches = left_to_fly(ground.heats, wanted.rounds, wanted.pilot_ids)
    if not stretches:
        raise Refused("Everybody has flown these rounds.", "Ask for more rounds.", field="rounds")
    return tuple(_planned(ground, wanted, stretches, search))


def _planned(
    ground: Ground, wanted: Wanted, stretches: tuple[Stretch, ...], search: Search
) -> Iterator[PlannedStretch]:
    before = _Before.at(ground)
    for place, stretch in enumerate(stretches):
        problem = before.problem(ground, wanted, stretch)
        # The time for a longer search goes to the last stretch: the full rounds.
        plan = search.plan(problem) if place == len(stretches) - 1 else plan_heats(problem)
        yield PlannedStretch(stretch.rounds, problem, plan)
        before = before.followed_by(plan)


@dataclass(frozen=True, slots=True)
class _Before:
    """What was flown before a stretch, by the names that the planner uses."""

    set_mhz: dict[str, int]
    just_flew: frozenset[str]
    have_met: frozenset[frozenset[str]]

    @classmethod
    def at(cls, ground: Ground) -> "_Before":
        flown = begun(ground.heats)
        names = {pilot_id: flyer.name for pilot_id, flyer in ground.flyers.items()}
        heats = [[names[pilot_id] for pilot_id in heat.pilots if pilot_id in names] for heat in flown]
        counting = [heat for heat, row in zip(heats, flown, strict=True) if row.state != "voided"]
        set_mhz = {names[pilot_id]: mhz for pilot_id, mhz in channels_flown(flown).items() if pilot_id in names}
        return cls(set_mhz, frozenset(heats[-1] if heats else ()), frozenset(pairs_met(counting)))

    def problem(self, ground: Ground, wanted: Wanted, stretch: Stretch) -> HeatProblem:
        flyers = [flyer for pilot_id, flyer in ground.flyers.items() if pilot_id in stretch.pilots]
        try:
            return HeatProblem(
                tuple(flyer.as_pilot(self.set_mhz.get(flyer.name)) for flyer in flyers),
                wanted.size,
                len(stretch.rounds),
                ground.snapshot.floors,
                ground.beside(wanted.pilot_ids),
                ground.snapshot.neighbours,
                wanted.pads,
                self.just_flew,
                self.have_met,
            )
        except BadProblem as problem:
            raise Refused(problem.reason, field=problem.field) from problem

    def followed_by(self, plan: HeatPlan) -> "_Before":
        heats = [heat for each in plan.rounds for heat in each.heats]
        flown = [[place.pilot for place in heat.places] for heat in heats]
        mhz = {place.pilot: place.mhz for heat in heats for place in heat.places}
        have_met = frozenset(pairs_met(flown, self.have_met))
        return _Before(self.set_mhz | mhz, frozenset(flown[-1] if flown else ()), have_met)


def planned_day(ground: Ground, wanted: Wanted, stretches: tuple[PlannedStretch, ...]) -> PlannedDay:
    """The heats to come of what was planned, with what is said about them."""
    return PlannedDay(wanted, basis_of(ground, wanted), tuple(_heats(ground, stretches)), _figures(stretches))


def _heats(ground: Ground, stretches: tuple[PlannedStretch, ...]) -> Iterator[Heat]:
    ids = {flyer.name: pilot_id for pilot_id, flyer in ground.flyers.items()}
    flown = begun(ground.heats)
    new_ids = count(-1, -1)
    for stretch in stretches:
        for round_, planned in zip(stretch.rounds, stretch.plan.rounds, strict=True):
            for number, heat in enumerate(planned.heats, start=next_number(flown, round_)):
                seats = tuple(Seat(ids[place.pilot], place.label, place.mhz, place.pad) for place in heat.places)
                yield Heat(next(new_ids), round_, number, seats)


def _figures(stretches: tuple[PlannedStretch, ...]) -> DayFigures:
    """The figures of the day; of several stretches, only the first one's bound on changes holds for all."""
    first, last = stretches[0].plan, stretches[-1].plan
    changes = sum(each.plan.channel_changes for each in stretches)
    return DayFigures(
        heats_per_round=last.heats_per_round,
        heats_bound=last.heats_bound,
        heats_proven=last.heats_proven_minimum,
        channel_changes=changes,
        changes_bound=first.changes_bound,
        changes_proven=changes == first.changes_bound,
        twice_running=sum(each.plan.twice_running for each in stretches),
        sizes_even=all(each.plan.sizes_even for each in stretches),
        met=last.opponents.reached,
        met_bound=last.opponents.bound,
        met_even=last.sizes_even,
        grounded=tuple(dict.fromkeys(name for each in stretches for name in each.plan.grounded)),
    )


def basis_of(ground: Ground, wanted: Wanted) -> str:
    """A digest of everything that a plan was made from: another one means that the plan may not fit any more."""
    snapshot = ground.snapshot
    flyers = [
        (pilot_id, flyer.name, flyer.settings, flyer.width_mhz, sorted(flyer.token_of.items()))
        for pilot_id, flyer in ground.flyers.items()
        if pilot_id in wanted.pilot_ids
    ]
    heats = [(heat.heat_id, heat.state, heat.seats) for heat in ground.heats]
    told = (flyers, snapshot.floors, snapshot.pull_mhz, ground.beside(wanted.pilot_ids), snapshot.neighbours, heats)
    return hashlib.sha256(repr(told).encode()).hexdigest()
