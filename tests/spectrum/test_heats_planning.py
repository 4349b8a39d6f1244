"""Plans of heats: against going through every way to fly a small roster, and by the definitions for large ones."""

from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.planning import plan_heats
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.tuning import Setting
from tests.spectrum.heat_checks import best_by_brute_force, wrong_with


@st.composite
def small_days(draw: st.DrawFn) -> HeatProblem:
    # Half of the rosters stand on a grid, where products fall on carriers far more often than elsewhere.
    step = draw(st.sampled_from([1, 20]))
    somewhere = st.integers(0, 260 // step).map(lambda steps: 5650 + step * steps)
    pool = draw(st.lists(somewhere, min_size=1, max_size=6, unique=True))
    known = st.one_of(st.none(), st.sampled_from(pool), st.just(5800))
    pilots = []
    for number in range(draw(st.integers(1, 7))):
        mhz = draw(st.lists(st.sampled_from(pool), min_size=1, max_size=4, unique=True))
        settings = tuple(Setting(f"{each} MHz", each) for each in sorted(mhz))
        width = draw(st.sampled_from([20, 20, 20, 10, 17.5, 40]))
        pilots.append(HeatPilot(f"pilot {number}", settings, width, draw(known), draw(known)))
    floors = Floors(draw(st.integers(0, 60)), draw(st.one_of(st.none(), st.integers(0, 20))))
    names = st.sampled_from([each.name for each in pilots])
    return HeatProblem(
        tuple(pilots),
        size=draw(st.integers(1, 7)),
        rounds=draw(st.integers(1, 3)),
        floors=floors,
        on_air=tuple(draw(st.lists(st.builds(Carrier, somewhere, st.sampled_from([20, 40])), max_size=1))),
        neighbours=tuple(draw(st.lists(st.builds(Neighbour, st.just("camera"), somewhere, st.just(20)), max_size=1))),
        just_flew=draw(st.frozensets(names, max_size=2)),
    )


@given(small_days())
def test_small_rosters_get_the_best_of_all_ways(day: HeatProblem) -> None:
    plan = plan_heats(day)
    assert wrong_with(day, plan) == []
    flying = tuple(each for each in day.pilots if each.name not in plan.grounded)
    if not flying:
        assert plan.heats_per_round == 0
        return
    heats, spread, changes, wakes = best_by_brute_force(day.with_pilots(flying))
    assert plan.heats_proven_minimum
    assert plan.changes_proven_minimum
    assert plan.heats_per_round == heats
    assert plan.sizes_even == (spread == 0)
    assert plan.channel_changes == changes
    assert plan.on_wake_channel == sum(each.wake_mhz is not None for each in flying) - wakes
