"""Widths: how far apart carriers have to be, the edges of neighbours, and tokens covered by a wide carrier."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import (
    Carrier,
    Neighbour,
    blocked_by,
    neighbour_gap,
    required_distance,
    spacing_between,
)
from meetapp.spectrum.channels import BadProblem

carriers = st.builds(Carrier, st.integers(5600, 5950), st.integers(10, 160).map(lambda halves: halves / 2))


# S + (B1 + B2)/2 - B0 with B0 = 20: our own convention, so that S stays the distance for two analogue carriers.
@pytest.mark.parametrize(
    ("a", "b", "floor", "distance"),
    [(20, 20, 37, 37), (20, 40, 37, 47), (40, 40, 37, 57), (18, 18, 37, 35), (10, 20, 30, 25), (17.5, 20, 37, 35.75)],
)
def test_required_distance_grows_with_half_of_each_width(a: float, b: float, floor: float, distance: float) -> None:
    assert required_distance(Carrier(5700, a), Carrier(5800, b), floor) == distance


@given(carriers, carriers, st.integers(0, 80))
def test_spacing_is_at_the_floor_exactly_when_the_required_distance_is_kept(a: Carrier, b: Carrier, floor: int) -> None:
    assert (spacing_between(a, b) >= floor) == (abs(a.mhz - b.mhz) >= required_distance(a, b, floor))
    assert spacing_between(a, b) == spacing_between(b, a)


# Wi-Fi channel 138 of 80 MHz lies from 5650 to 5730 MHz (IEEE 802.11-2016, Annex E).
@pytest.mark.parametrize(
    ("mhz", "width", "gap"),
    [(5740, 20, 0), (5741, 20, 1), (5690, 20, -50), (5640, 20, 0), (5658, 20, -18), (5740, 40, -10)],
)
def test_a_neighbour_counts_by_its_edge(mhz: int, width: float, gap: float) -> None:
    assert neighbour_gap(Carrier(mhz, width), Neighbour("Wi-Fi 138", 5690, 80)) == gap


def test_a_wide_carrier_blocks_the_tokens_it_covers_and_a_narrow_one_does_not() -> None:
    on_air = [Carrier(5740, 40), Carrier(5800)]
    assert blocked_by(5695, 20, on_air, 37) == (Carrier(5740, 40),)  # 45 MHz apart, 47 needed
    assert blocked_by(5693, 20, on_air, 37) == ()
    assert blocked_by(5805, 20, on_air, 37) == ()  # too close to 5800, but that one is not wide


def test_a_wide_token_is_blocked_sooner_than_an_analogue_one() -> None:
    on_air = [Carrier(5740, 40)]
    assert blocked_by(5690, 20, on_air, 37) == ()
    assert blocked_by(5690, 40, on_air, 37) == (Carrier(5740, 40),)


def test_whole_results_are_whole_numbers() -> None:
    assert isinstance(required_distance(Carrier(5700), Carrier(5800), 37), int)
    assert isinstance(spacing_between(Carrier(5700, 40), Carrier(5800)), int)


@pytest.mark.parametrize("width", [0, -20, 321, 16.4, float("inf"), float("nan")])
def test_a_width_that_cannot_be_is_refused(width: float) -> None:
    with pytest.raises(BadProblem) as refused:
        Carrier(5800, width)
    assert refused.value.field == "width_mhz"
    with pytest.raises(BadProblem):
        Neighbour("odd", 5800, width)
