"""Days of heats for clubs of many sizes: what a plan claims holds by the definitions, whatever the time it had."""

from dataclasses import replace
from itertools import islice

import pytest

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.demands import unmet_demands
from meetapp.spectrum.heats.planning import better_plans, never, plan_heats
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from tests.spectrum.heat_checks import settings_of, wrong_with

KITS = ("A B E F R", "R", "F R", "E", "5650-5925/5", "R1 R3 R6 R8", "A B F", "5740-5880/20")


def roster(pilots: int, *kits: str, every_third_wakes: bool = False) -> tuple[HeatPilot, ...]:
    """So many pilots with these kits in turn; every third may wake on the channel in the middle of theirs."""
    made = []
    for number in range(pilots):
        settings = settings_of(kits[number * number % 7 % len(kits)])
        wake = settings[len(settings) // 2].mhz if every_third_wakes and number % 3 == 0 else None
        made.append(HeatPilot(f"pilot {number}", settings, wake_mhz=wake))
    return tuple(made)


DAYS = {
    "one pilot": HeatProblem(roster(1, "R"), 4, 3, Floors(37, 10)),
    "everybody in one heat": HeatProblem(roster(4, "R"), 4, 2, Floors(37, 10)),
    "two heats": HeatProblem(roster(9, "R", "F R"), 5, 3, Floors(20, 10)),
    "all of one kit": HeatProblem(roster(23, "R"), 4, 4, Floors(37, 10)),
    "one channel for all": HeatProblem(roster(5, "R3"), 4, 2, Floors(37, 10)),
    "mixed kit": HeatProblem(roster(31, *KITS), 5, 3, Floors(37, 10)),
    "mixed kit, no clearance": HeatProblem(roster(31, *KITS), 8, 3, Floors(37, None)),
    "mixed kit with wake channels": HeatProblem(roster(31, *KITS, every_third_wakes=True), 6, 3, Floors(25, 10)),
    "kits with no channel in common": HeatProblem(roster(20, "E1 E2", "R7 R8", "5740"), 6, 2, Floors(37, 10)),
    "a loan beside the heats": HeatProblem(roster(14, *KITS), 5, 2, Floors(37, 10), on_air=(Carrier(5800),)),
    "some can't fly": HeatProblem(roster(8, "R4", "A B"), 4, 2, Floors(37, 10), on_air=(Carrier(5760),)),
    "a long start line": HeatProblem(roster(12, "R"), 4, 2, Floors(37, 10), pads=9),
    "the whole day already had a heat": HeatProblem(
        roster(12, "R"),
        4,
        2,
        Floors(37, 10),
        just_flew=frozenset({"pilot 0", "pilot 1", "pilot 2", "pilot 3"}),
        have_met=frozenset({frozenset({"pilot 0", "pilot 1"})}),
    ),
}


@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS)
def test_a_plan_keeps_everything_it_claims(day: HeatProblem) -> None:
    plan = plan_heats(day)
    assert wrong_with(day, plan) == []
    assert plan.channel_changes == 0
    assert plan.twice_running == 0 or plan.heats_per_round == 1


@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS)
def test_a_plan_made_in_no_time_keeps_everything_it_claims(day: HeatProblem) -> None:
    plan = plan_heats(day, lambda: True)
    assert wrong_with(day, plan) == []
    assert plan.worth >= plan_heats(day).worth


def test_the_same_day_gets_the_same_plan_and_the_order_of_pilots_does_not_matter() -> None:
    day = DAYS["mixed kit"]
    plan = plan_heats(day)
    assert plan == plan_heats(day)
    turned = plan_heats(day.with_pilots(day.pilots[::-1]))
    assert (turned.heats_per_round, turned.heats_bound) == (plan.heats_per_round, plan.heats_bound)


def test_each_plan_of_a_longer_search_is_better_and_kept_as_well() -> None:
    day = HeatProblem(roster(16, "R"), 4, 5, Floors(37, None))
    plans = list(islice(better_plans(day, never), 2))
    assert all(wrong_with(day, plan) == [] for plan in plans)
    worths = [plan.worth for plan in plans]
    assert worths == sorted(worths, reverse=True)
    assert len(worths) == 2


def test_with_one_kit_the_counts_are_those_anybody_can_work_out() -> None:
    # Four carriers of band R keep any clearance at all (an equal-step band of eight: no Golomb ruler of five fits).
    plan = plan_heats(HeatProblem(roster(24, "R"), 6, 3, Floors(37, 10)))
    assert (plan.heats_per_round, plan.heats_proven_minimum) == (6, True)
    # Each meets three others in each round, all of them different.
    assert set(plan.opponents.by_pilot.values()) == {9}
    assert plan.opponents.reached == plan.opponents.bound == 24 * 9


