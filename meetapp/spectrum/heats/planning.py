"""Heats for a day, planned: from the roster to places on the start line.

In this order of priority: every heat keeps both floors with the frequencies really set and every pilot flies once per
round; as few heats as possible; sizes that differ by at most one; as few channel changes over the day as possible (the
wake channel breaks ties); nobody in two heats running; pilots meet as many different others as possible; neighbours
on the start line are as far apart in frequency as possible.
"""

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.heats.air import Air, bits
from meetapp.spectrum.heats.day import Day, Mixer, Round
from meetapp.spectrum.heats.effort import Effort
from meetapp.spectrum.heats.fewest import Fewest, fewest_heats
from meetapp.spectrum.heats.first_round import FirstRound, best_first_rounds, judged, least_cost, with_rested_heat
from meetapp.spectrum.heats.kits import Entries, Kit, entries_of
from meetapp.spectrum.heats.opponents import Meeting, Opponents, most_pairs, pairs_met
from meetapp.spectrum.heats.plan import HeatPlace, HeatPlan, PlannedHeat, PlannedRound
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.heats.rounds import mixed_rounds
from meetapp.spectrum.heats.seating import CHANGE_COST
from meetapp.spectrum.heats.small_rosters import SMALL, best_of_small
from meetapp.spectrum.heats.start_line import line_order, pads_for
from meetapp.spectrum.products import measure

_STEPS_FOR_A_FIRST_ROUND = 5_000
_STEPS_FOR_A_SMALL_ROSTER = 200_000
_STEPS_FOR_MIXING = 30_000
_MOST_PATIENCE = 12


def never() -> bool:
    """Time is never over: only the steps count.

    >>> never()
    False
    """
    return False


def plan_heats(problem: HeatProblem, is_over: Callable[[], bool] = never, patience: int = 0) -> HeatPlan:
    """A day of heats in the order of priority above.

    `is_over` is asked now and then and ends the search with what was found (always a plan that keeps the floors).
    Every search goes 2 to the power of `patience` times as far as at the first look. Without `is_over` the same input
    gives the same plan. Units: MHz. Cost: bounded by steps; about a second for 60 pilots.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.tuning import Setting
    >>> r1, r8 = Setting("R1", 5658), Setting("R8", 5917)
    >>> pilots = HeatPilot("Ada", (r1, r8)), HeatPilot("Bo", (r1,)), HeatPilot("Cy", (r1, r8))
    >>> plan = plan_heats(HeatProblem(pilots, 2, 1, Floors(37, 10)))
    >>> [[(place.pilot, place.label) for place in heat.places] for heat in plan.rounds[0].heats]
    [[('Ada', 'R1'), ('Cy', 'R8')], [('Bo', 'R1')]]
    """
    entries = entries_of(problem)
    if not entries.entries:
        return _nobody_flies(problem)
    effort = Effort(1 << 60, is_over)
    found = fewest_heats(entries.air, _numbers(entries), problem.size, effort, patience)
    firsts, is_exact = _first_rounds(entries, found, problem.size, effort, patience)
    just_flew = {place for place, name in enumerate(entries.names) if name in problem.just_flew}
    rested = dict.fromkeys(with_rested_heat(first, entries.entries, just_flew) for first in firsts)
    days = _days(problem, entries, rested, effort.share(_STEPS_FOR_MIXING << patience), patience)
    first, day, most = max(days, key=lambda each: each[1].worth)
    return _Answer(problem, entries, found, first, is_exact).plan(day, most)


def better_plans(problem: HeatProblem, is_over: Callable[[], bool]) -> Iterator[HeatPlan]:
    """A plan, and then each better one that a longer search finds, until time is over or nothing is left to gain.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.tuning import Setting
    >>> pilots = HeatPilot("Ada", (Setting("R1", 5658),)), HeatPilot("Bo", (Setting("R1", 5658),))
    >>> [plan.heats_per_round for plan in better_plans(HeatProblem(pilots, 2, 1, Floors(37, 10)), never)]
    [2]
    """
    best: HeatPlan | None = None
    for patience in range(_MOST_PATIENCE):
        plan = plan_heats(problem, is_over, patience)
        if best is None or _is_better(plan, best):
            best = plan
            yield plan
        if best.is_final or is_over():
            return


