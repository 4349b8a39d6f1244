"""What a set may be chosen from: plans, extra frequencies, the band and the neighbours."""

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.bands import parse_segments
from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.pool import plans_of, pool_mhz

PLANS = published_plans()


def test_the_five_plans_have_39_frequencies_and_with_l_47() -> None:
    # 5880 MHz is in two plans (F8 and R7): 40 names, 39 frequencies. ArduPilot, libraries/AP_VideoTX/AP_VideoTX.cpp.
    assert len(pool_mhz(PLANS, "ABEFR")) == 39
    assert len(pool_mhz(PLANS, "ABEFRL")) == 47


def test_extra_frequencies_join_the_plans_and_repeats_count_once() -> None:
    assert pool_mhz(PLANS, "R", [5671, 5658, 5671]) == (5658, 5671, 5695, 5732, 5769, 5806, 5843, 5880, 5917)
    assert pool_mhz(PLANS, "", [5700, 5650]) == (5650, 5700)
    assert pool_mhz(PLANS, "RR") == pool_mhz(PLANS, "R")


def test_the_whole_width_must_lie_in_one_segment() -> None:
    touching = parse_segments("5725-5745, 5745-5765")
    assert pool_mhz((), "", [5735, 5745, 5755], touching) == (5735, 5755)
    assert pool_mhz((), "", [5734, 5735, 5755, 5756], touching) == (5735, 5755)
    assert pool_mhz((), "", [5734, 5735, 5755, 5756], touching, width_mhz=18) == (5734, 5735, 5755, 5756)


def test_extra_frequencies_are_held_to_the_band_as_well() -> None:
    assert pool_mhz(PLANS, "R", [5671, 5740], parse_segments("5725-5875")) == (5740, 5769, 5806, 5843)


@pytest.mark.parametrize(
    ("width", "kept"),
    [
        pytest.param(20, (5695, 5795), id="half of 20 and half of 80 are 50"),
        pytest.param(22, (), id="half of 22 and half of 80 are 51"),
        pytest.param(18, (5695, 5696, 5794, 5795), id="half of 18 and half of 80 are 49"),
    ],
)
def test_at_least_half_of_both_widths_lies_between_a_carrier_and_a_neighbour(width: int, kept: tuple[int]) -> None:
    wifi = [Neighbour("Wi-Fi", 5745, 80)]
    assert pool_mhz((), "", [5695, 5696, 5745, 5794, 5795], (), width, wifi) == kept


def test_every_neighbour_counts() -> None:
    neighbours = [Neighbour("one", 5658, 20), Neighbour("another", 5917, 20)]
    assert pool_mhz(PLANS, "R", neighbours=neighbours) == (5695, 5732, 5769, 5806, 5843, 5880)


def test_a_letter_that_no_plan_has_is_refused_by_name() -> None:
    with pytest.raises(BadProblem, match="no channel plan 'Q'") as refused:
        pool_mhz(PLANS, "AQ")
    assert refused.value.field == "plans"
    assert [plan.letter for plan in plans_of("RAA", PLANS)] == ["A", "R"]


def test_a_width_that_can_not_be_is_refused_even_where_no_edge_needs_it() -> None:
    with pytest.raises(BadProblem, match="A width of 0 MHz"):
        pool_mhz(PLANS, "A", width_mhz=0)