def test_channels_flown_before_are_kept_where_that_costs_no_heat() -> None:
    settings = settings_of("R")
    known = [settings[number % 4 * 2].mhz for number in range(8)]
    pilots = tuple(HeatPilot(f"pilot {n}", settings, set_mhz=mhz) for n, mhz in enumerate(known))
    plan = plan_heats(HeatProblem(pilots, 4, 2, Floors(37, None)))
    assert (plan.heats_per_round, plan.channel_changes, plan.changes_proven_minimum) == (2, 0, True)
    # Three pilots know R1, and there are two heats: one of them has to change.
    crowded = tuple(HeatPilot(f"pilot {n}", settings, set_mhz=5658 if n < 3 else None) for n in range(20))
    plan = plan_heats(HeatProblem(crowded, 10, 2, Floors(37, None)))
    assert plan.heats_per_round == 3
    assert plan.channel_changes == 0
    plan = plan_heats(HeatProblem(crowded[:16], 10, 2, Floors(37, None)))
    assert (plan.heats_per_round, plan.channel_changes, plan.changes_proven_minimum) == (2, 1, True)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        pytest.param({"size": 0}, "The size must be from 1 to 16 pilots, not 0.", id="no size"),
        pytest.param({"size": 17}, "The size must be from 1 to 16 pilots, not 17.", id="a crowd"),
        pytest.param({"rounds": 0}, "The rounds must be from 1 to 50, not 0.", id="no rounds"),
        pytest.param({"pads": 3}, "A start line of 3 places is too short for heats of 4.", id="a short start line"),
        pytest.param({"pilots": ()}, "There must be from 1 to 500 pilots, not 0.", id="nobody"),
        pytest.param({"floors": Floors(-1, 10)}, "The spacing must be 0 MHz or more, not -1.", id="spacing below zero"),
        pytest.param({"floors": Floors(37, -2)}, "The clearance must be 0 MHz or more, not -2.", id="clearance below"),
        pytest.param({"pilots": roster(5, "R") + roster(1, "R")}, "2 pilots called 'pilot 0'", id="a name twice"),
        pytest.param(
            {"pilots": (HeatPilot("Ada", settings_of("R1") + settings_of("R1")),)}, "a frequency twice", id="twice"
        ),
    ],
)
def test_a_day_that_can_not_be_meant_is_refused(change: dict[str, object], sentence: str) -> None:
    with pytest.raises(BadProblem) as refused:
        HeatProblem(**{"pilots": roster(5, "R"), "size": 4, "rounds": 1, "floors": Floors(37, 10), **change})  # type: ignore[arg-type]
    assert sentence in refused.value.reason


def test_no_pilots_are_blamed_where_the_fewest_heats_are_not_proven() -> None:
    kits = ("R", "A B E F R", "F", "5650-5925/1", "A B E F")
    pilots = tuple(HeatPilot(f"P{number + 1}", settings_of(kits[number % 5])) for number in range(60))
    day = HeatProblem(pilots, 6, 3, Floors(37, 10))
    plan = plan_heats(day)
    assert (plan.heats_per_round, plan.heats_bound, plan.heats_proven_minimum) == (11, 10, False)
    assert max(len(heat.places) for heat in plan.rounds[0].heats) == 6
    (unmet,) = unmet_demands(day, plan, None, lambda: True)
    assert unmet.pilots == ()
    assert unmet.sentence == (
        "11 heats were found; 10 would hold everybody, and whether fewer than 11 do is not known."
    )


def test_pilots_are_named_who_leave_no_full_heat_among_themselves() -> None:
    few, many = settings_of("R2 R5"), settings_of("5740-5880/20")
    pilots = tuple(HeatPilot(f"P{number + 1}", few if number < 7 else many) for number in range(14))
    day = HeatProblem(pilots, 5, 1, Floors(37, 10))
    plan = plan_heats(day)
    (unmet,) = unmet_demands(day, plan, None, never)
    assert unmet.sentence == (
        "5 heats were found, at least 5 are needed; 3 would hold everybody. "
        "No full heat can be made of these 7 pilots alone."
    )
    named = {each.name: each for each in pilots if each.name in unmet.pilots}
    assert len(named) == 7
    # By the definition: as many of them as a full heat holds take more than one heat.
    assert plan_heats(day.with_pilots(tuple(named.values())[:5])).heats_per_round > 1
    assert unmet_demands(day, replace(plan, heats_bound=3), None, never)[0].pilots == ()
