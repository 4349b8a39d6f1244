"""The fewest heats of middling rosters, against an independent general-purpose solver (CP-SAT of OR-Tools)."""

from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.planning import plan_heats
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from tests.spectrum.heat_checks import keeps_floors, settings_of, wrong_with

SOLVER_EFFORT = 0.5
"""How far the solver looks at a day that may be anything, counted in its own steps and not by the clock."""

KITS = ("R", "F R", "A", "E", "R1 R3 R6 R8", "B1 B4 B8", "5650-5925/15", "R2", "F4 A1")


def fits(
    problem: HeatProblem, heats: int, most_changes: int | None = None, effort: float | None = None
) -> bool | None:
    """Whether everybody can fly in so many heats: pilot, heat and channel as yes or no, each floor as a ban.

    `most_changes`: so many may take another channel than they are set to. None where the solver spent its effort.
    """
    model = cp_model.CpModel()
    takes = {
        (pilot, heat, setting.mhz): model.new_bool_var(f"{pilot} {heat} {setting.mhz}")
        for pilot, each in enumerate(problem.pilots)
        for heat in range(heats)
        for setting in each.settings
    }
    for pilot, each in enumerate(problem.pilots):
        model.add_exactly_one(takes[pilot, heat, s.mhz] for heat in range(heats) for s in each.settings)
    frequencies = sorted({setting.mhz for each in problem.pilots for setting in each.settings})
    bans = banned(problem, frequencies)
    sizes = [sum(var for (_, other, _), var in takes.items() if other == heat) for heat in range(heats)]
    for size, next_size in pairwise(sizes):
        model.add(size >= next_size)
    for heat in range(heats):
        model.add(sizes[heat] <= problem.size)
        up = {}
        for mhz in frequencies:
            up[mhz] = model.new_bool_var(f"{heat} {mhz}")
            takers = [var for (_, other, own), var in takes.items() if (other, own) == (heat, mhz)]
            model.add(sum(takers) == up[mhz])
        for ban in bans:
            model.add_bool_or(up[mhz].negated() for mhz in ban)
    if most_changes is not None:
        set_to = [each.set_mhz for each in problem.pilots]
        changes = (var for (pilot, _, mhz), var in takes.items() if set_to[pilot] not in (None, mhz))
        model.add(sum(changes) <= most_changes)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    if effort is not None:
        solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return False
    return True if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None


def banned(problem: HeatProblem, frequencies: list[int]) -> list[tuple[int, ...]]:
    """The twos, threes and fours of carriers that break a floor while no fewer of them do."""
    found: list[tuple[int, ...]] = []
    for number in (2, 3, 4):
        for some in combinations(frequencies, number):
            if not any(set(ban) <= set(some) for ban in found) and not keeps_floors([(m, 20) for m in some], problem):
                found.append(some)
    return found


@st.composite
def days(draw: st.DrawFn) -> HeatProblem:
    kits = draw(st.lists(st.sampled_from(KITS), min_size=2, max_size=3, unique=True))
    names = range(draw(st.integers(13, 16)))
    pilots = []
    for name in names:
        settings = settings_of(draw(st.sampled_from(kits)))
        set_mhz = draw(st.sampled_from([None, settings[0].mhz, settings[-1].mhz]))
        pilots.append(HeatPilot(f"pilot {name}", settings, set_mhz=set_mhz))
    floors = draw(st.sampled_from([Floors(37, 10), Floors(37, None), Floors(25, 5), Floors(20, 10)]))
    return HeatProblem(tuple(pilots), draw(st.integers(3, 6)), 1, floors)


@settings(max_examples=8, deadline=None)
@given(days())
def test_a_claim_on_the_fewest_heats_and_changes_is_what_the_solver_finds(day: HeatProblem) -> None:
    plan = plan_heats(day)
    assert wrong_with(day, plan) == []
    # One heat or change less than proven is more than the solver can find, however long it looks.
    assert fits(day, plan.heats_bound - 1, effort=SOLVER_EFFORT) is not True
    assert fits(day, plan.heats_per_round, plan.changes_bound - 1, SOLVER_EFFORT) is not True


@pytest.mark.parametrize(
    ("kits", "heats"),
    [
        pytest.param(["R"] * 16, 4, id="one kit"),
        pytest.param(["R2"] * 5 + ["R"] * 10, 5, id="one channel for five"),
        pytest.param(["E"] * 8 + ["R1 R3 R6 R8"] * 8, 4, id="two kits"),
    ],
)
def test_the_solver_agrees_on_named_rosters(kits: list[str], heats: int) -> None:
    pilots = tuple(HeatPilot(f"pilot {n}", settings_of(kit)) for n, kit in enumerate(kits))
    day = HeatProblem(pilots, 4, 1, Floors(37, 10))
    plan = plan_heats(day)
    assert (plan.heats_per_round, plan.heats_proven_minimum) == (heats, True)
    assert fits(day, heats) is True
    assert fits(day, heats - 1) is False
