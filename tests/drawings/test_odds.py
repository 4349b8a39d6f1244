"""Bars of odds and the curve of a transmitter without a token: true lengths, words that never touch."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.drawings.odds import Odds, odds_picture
from meetapp.drawings.shapes import Box, Stroke, flat
from meetapp.drawings.silent_air import SilentAir, silent_picture, within
from tests.drawings.boxes import trouble_in

mhz = st.integers(5300, 6000)


def silent(curve: dict[int, float], in_use: list[int]) -> SilentAir:
    whole = sum(curve.values())
    points = tuple((at, share / whole) for at, share in sorted(curve.items()))
    return SilentAir(points, points[0][0], points[-1][0], tuple(sorted(set(in_use))))


@pytest.mark.parametrize("place", [0, 1], ids=["wide", "narrow"])
def test_a_bar_is_as_long_as_it_is_likely(place: int) -> None:
    shares = (0.62, 0.2, 0.18)
    picture = odds_picture([Odds("a cause", share, f"{share:.0%}") for share in shares], "Odds")
    assert picture is not None
    bars = [shape for shape in picture.drawings[place].shapes if isinstance(shape, Box)]
    assert [bar.width / bars[0].width for bar in bars] == pytest.approx([share / 0.62 for share in shares])


def test_nothing_is_drawn_of_no_odds() -> None:
    assert odds_picture([], "Odds") is None


@settings(max_examples=15)
@given(st.lists(st.tuples(st.text(max_size=60), st.floats(0, 9)), min_size=1, max_size=8))
def test_no_words_of_odds_touch(odds: list[tuple[str, float]]) -> None:
    picture = odds_picture([Odds(name, value, f"{value:.1f}") for name, value in odds], "Odds", 5.0)
    assert picture is not None
    assert trouble_in(picture) == []


@settings(max_examples=15)
@given(st.dictionaries(mhz, st.floats(0.01, 1), min_size=1, max_size=40), st.lists(mhz, max_size=12))
def test_no_words_of_a_curve_touch(curve: dict[int, float], in_use: list[int]) -> None:
    assert trouble_in(silent_picture(silent(curve, in_use))) == []


def test_the_curve_and_the_channels_stand_on_one_true_axis() -> None:
    air = silent({5690: 1, 5700: 3}, [5650, 5750])
    drawing = silent_picture(air).drawings[0]
    marks = [shape.x + 2 for shape in flat(drawing.shapes) if isinstance(shape, Box)]
    per_mhz = (marks[1] - marks[0]) / 100
    [curve] = [shape for shape in drawing.shapes if isinstance(shape, Stroke) and shape.kind == "mark"]
    points = [tuple(map(float, point.split())) for point in curve.path[1:].split("L")]
    top = min(y for _x, y in points)
    # 5700 has three quarters; within 4 MHz of it that much, from 5696 up to 5704.
    highest = sorted(x for x, y in points if y == top)
    ends = [marks[0] + (at - 5650) * per_mhz for at in (5696, 5705)]
    assert [highest[0], highest[-1]] == pytest.approx(ends, abs=0.1)
    assert within(air.curve, 5696) == within(air.curve, 5704) == 0.75
