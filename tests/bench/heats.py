"""How long a day of heats takes: `python -m tests.bench.heats [--solver]` (from the checkout, on an idle machine).

60 pilots of mixed kit, size 6, three rounds, for several mixes of kit and floors: the first plan, made without a look
at the clock, in the median of several runs (wall and processor seconds). With `--solver`: also how long CP-SAT (2
workers, 60 seconds at most) takes to find one round with as many heats, and to rule out one heat less, and how many
times ours that is.
"""

import sys
from itertools import combinations

from meetapp.data.catalog import published_plans
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors, set_keeps_floors
from meetapp.spectrum.heats.plan import HeatPlan
from meetapp.spectrum.heats.planning import plan_heats
from meetapp.spectrum.heats.problem import HeatProblem
from meetapp.spectrum.heats.roster import parse_roster
from tests.bench.timing import Timed, beside, timed

RUNS = 3
PILOTS = 60
SIZE = 6
ROUNDS = 3
SOLVER_SECONDS = 60

MIXES = {
    "analogue, plans only": ("A B E F R", "R", "F R", "A B F", "E", "R F E"),
    "with short lists": ("A B E F R", "R", "F R", "R1 R3 R6 R8", "A", "E1 E2 E3 E4"),
    "with tuning by 5 MHz": ("A B E F R", "R", "F R", "5650-5925/5", "E", "5740-5880/20"),
    "with tuning by 1 MHz": ("A B E F R", "R", "F R", "5650-5925/1", "E", "A B F"),
    "every pilot another kit": tuple(
        f"{'ABEFR'[n % 5]} {5650 + 37 * n % 290} {5645 + 61 * n % 300}" for n in range(PILOTS)
    ),
}
FLOORS = (Floors(37, 10), Floors(37, None), Floors(25, 10), Floors(30, 5))


def day(kits: tuple[str, ...], floors: Floors) -> HeatProblem:
    """60 pilots with these kits, dealt out unevenly; every fourth says what the transmitter wakes on."""
    rows = ["pilot;channels;wake"]
    for number in range(PILOTS):
        kit = kits[number * number * 7 % 61 % len(kits)] if len(kits) < PILOTS else kits[number]
        first = kit.split()[0]
        wake = f"{first}4" if number % 4 == 0 and len(first) == 1 else ""
        rows.append(f"pilot {number};{kit};{wake}")
    return HeatProblem(parse_roster("\n".join(rows), published_plans()), SIZE, ROUNDS, floors)


def by_solver(problem: HeatProblem, heats: int) -> Timed[str]:
    """How long CP-SAT takes to say whether one round fits into so many heats, and what it says."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    frequencies = sorted({setting.mhz for each in problem.pilots for setting in each.settings})
    up = {(heat, mhz): model.new_bool_var("") for heat in range(heats) for mhz in frequencies}
    takers: dict[tuple[int, int], list[cp_model.IntVar]] = {key: [] for key in up}
    for each in problem.pilots:
        own = {(heat, s.mhz): model.new_bool_var("") for heat in range(heats) for s in each.settings}
        model.add_exactly_one(own.values())
        for key, var in own.items():
            takers[key].append(var)
    for key, var in up.items():
        model.add(sum(takers[key]) == var)
    bans = banned(problem.floors, frequencies)
    for heat in range(heats):
        model.add(sum(up[heat, mhz] for mhz in frequencies) <= problem.size)
        for ban in bans:
            model.add_bool_or(up[heat, mhz].negated() for mhz in ban)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.max_time_in_seconds = SOLVER_SECONDS
    return timed(lambda: str(solver.status_name(solver.solve(model))))


def banned(floors: Floors, frequencies: list[int]) -> list[tuple[int, ...]]:
    """The twos, threes and fours of carriers that break a floor while no fewer of them do."""
    found: list[tuple[int, ...]] = []
    pairs = {
        pair for pair in combinations(frequencies, 2) if not set_keeps_floors([Carrier(mhz) for mhz in pair], floors)
    }
    found += sorted(pairs)
    threes = set()
    for number in (3, 4) if floors.clearance_mhz is not None else ():
        for some in combinations(frequencies, number):
            if any(pair in pairs for pair in combinations(some, 2)):
                continue
            if number == 4 and any(three in threes for three in combinations(some, 3)):
                continue
            if not set_keeps_floors([Carrier(mhz) for mhz in some], floors):
                found.append(some)
                if number == 3:
                    threes.add(some)
    return found


def row(mix: str, problem: HeatProblem) -> Timed[HeatPlan]:
    """Print one line of the table."""
    own = timed(lambda: plan_heats(problem), RUNS)
    plan, floors, met = own.answer, problem.floors, own.answer.opponents
    clearance = "-" if floors.clearance_mhz is None else f"{floors.clearance_mhz:g}"
    heats = f"{plan.heats_per_round} ({'proven' if plan.heats_proven_minimum else f'bound {plan.heats_bound}'})"
    print(
        f"{mix:<24}{floors.spacing_mhz:g}/{clearance:<4}{own.seconds:6.2f} s wall {own.processor_seconds:6.2f} s "
        f"processor  heats {heats:<14} changes {plan.channel_changes}  twice running {plan.twice_running}  "
        f"others met {met.reached} of {met.bound}",
        flush=True,
    )
    return own


def solver_row(problem: HeatProblem, own: Timed[HeatPlan], heats: int) -> None:
    """Print how long the solver looks for one round with so many heats, beside the whole day of ours."""
    solver = by_solver(problem, heats)
    times = beside(solver, own, is_cut_off=solver.answer == "UNKNOWN")
    print(f"{'':<32}CP-SAT, one round of {heats} heats: {solver.answer:<10} {times}", flush=True)


def main() -> None:
    """Print the table."""
    print(f"{PILOTS} pilots, size {SIZE}, {ROUNDS} rounds; median of {RUNS} runs")
    slowest = 0.0
    for mix, kits in MIXES.items():
        for floors in FLOORS:
            problem = day(kits, floors)
            own = row(mix, problem)
            slowest = max(slowest, own.seconds)
            if "--solver" in sys.argv[1:] and len({s.mhz for each in problem.pilots for s in each.settings}) < 60:
                for heats in (own.answer.heats_per_round, own.answer.heats_per_round - 1):
                    solver_row(problem, own, heats)
    print(f"slowest: {slowest:.2f} s")


if __name__ == "__main__":
    main()
