"""The bars of 'How many tokens?': as high as what they stand for, their words clear of each other."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.drawings.shapes import Box, Drawing
from meetapp.drawings.token_counts import BAR_SHARE, NARROW, PANEL_HEIGHT, CountColumn, counts_picture

SIX = [
    CountColumn(1, 0.04, 0.035, None, None, False),
    CountColumn(2, 0.08, 0.08, None, None, False),
    CountColumn(3, 0.12, 0.11, 41, 29, False),
    CountColumn(4, 0.15, 0.15, 37, 28, False),
    CountColumn(5, 0.19, 0.18, 10, 0, False),
    CountColumn(6, 0.22, 0.21, 3, -9, True),
]


def boxes(drawing: Drawing, kind: str) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and shape.kind == kind]


@pytest.mark.parametrize("place", [0, 1], ids=["wide", "narrow"])
def test_a_bar_is_as_high_as_its_value_and_a_line_lies_at_the_second_one(place: int) -> None:
    drawing = counts_picture(SIX).drawings[place]
    air, clearance = boxes(drawing, "box")[:6], boxes(drawing, "box")[6:]
    assert [bar.height / PANEL_HEIGHT for bar in air] == pytest.approx([each.air_share / 0.22 for each in SIX])
    from_least = 41 + 9  # the axis goes down to the worst case below 0
    assert [bar.height / PANEL_HEIGHT for bar in clearance] == pytest.approx(
        [each / from_least for each in (41, 37, 10, 3)]
    )
    lines, foot = boxes(drawing, "solid"), clearance[0].y + clearance[0].height
    heights = [foot - (each.y + each.height / 2) for each in lines[6:]]
    assert heights == pytest.approx([each / from_least * PANEL_HEIGHT for each in (29, 28, 0, -9)])
    assert [each.y + each.height for each in (*air, *clearance)] == pytest.approx(
        [air[0].y + air[0].height] * 6 + [foot] * 4
    )


def test_what_is_planned_has_a_second_frame_and_nothing_else_has() -> None:
    for drawing in counts_picture(SIX).drawings:
        frames = boxes(drawing, "mark")
        assert [(frame.x, frame.width) for frame in frames] == [
            (bar.x, bar.width) for bar in (boxes(drawing, "box")[5], boxes(drawing, "box")[-1])
        ]


@given(st.lists(st.tuples(st.floats(0, 1), st.none() | st.integers(-40, 150)), min_size=1, max_size=10))
def test_words_never_touch_and_all_lies_inside(values: list[tuple[float, int | None]]) -> None:
    columns = [
        CountColumn(count, share, share / 2, clearance, None if clearance is None else clearance - 8, count == 4)
        for count, (share, clearance) in enumerate(values, start=1)
    ]
    for drawing in counts_picture(columns).drawings:
        assert not any(one.extent.covers(other.extent) for one, other in combinations(drawing.words, 2))
        for each in drawing.words:
            assert each.extent.left >= 0
            assert each.extent.right <= drawing.width
            assert 0 <= each.extent.top <= each.extent.bottom <= drawing.height


def test_one_bar_alone_fills_its_share() -> None:
    [_wide, narrow] = counts_picture(SIX[:1]).drawings
    assert boxes(narrow, "box")[0].width == pytest.approx(NARROW * BAR_SHARE)
    assert [words.text for words in narrow.words] == [
        "Time in the air (%) by tokens",
        "4",
        "1",
        "Clearance (MHz) by tokens",
        "–",
        "1",
    ]
