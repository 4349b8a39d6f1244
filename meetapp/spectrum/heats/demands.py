"""What a plan could not meet, which pilots make it so, and what would free it: each way out worked out, not guessed."""

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from typing import Literal

from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.effort import Effort
from meetapp.spectrum.heats.kits import Entries, Kit, entries_of
from meetapp.spectrum.heats.largest import heaviest_group
from meetapp.spectrum.heats.least_heats import least_heats
from meetapp.spectrum.heats.plan import HeatPlan
from meetapp.spectrum.heats.planning import first_round_of
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.tuning import Setting

Demand = Literal["everybody_flies", "fewest_heats", "even_sizes", "nobody_twice_running"]

_STEPS = 20_000
_STEPS_PER_LOOK = 3_000
_MOST_SWAPPED = 6
"""No more pilots than this are asked to borrow a transmitter: beyond it that is no way out any more."""


@dataclass(frozen=True, slots=True)
class Spare:
    """A transmitter that could be borrowed: how to call it, what it can be set to, and how wide it is (MHz)."""

    name: str
    settings: tuple[Setting, ...]
    width_mhz: float = REFERENCE_WIDTH_MHZ


@dataclass(frozen=True, slots=True)
class Unmet:
    """One demand that is not met: whom it lies with, why, and what would free it (empty where nothing was found).

    `pilots`: empty where no group of them is proven to be the reason.
    """

    demand: Demand
    pilots: tuple[str, ...]
    sentence: str
    ways_out: tuple[str, ...]


def unmet_demands(
    problem: HeatProblem, plan: HeatPlan, spare: Spare | None, is_over: Callable[[], bool]
) -> tuple[Unmet, ...]:
    """The demands that a plan does not meet, in their order of priority; empty where all are met.

    A way out is found by planning the day again with that one thing changed; the smallest change that does is named.
    `spare`: the transmitter that pilots might borrow. `is_over` ends the search for ways out, not the list.

    >>> from meetapp.spectrum.heats.planning import never, plan_heats
    >>> from meetapp.spectrum.heats.problem import HeatPilot
    >>> pilots = HeatPilot("Ada", (Setting("R1", 5658),)), HeatPilot("Bo", (Setting("R2", 5695),))
    >>> day = HeatProblem(pilots, 2, 1, Floors(40, None))
    >>> for unmet in unmet_demands(day, plan_heats(day), None, never): print(unmet.sentence, *unmet.ways_out, sep="\\n")
    Of these 2 pilots no more than 1 can be up at once, so they take 2 heats; 1 would hold everybody.
    With a spacing floor of 37 MHz it takes 1 heat.
    """
    return tuple(_all_unmet(problem, plan, spare, is_over))


