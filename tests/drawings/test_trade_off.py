"""The curve of the trade-off: true places, a step without gaps, numbers that don't touch, all inside the drawing."""

import re
from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from meetapp.drawings.shapes import Box, Part, Stroke, flat
from meetapp.drawings.trade_off import Curve, CurvePoint, trade_off_picture

USEFUL_MHZ = 35


@st.composite
def curves(draw: st.DrawFn) -> Curve:
    """Falling clearances at rising spacings, and a few other numbers of channels anywhere."""
    spacings = sorted(draw(st.sets(st.integers(20, 120), max_size=9)))
    clearances = sorted(draw(st.lists(st.integers(-20, 35), min_size=9, max_size=9)), reverse=True)
    starts = [20, *(spacing + 1 for spacing in spacings)]
    wanted = [
        point(6, start, spacing, clearance, is_proven=draw(st.booleans()))
        for start, spacing, clearance in zip(starts, spacings, clearances, strict=False)
    ]
    others = [
        point(count, 37, draw(st.integers(37, 250)), draw(st.integers(-20, 35)))
        for count in draw(st.sets(st.sampled_from([2, 3, 4, 5, 7, 8, 9, 10])))
    ]
    return Curve(6, tuple(wanted), tuple(others), USEFUL_MHZ)


def point(count: int, start: float, spacing: float, clearance: float, is_proven: bool = True) -> CurvePoint:
    hint, href = f"{count} at {spacing}", f"/{count}/{spacing}"
    return CurvePoint(count, start, spacing, clearance, hint, href, is_proven, is_asked=False)


@given(curves())
def test_numbers_keep_apart_and_everything_is_inside(curve: Curve) -> None:
    picture = trade_off_picture(curve)
    if picture is None:
        assert not curve.wanted
        assert not curve.others
        return
    for drawing in picture.drawings:
        counts = [words.extent for words in drawing.words if "strong" in words.kind]
        at_one_height = [(a, b) for a, b in combinations(counts, 2) if a.top == b.top]
        assert not any(a.covers(b) for a, b in at_one_height)
        for words in drawing.words:
            assert 0 <= words.extent.left <= words.extent.right <= drawing.width
            assert 0 <= words.extent.top <= words.extent.bottom <= drawing.height


@given(curves())
def test_the_step_is_true_and_has_no_gap(curve: Curve) -> None:
    picture = trade_off_picture(curve)
    if picture is None or not curve.wanted:
        return
    for drawing in picture.drawings:
        levels = [shape for shape in flat(drawing.shapes) if isinstance(shape, Stroke) and shape.kind[:4] == "mark"]
        ends = [[float(number) for number in re.findall(r"-?[\d.]+", level.path)] for level in levels]
        steps = ends[: len(curve.wanted)]
        assert all(before[2] == after[0] for before, after in pairwise(steps))
        # Equal MHz are equal distances, to the tenth that is written down.
        per_mhz = {
            round((after[2] - before[2]) / (b.spacing_mhz - a.spacing_mhz), 6)
            for (before, after), (a, b) in zip(pairwise(steps), pairwise(curve.wanted), strict=True)
        }
        assert not per_mhz or max(per_mhz) - min(per_mhz) <= 0.21


def test_every_point_leads_to_its_question_and_the_one_asked_for_is_framed() -> None:
    asked = CurvePoint(6, 20, 40, 10, "6 at 40", "/asked", True, True)
    picture = trade_off_picture(Curve(6, (asked,), (point(5, 37, 50, 20), point(2, 37, 400, 35)), USEFUL_MHZ))
    assert picture is not None
    for drawing in picture.drawings:
        parts = [shape for shape in drawing.shapes if isinstance(shape, Part)]
        # Two channels 400 MHz apart would shrink the step to nothing: they stand in the table only.
        assert [part.href for part in parts] == ["/5/50", "/asked"]
        assert sum(isinstance(shape, Box) and shape.kind == "line" for shape in parts[1].shapes) == 1
