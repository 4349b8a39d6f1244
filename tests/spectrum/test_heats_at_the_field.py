"""One more pilot in a heat, and the order to switch on: against every way there is."""

from itertools import permutations, product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.plan import HeatPlace
from meetapp.spectrum.heats.planning import plan_heats
from meetapp.spectrum.heats.power_up import PowerUp, power_up_order
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.heats.refit import joined
from meetapp.spectrum.tuning import Setting
from tests.spectrum.heat_checks import keeps_floors, settings_of


@st.composite
def heats_with_a_newcomer(draw: st.DrawFn) -> HeatProblem:
    step = draw(st.sampled_from([1, 20]))
    somewhere = st.integers(0, 260 // step).map(lambda steps: 5650 + step * steps)
    pool = draw(st.lists(somewhere, min_size=2, max_size=6, unique=True))
    pilots = []
    for number in range(draw(st.integers(1, 4))):
        mhz = draw(st.lists(st.sampled_from(pool), min_size=1, max_size=4, unique=True))
        wake = draw(st.one_of(st.none(), st.sampled_from(pool)))
        settings = tuple(Setting(f"{each} MHz", each) for each in sorted(mhz))
        pilots.append(HeatPilot(f"pilot {number}", settings, draw(st.sampled_from([20, 20, 40])), wake_mhz=wake))
    floors = Floors(draw(st.integers(0, 60)), draw(st.one_of(st.none(), st.integers(0, 20))))
    on_air = tuple(draw(st.lists(st.builds(Carrier, somewhere), max_size=1)))
    return HeatProblem(tuple(pilots), 4, 1, floors, on_air)


@given(heats_with_a_newcomer())
def test_a_newcomer_costs_the_fewest_changes_of_all_ways(day: HeatProblem) -> None:
    members, newcomer = day.pilots[:-1], day.pilots[-1]
    heat: tuple[HeatPlace, ...] = ()
    if members:
        plan = plan_heats(day.with_pilots(members))
        if plan.heats_per_round != 1 or plan.grounded:
            return
        heat = plan.rounds[0].heats[0].places
    known = {place.pilot: place for place in heat}
    ways = [
        sum(p.name in known and known[p.name].mhz != s.mhz for p, s in zip(day.pilots, way, strict=True))
        for way in product(*(pilot.settings for pilot in day.pilots))
        if keeps_floors([(s.mhz, p.width_mhz) for s, p in zip(way, day.pilots, strict=True)], day)
    ]
    found = joined(day, heat, newcomer.name)
    assert (found is None) == (ways == [])
    if found is None:
        return
    assert len(found.changed) == min(ways)
    width = {pilot.name: pilot.width_mhz for pilot in day.pilots}
    assert keeps_floors([(place.mhz, width[place.pilot]) for place in found.places], day)
    for place in found.places:
        if place.pilot in known:
            assert place.pad == known[place.pilot].pad
            assert (place.mhz != known[place.pilot].mhz) == (place.pilot in found.changed)
    pads = [place.pad for place in found.places]
    assert pads == sorted(set(pads))


def test_a_newcomer_takes_the_gap_on_the_start_line_with_the_widest_spacing() -> None:
    day = HeatProblem(tuple(HeatPilot(name, settings_of("R")) for name in ("Ada", "Bo", "Cy")), 4, 1, Floors(37, 10))
    heat = [HeatPlace("Ada", "R1", 5658, 1), HeatPlace("Bo", "R8", 5917, 3)]
    found = joined(day, heat, "Cy")
    assert found is not None
    assert [(place.pilot, place.pad) for place in found.places] == [("Ada", 1), ("Cy", 2), ("Bo", 3)]


def test_a_full_heat_or_a_full_start_line_takes_nobody() -> None:
    pilots = tuple(HeatPilot(name, settings_of("R")) for name in ("Ada", "Bo", "Cy"))
    heat = [HeatPlace("Ada", "R1", 5658, 1), HeatPlace("Bo", "R8", 5917, 2)]
    assert joined(HeatProblem(pilots, 2, 1, Floors(37, 10)), heat, "Cy") is None
    assert joined(HeatProblem(pilots, 3, 1, Floors(37, 10)), heat, "Cy") is not None


known_or_not = st.one_of(st.none(), st.integers(5650, 5800))
power_ups = st.lists(
    st.tuples(st.integers(0, 4).map(lambda n: 5650 + 37 * n), st.sampled_from([20, 40]), known_or_not), max_size=5
)


@given(power_ups, st.lists(st.builds(Carrier, st.integers(5650, 5800)), max_size=2), st.sampled_from([0, 20, 37]))
def test_the_order_to_switch_on_is_the_best_of_all(
    drawn: list[tuple[int, int, int | None]], on_air: list[Carrier], spacing: int
) -> None:
    heat = [PowerUp(f"pilot {n}", mhz, width, wake) for n, (mhz, width, wake) in enumerate(drawn)]

    def judged(order: tuple[PowerUp, ...]) -> int:
        up = [(carrier.mhz, carrier.width_mhz) for carrier in on_air]
        total = 0
        for one in order:
            for mhz, width in up:
                if one.wake_mhz is None:
                    total += 100
                elif abs(one.wake_mhz - mhz) < (one.width_mhz + width) / 2:
                    total += 10_000
                elif abs(one.wake_mhz - mhz) < spacing + (one.width_mhz + width) / 2 - 20:
                    total += 1
            up.append((one.mhz, one.width_mhz))
        return total

    found = power_up_order(heat, on_air, spacing)
    by_name = {one.pilot: one for one in heat}
    order = tuple(by_name[name] for name in found.pilots)
    assert len(order) == len(heat)
    best = min(judged(way) for way in permutations(heat))
    assert judged(order) == best
    assert (found.clashes == ()) == (best == 0)


@pytest.mark.parametrize(
    ("wakes", "order"),
    [
        pytest.param([5658, 5695, 5732], "ABC", id="each wakes on their own"),
        pytest.param([5695, 5732, 5800], "ABC", id="each wakes on the next one's"),
        pytest.param([5800, 5658, 5695], "CBA", id="each wakes on the one's before"),
        pytest.param([5658, None, 5732], "BAC", id="one is unknown"),
    ],
)
def test_nobody_wakes_on_a_channel_that_is_on_air(wakes: list[int | None], order: str) -> None:
    heat = [PowerUp(name, mhz, 20, wake) for name, mhz, wake in zip("ABC", (5658, 5695, 5732), wakes, strict=True)]
    found = power_up_order(heat, [], 37)
    assert "".join(found.pilots) == order
    assert found.clashes == ()


def test_a_swap_of_two_channels_has_one_clash_whatever_the_order() -> None:
    heat = [PowerUp("Ada", 5658, wake_mhz=5695), PowerUp("Bo", 5695, wake_mhz=5658)]
    found = power_up_order(heat, [], 37)
    assert [(clash.pilot, clash.wake_mhz, clash.on_air_mhz) for clash in found.clashes] == [("Bo", 5658, (5658,))]