def _all_unmet(
    problem: HeatProblem, plan: HeatPlan, spare: Spare | None, is_over: Callable[[], bool]
) -> Iterator[Unmet]:
    if plan.grounded:
        sentence = "No frequency that they can make keeps the floors here, not even alone in a heat."
        yield Unmet("everybody_flies", plan.grounded, sentence, _ways_out(problem, plan, spare, plan.grounded, is_over))
    flying = len(problem.pilots) - len(plan.grounded)
    if plan.heats_per_round > -(-flying // problem.size):
        pilots, sentence = _why_so_many(problem, plan, flying, is_over)
        may_borrow = pilots or tuple(pilot.name for pilot in problem.pilots if pilot.name not in plan.grounded)
        yield Unmet("fewest_heats", pilots, sentence, _ways_out(problem, plan, spare, may_borrow, is_over))
    if not plan.sizes_even:
        pilots, sentence = _why_uneven(plan)
        yield Unmet("even_sizes", pilots, sentence, _ways_out(problem, plan, spare, pilots, is_over))
    if plan.twice_running:
        yield _twice_running(problem, plan)


def _why_so_many(
    problem: HeatProblem, plan: HeatPlan, flying: int, is_over: Callable[[], bool]
) -> tuple[tuple[str, ...], str]:
    """Who makes it so, and why; nobody where it isn't proven that it takes more than the pilots divided by the size."""
    enough, found = -(-flying // problem.size), plan.heats_per_round
    if plan.heats_bound <= enough:
        return (), (
            f"{_heats(found)} were found; {enough} would hold everybody, and whether fewer than {found} do is not "
            "known."
        )
    entries = entries_of(problem)
    effort = Effort(_STEPS, is_over)
    for kits, at_once in _crowds(entries, problem.size, effort):
        names = _names(entries, kits)
        if (needed := -(-len(names) // at_once)) >= plan.heats_bound:
            at_least = "" if needed == found else f"at least {needed} of the "
            return names, (
                f"Of these {len(names)} pilots no more than {at_once} can be up at once, so they take "
                f"{at_least}{_heats(found)}; {enough} would hold everybody."
            )
    proof = f"{_heats(found)} were found, at least {plan.heats_bound} are needed; {enough} would hold everybody."
    names = _pressing(entries, problem.size, plan.heats_bound, effort)
    return names, f"{proof} No full heat can be made of these {len(names)} pilots alone." if names else proof


def _crowds(entries: Entries, size: int, effort: Effort) -> Iterator[tuple[set[Kit], int]]:
    """Groups of kits, those that press most first, with how many of their pilots can be up at once (proven)."""
    numbers = Counter(entry.kit for entry in entries.entries)
    weights = least_heats(entries.air, numbers, size, effort).weights
    pressing = sorted(numbers, key=lambda kit: (-weights[kit], kit))
    for kits in accumulate(([kit] for kit in pressing), lambda before, more: before + more):
        crowd = {kit: numbers[kit] for kit in kits}
        group = heaviest_group(entries.air, crowd, dict.fromkeys(crowd, 1), size, effort.share(_STEPS // 10))
        if group.is_proven:
            yield set(kits), group.weight


def _pressing(entries: Entries, size: int, bound: int, effort: Effort) -> tuple[str, ...]:
    """The pilots who weigh more than their share of a full heat in a proof of the bound; nobody where there is none.

    No full heat holds only such pilots: it would weigh more than the heaviest. Of fewer than a full heat that says
    nothing, so then they are not named.
    """
    numbers = Counter(entry.kit for entry in entries.entries)
    least = least_heats(entries.air, numbers, size, effort)
    if least.heats < bound:
        return ()
    names = _names(entries, {kit for kit, weight in least.weights.items() if weight * size > least.heaviest})
    return names if len(names) >= size else ()


def _names(entries: Entries, kits: Collection[Kit]) -> tuple[str, ...]:
    return tuple(name for name, entry in zip(entries.names, entries.entries, strict=True) if entry.kit in kits)


def _why_uneven(plan: HeatPlan) -> tuple[tuple[str, ...], str]:
    heats = plan.rounds[0].heats
    smallest = min(heats, key=lambda heat: len(heat.places))
    largest = max(len(heat.places) for heat in heats)
    names = tuple(place.pilot for place in smallest.places)
    return names, (
        f"Nobody else was found who can join these {len(names)} while the largest heat has {largest}, "
        f"without another heat."
    )


def _twice_running(problem: HeatProblem, plan: HeatPlan) -> Unmet:
    names = tuple(pilot.name for pilot in problem.pilots if pilot.name not in plan.grounded)
    if plan.heats_per_round > 1:
        return Unmet(
            "nobody_twice_running", tuple(sorted(problem.just_flew)), "They flew in the heat just before this plan.", ()
        )
    half = -(-len(names) // 2)
    ways = (f"With heats of {half} there are two in a round.",) if len(names) > 1 else ()
    return Unmet("nobody_twice_running", names, "A round has one heat, so everybody flies in each.", ways)


def _ways_out(
    problem: HeatProblem, plan: HeatPlan, spare: Spare | None, pilots: Sequence[str], is_over: Callable[[], bool]
) -> tuple[str, ...]:
    search = _WaysOut(replace(problem, rounds=1), plan, is_over)
    ways = [search.lower_spacing(), search.lower_clearance(), search.borrowed(spare, pilots) if spare else None]
    return tuple(way for way in ways if way is not None)


class _WaysOut:
    """Plans the first round again with one thing changed, and sees whether that is better."""

    def __init__(self, problem: HeatProblem, plan: HeatPlan, is_over: Callable[[], bool]) -> None:
        self._problem = problem
        self._judged = plan.worth[:3]
        self._is_over = is_over

    def lower_spacing(self) -> str | None:
        """The highest lower spacing floor that helps."""
        floors = self._problem.floors
        found = self._highest(int(floors.spacing_mhz), lambda mhz: Floors(mhz, floors.clearance_mhz))
        return None if found is None else f"With a spacing floor of {found[0]} MHz {found[1]}."

    def lower_clearance(self) -> str | None:
        """The highest lower clearance floor that helps."""
        floors = self._problem.floors
        if floors.clearance_mhz is None:
            return None
        found = self._highest(int(floors.clearance_mhz), lambda mhz: Floors(floors.spacing_mhz, mhz))
        return None if found is None else f"With a clearance floor of {found[0]} MHz {found[1]}."

    def borrowed(self, spare: Spare, pilots: Sequence[str]) -> str | None:
        """The fewest of these pilots who need another transmitter; those with the fewest frequencies first."""
        can_make = {pilot.name: len(pilot.settings) for pilot in self._problem.pilots}
        in_need = sorted((name for name in pilots), key=lambda name: (can_make[name], name))
        for number in range(1, min(len(in_need), _MOST_SWAPPED) + 1):
            names = in_need[:number]
            better = self._better(self._problem.with_pilots(self._with_spare(spare, names)))
            if better is not None:
                return f"If {_listed(names)} {'flies' if number == 1 else 'fly'} {spare.name}, {better}."
        return None

    def _with_spare(self, spare: Spare, names: Sequence[str]) -> tuple[HeatPilot, ...]:
        return tuple(
            replace(pilot, settings=spare.settings, width_mhz=spare.width_mhz) if pilot.name in names else pilot
            for pilot in self._problem.pilots
        )

    def _highest(self, floor: int, floors_at: Callable[[int], Floors]) -> tuple[int, str] | None:
        """By halving: a lower floor never makes anything worse."""
        low, high = 0, floor
        best = self._better(self._problem.with_floors(floors_at(0))) if floor > 0 else None
        if best is None:
            return None
        while high - low > 1:
            middle = (low + high) // 2
            better = self._better(self._problem.with_floors(floors_at(middle)))
            if better is None:
                high = middle
            else:
                low, best = middle, better
        return low, best

    def _better(self, problem: HeatProblem) -> str | None:
        """What a changed day comes to, in words, where that is better; None where not, or where time is over."""
        if self._is_over():
            return None
        entries = entries_of(problem)
        first = first_round_of(entries, problem.size, Effort(_STEPS_PER_LOOK, self._is_over)) if entries.names else None
        heats, uneven, _ = first.worth if first else (0, 0, 0)
        if (len(entries.grounded), heats, uneven) >= self._judged:
            return None
        if len(entries.grounded) < self._judged[0]:
            return f"{len(entries.grounded)} still can't fly" if entries.grounded else "everybody flies"
        if heats < self._judged[1]:
            return f"it takes {_heats(heats)}"
        return f"the sizes differ by {uneven + 1}" if uneven else "the sizes come out even"


def _heats(number: int) -> str:
    return f"{number} heat{'' if number == 1 else 's'}"


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
