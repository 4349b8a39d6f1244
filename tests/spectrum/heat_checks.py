"""A second opinion on plans of heats, straight from the definitions: it shares no code with the planner."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise, permutations

from meetapp.data.catalog import published_plans
from meetapp.spectrum.heats.plan import HeatPlan, PlannedHeat
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.tuning import Setting, parse_tuning, setting_for

PLANS = published_plans()

Signal = tuple[int, float]
"""A carrier on air: MHz and width."""


def settings_of(text: str) -> tuple[Setting, ...]:
    """What a transmitter with these channels can be set to."""
    tuning = parse_tuning(text, PLANS)
    found = (setting_for(mhz, 0, tuning, None, PLANS) for mhz in sorted(tuning.all_mhz()))
    return tuple(setting for setting in found if setting is not None)


def keeps_floors(heat: Sequence[Signal], problem: HeatProblem) -> bool:
    """No pair and no product in which a pilot of the heat takes part is below a floor, and no two share a frequency."""
    everything = [*((each.mhz, each.width_mhz) for each in problem.on_air), *heat]
    own = set(range(len(problem.on_air), len(everything)))
    if len({mhz for mhz, _ in heat}) < len(heat) or not {mhz for mhz, _ in heat}.isdisjoint(
        each.mhz for each in problem.on_air
    ):
        return False
    edges = (
        abs(mhz - other.centre_mhz) >= (width + other.width_mhz) / 2
        for mhz, width in heat
        for other in problem.neighbours
    )
    return all(edges) and all(have >= floor for places, have, floor in _distances(everything, problem) if own & places)


def _distances(signals: Sequence[Signal], problem: HeatProblem) -> Iterator[tuple[set[int], float, float]]:
    mhz = [signal[0] for signal in signals]
    more = [signal[1] - 20 for signal in signals]
    for a, b in combinations(range(len(signals)), 2):
        yield {a, b}, abs(mhz[a] - mhz[b]) - (more[a] + more[b]) / 2, problem.floors.spacing_mhz
    if problem.floors.clearance_mhz is None:
        return
    for a, b, v in permutations(range(len(signals)), 3):
        excess = (2 * more[a] + more[b] + more[v]) / 2
        yield {a, b, v}, abs(2 * mhz[a] - mhz[b] - mhz[v]) - excess, problem.floors.clearance_mhz
    for a, b, c, v in permutations(range(len(signals)), 4):
        excess = (more[a] + more[b] + more[c] + more[v]) / 2
        yield {a, b, c, v}, abs(mhz[a] + mhz[b] - mhz[c] - mhz[v]) - excess, problem.floors.clearance_mhz


def wrong_with(problem: HeatProblem, plan: HeatPlan) -> list[str]:
    """Everything that is wrong with a plan, one plain sentence each."""
    return [*_wrong_with_heats(problem, plan), *_wrong_with_claims(problem, plan)]


def _wrong_with_heats(problem: HeatProblem, plan: HeatPlan) -> Iterator[str]:
    pilots = {pilot.name: pilot for pilot in problem.pilots}
    flying = sorted(set(pilots) - set(plan.grounded))
    if len(plan.rounds) != problem.rounds:
        yield "The rounds are not as many as were asked for."
    for heats in (each.heats for each in plan.rounds):
        if sorted(place.pilot for heat in heats for place in heat.places) != flying:
            yield "A round does not have everybody once."
        if len(heats) != plan.heats_per_round:
            yield "The rounds differ in heats."
        for heat in heats:
            yield from _wrong_with_heat(problem, heat, pilots)
    for name in plan.grounded:
        if any(keeps_floors([(each.mhz, pilots[name].width_mhz)], problem) for each in pilots[name].settings):
            yield f"{name} could fly."


def _wrong_with_heat(problem: HeatProblem, heat: PlannedHeat, pilots: Mapping[str, HeatPilot]) -> Iterator[str]:
    if not 0 < len(heat.places) <= problem.size:
        yield "A heat has a wrong size."
    if not keeps_floors([(place.mhz, pilots[place.pilot].width_mhz) for place in heat.places], problem):
        yield "A heat is below a floor."
    for place in heat.places:
        if [each.label for each in pilots[place.pilot].settings if each.mhz == place.mhz] != [place.label]:
            yield f"{place.pilot} can't set {place.label}."
    pads = [place.pad for place in heat.places]
    if pads != sorted(set(pads)) or pads[0] < 1 or pads[-1] > (problem.pads or len(pads)):
        yield "The places on the start line are wrong."


def _wrong_with_claims(problem: HeatProblem, plan: HeatPlan) -> Iterator[str]:
    heats = [[place.pilot for place in heat.places] for each in plan.rounds for heat in each.heats]
    sizes = [len(heat) for heat in heats]
    if plan.sizes_even != (max(sizes, default=0) - min(sizes, default=0) <= 1):
        yield "The sizes are not as claimed."
    running = sum(len(set(one) & set(next_one)) for one, next_one in pairwise([list(problem.just_flew), *heats]))
    if running != plan.twice_running:
        yield f"{running} fly twice running, not {plan.twice_running}."
    if plan.channel_changes != _changes(problem, plan):
        yield f"There are {_changes(problem, plan)} channel changes, not {plan.channel_changes}."
    flying = {pilot.name for pilot in problem.pilots} - set(plan.grounded)
    met = {pair for pair in problem.have_met if pair <= flying}
    met |= {frozenset(pair) for heat in heats for pair in combinations(heat, 2)}
    by_pilot = Counter(name for pair in met for name in pair)
    if any(by_pilot[name] != number for name, number in plan.opponents.by_pilot.items()):
        yield "The opponents are counted wrong."
    if not sum(by_pilot.values()) == plan.opponents.reached <= plan.opponents.bound:
        yield "The bound on the opponents is below what is reached."
    if plan.heats_bound > plan.heats_per_round:
        yield "There are fewer heats than the bound."
    if plan.heats_proven_minimum != (plan.heats_per_round == plan.heats_bound):
        yield "The bound on the heats does not fit the claim."
    if plan.changes_proven_minimum != (plan.channel_changes == plan.changes_bound):
        yield "The bound on the changes does not fit the claim."


def _changes(problem: HeatProblem, plan: HeatPlan) -> int:
    now = {pilot.name: pilot.set_mhz for pilot in problem.pilots}
    changes = 0
    for place in (place for each in plan.rounds for heat in each.heats for place in heat.places):
        changes += now[place.pilot] is not None and now[place.pilot] != place.mhz
        now[place.pilot] = place.mhz
    return changes


def best_by_brute_force(problem: HeatProblem) -> tuple[int, int, int, int]:
    """Of all ways to fly one round: heats, spread of sizes beyond 1, channel changes, pilots off their wake channel.

    Everybody has to be able to fly alone.
    """
    groups = {}
    for size in range(1, problem.size + 1):
        for members in combinations(range(len(problem.pilots)), size):
            if size == 1 or all(fewer in groups for fewer in combinations(members, size - 1)):
                cost = _cheapest(problem, [problem.pilots[place] for place in members])
                if cost is not None:
                    groups[members] = cost
    best = None
    for heats in _partitions(list(range(len(problem.pilots)))):
        if all(heat in groups for heat in heats):
            sizes = [len(heat) for heat in heats]
            changes, wakes = (sum(costs) for costs in zip(*(groups[heat] for heat in heats), strict=True))
            worth = len(heats), max(0, max(sizes) - min(sizes) - 1), changes, wakes
            best = worth if best is None or worth < best else best
    assert best is not None
    return best


def _cheapest(problem: HeatProblem, pilots: Sequence[HeatPilot]) -> tuple[int, int] | None:
    """The fewest changes, then the fewest off their wake channel, of all ways to fly this heat."""

    def ways(heat: list[Signal], left: Sequence[HeatPilot], changes: int, wakes: int) -> Iterator[tuple[int, int]]:
        if not left:
            yield changes, wakes
            return
        pilot = left[0]
        for mhz in (setting.mhz for setting in pilot.settings):
            with_one = [*heat, (mhz, pilot.width_mhz)]
            if keeps_floors(with_one, problem):
                is_change, is_off = pilot.set_mhz not in (None, mhz), pilot.wake_mhz not in (None, mhz)
                yield from ways(with_one, left[1:], changes + is_change, wakes + is_off)

    return min(ways([], pilots, 0, 0), default=None)


def _partitions(items: list[int]) -> Iterator[list[tuple[int, ...]]]:
    if not items:
        yield []
        return
    first, rest = items[0], items[1:]
    for number in range(len(rest) + 1):
        for others in combinations(rest, number):
            left = [item for item in rest if item not in others]
            for heats in _partitions(left):
                yield [(first, *others), *heats]