def _is_better(plan: HeatPlan, best: HeatPlan) -> bool:
    proven = plan.worth == best.worth and plan.heats_bound > best.heats_bound
    return plan.worth < best.worth or proven


def first_round_of(entries: Entries, size: int, effort: Effort) -> FirstRound:
    """The heats of one round and their channels, with no more effort than given: a look, not a plan for a day.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.tuning import Setting
    >>> pilots = HeatPilot("Ada", (Setting("R1", 5658),)), HeatPilot("Bo", (Setting("R1", 5658),))
    >>> first_round_of(entries_of(HeatProblem(pilots, 2, 1, Floors(37, 10))), 2, Effort(99, never)).worth
    (2, 0, 0)
    """
    found = fewest_heats(entries.air, _numbers(entries), size, effort)
    return best_first_rounds(entries.air, entries.entries, found.blocks, size, effort)[0]


def _numbers(entries: Entries) -> Mapping[Kit, int]:
    return Counter(entry.kit for entry in entries.entries)


def _first_rounds(
    entries: Entries, found: Fewest, size: int, effort: Effort, patience: int
) -> tuple[tuple[FirstRound, ...], bool]:
    """The best first rounds found, alike in worth, and whether they are exactly that: every way was looked at."""
    air, pilots, blocks = entries.air, entries.entries, found.blocks
    firsts = best_first_rounds(air, pilots, blocks, size, effort.share(_STEPS_FOR_A_FIRST_ROUND << patience), patience)
    worth = firsts[0].worth
    if len(pilots) > SMALL or worth <= (found.least.heats, 0, least_cost(pilots, found.least.heats)):
        return firsts, False
    best = best_of_small(air, pilots, size, effort.share(_STEPS_FOR_A_SMALL_ROSTER << patience))
    if best is None:
        return firsts, False
    exact = judged(best, pilots)
    return (exact,) if exact.worth < worth else firsts, True


def _days(
    problem: HeatProblem, entries: Entries, firsts: Collection[FirstRound], effort: Effort, patience: int
) -> Iterator[tuple[FirstRound, Day, int]]:
    """The day that comes of each first round, with the bound on its pairs; only one where that reaches it."""
    for first in firsts:
        day, most = _mixed(problem, entries, first, effort.half(), patience)
        yield first, day, most
        if day.worth >= (0, most):
            return


def _mixed(
    problem: HeatProblem, entries: Entries, first: FirstRound, effort: Effort, patience: int
) -> tuple[Day, int]:
    """The rounds, and the proven bound on the pairs that meet with as many heats: see `most_pairs`."""
    place_of = {name: place for place, name in enumerate(entries.names)}
    bit_of = dict(chain.from_iterable(first.heats))
    mixer = Mixer(entries.air, [(bit_of[place], entry.kit.width) for place, entry in enumerate(entries.entries)])
    have_met = [
        (place_of[one], place_of[other])
        for one, other in (sorted(pair) for pair in problem.have_met)
        if one in place_of and other in place_of
    ]
    just_flew = [place_of[name] for name in problem.just_flew if name in place_of]
    most = most_pairs(_limits(problem, entries, first, len(have_met)))
    heats = [[pilot for pilot, _ in heat] for heat in first.heats]
    rounds = mixed_rounds(heats, problem.rounds, mixer, most, effort, have_met, just_flew, patience)
    return Day(rounds, mixer, have_met, just_flew), most


def _limits(problem: HeatProblem, entries: Entries, first: FirstRound, have_met: int) -> Meeting:
    sizes = tuple(len(heat) for heat in first.heats)
    union = 0
    for entry in entries.entries:
        union |= entry.kit.mask
    even = first.spread <= 1
    return Meeting(
        sizes if even else _most_uneven(sum(sizes), len(sizes), problem.size),
        problem.rounds,
        _may_meet(entries),
        entries.air.at_most_apart(union),
        have_met,
        even,
    )


def _most_uneven(pilots: int, heats: int, size: int) -> tuple[int, ...]:
    """The sizes with the most pairs: full heats first, and nobody else than one pilot in the others."""
    sizes = [1] * heats
    left = pilots - heats
    for heat in range(heats):
        more = min(size - 1, left)
        sizes[heat], left = sizes[heat] + more, left - more
    return tuple(sizes)


def _may_meet(entries: Entries) -> tuple[int, ...]:
    """For each pilot, with how many others they could be up together, the two alone, whatever they are set to."""
    kits = entries.kits
    together = {(one, other): _can_meet(entries.air, one, other) for one in kits for other in kits}
    with_kit = {
        one: sum(len(places) - (one == other) for other, places in kits.items() if together[one, other]) for one in kits
    }
    return tuple(with_kit[entry.kit] for entry in entries.entries)


def _can_meet(air: Air, one: Kit, other: Kit) -> bool:
    return any(
        other.mask & air.added(air.empty, bit, one.width).free[other.width] for bit in bits(one.mask)
    )


def _nobody_flies(problem: HeatProblem) -> HeatPlan:
    rounds = (PlannedRound(()),) * problem.rounds
    names = tuple(pilot.name for pilot in problem.pilots)
    nobody = Opponents(dict.fromkeys(names, 0), 0, 0)
    return HeatPlan(rounds, 0, True, 0, 0, True, 0, 0, nobody, names)


@dataclass(frozen=True, slots=True)
class _Answer:
    """Puts the answer together, in names and labels."""

    problem: HeatProblem
    entries: Entries
    found: Fewest
    first: FirstRound
    is_exact: bool

    def plan(self, day: Day, most: int) -> HeatPlan:
        heats = len(self.first.heats)
        bit_of = dict(chain.from_iterable(self.first.heats))
        mhz_of = {self.entries.names[place]: self.entries.air.mhz(bit) for place, bit in bit_of.items()}
        pilots = [pilot for pilot in self.problem.pilots if pilot.name in mhz_of]
        changes = sum(pilot.set_mhz is not None and pilot.set_mhz != mhz_of[pilot.name] for pilot in pilots)
        bound = changes if self.is_exact else self._least_changes(heats)
        return HeatPlan(
            rounds=tuple(self._round(heats_of_round, mhz_of) for heats_of_round in day.rounds),
            heats_bound=heats if self.is_exact else self.found.least.heats,
            heats_proven_minimum=self.is_exact or heats == self.found.least.heats,
            channel_changes=changes,
            changes_bound=bound,
            changes_proven_minimum=changes == bound,
            twice_running=-day.worth[0],
            on_wake_channel=sum(pilot.wake_mhz == mhz_of[pilot.name] for pilot in pilots),
            opponents=self._opponents(day, most),
            grounded=self.entries.grounded,
        )

    def _least_changes(self, heats: int) -> int:
        """Those who can't have their channel any more, and of those who know the same one all but one in each heat."""
        lost = sum(
            pilot.set_mhz is not None and pilot.name not in self.entries.grounded for pilot in self.problem.pilots
        ) - sum(entry.set_bit is not None for entry in self.entries.entries)
        return lost + least_cost(self.entries.entries, heats) // CHANGE_COST

    def _round(self, heats: Round, mhz_of: Mapping[str, int]) -> PlannedRound:
        by_name = {pilot.name: pilot for pilot in self.problem.pilots}
        named = [[by_name[self.entries.names[place]] for place in heat] for heat in heats]
        return PlannedRound(tuple(self._heat(pilots, mhz_of) for pilots in named))

    def _heat(self, pilots: Sequence[HeatPilot], mhz_of: Mapping[str, int]) -> PlannedHeat:
        carriers = [Carrier(mhz_of[pilot.name], pilot.width_mhz) for pilot in pilots]
        order = line_order(carriers)
        pads = pads_for([carriers[place] for place in order], self.problem.pads or len(pilots))
        places = []
        for pad, place in zip(pads, order, strict=True):
            pilot, mhz = pilots[place], carriers[place].mhz
            places.append(HeatPlace(pilot.name, pilot.label_of(mhz), mhz, pad))
        return PlannedHeat(tuple(places), measure([*self.problem.on_air, *carriers]))

    def _opponents(self, day: Day, most: int) -> Opponents:
        names = self.entries.names
        heats = [[names[place] for place in heat] for heats in day.rounds for heat in heats]
        known = [pair for pair in self.problem.have_met if pair <= set(names)]
        met = pairs_met(heats, known)
        by_pilot = {name: sum(name in pair for pair in met) for name in names}
        return Opponents(by_pilot, 2 * len(met), 2 * most)
