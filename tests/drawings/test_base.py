"""Axes are true, labels keep apart and near their anchors, words fit the room that was counted for them."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import NoRoom, lanes, spread
from meetapp.drawings.shapes import Drawing, Extent, Part, Words, hatch, line
from meetapp.drawings.text_width import MORE, shorten, text_width

places = st.floats(-1000, 1000, allow_nan=False)
labels = st.lists(st.tuples(places, st.floats(0.5, 60)), max_size=14)


@given(low=st.integers(5000, 6000), span=st.integers(1, 500), values=st.lists(st.integers(5000, 6500), min_size=2))
def test_an_axis_is_true(low: int, span: int, values: list[int]) -> None:
    axis = Axis(low, low + span, 10, 370)
    for one, other in pairwise(values):
        assert axis.at(other) - axis.at(one) == pytest.approx((other - one) * 360 / span)
    assert (axis.at(low), axis.at(low + span)) == (pytest.approx(10), pytest.approx(370))


@given(low=st.integers(5000, 6000), span=st.integers(1, 5000), room=st.floats(5, 200))
def test_ticks_are_round_and_stand_apart(low: int, span: int, room: float) -> None:
    axis = Axis(low, low + span, 0, 900)
    ticks = axis.ticks(room, MHZ_STEPS)
    assert all(axis.holds(tick) for tick in ticks)
    for one, other in pairwise(ticks):
        assert axis.at(other) - axis.at(one) >= room * (1 - 1e-9)
        assert other - one in MHZ_STEPS or (other - one) % MHZ_STEPS[-1] == 0
        assert one % (other - one) == 0


def test_an_axis_without_length_is_refused() -> None:
    with pytest.raises(ValueError, match="no length"):
        Axis(5700, 5700, 0, 100)


@given(labels=labels, gap=st.floats(0, 5))
def test_spread_labels_never_touch_and_stay_in_the_room(labels: list[tuple[float, float]], gap: float) -> None:
    labels.sort()
    anchors, lengths = [at for at, _ in labels], [length for _, length in labels]
    need = sum(lengths) + gap * max(0, len(labels) - 1)
    middles = spread(anchors, lengths, 0, need + 50, gap)
    edges = [(middle - length / 2, middle + length / 2) for middle, length in zip(middles, lengths, strict=True)]
    for (_left, right), (left, _right) in pairwise(edges):
        assert right + gap <= left + 1e-6
    if edges:
        assert edges[0][0] >= -1e-6
        assert edges[-1][1] <= need + 50 + 1e-6


@given(labels=labels)
def test_labels_that_have_room_at_their_anchors_stay_there(labels: list[tuple[float, float]]) -> None:
    labels.sort()
    anchors = [at + 61 * place for place, (at, _) in enumerate(labels)]
    lengths = [length for _, length in labels]
    assert spread(anchors, lengths, -2000, 3000) == pytest.approx(anchors)


@given(st.lists(st.integers(0, 12), min_size=1, max_size=4))
def test_no_other_places_on_a_raster_are_nearer(raster: list[int]) -> None:
    """Brute force: every placing of labels of length 2 on whole numbers."""
    anchors = sorted(float(at) for at in raster)

    def shift(places: tuple[float, ...]) -> float:
        return sum((place - anchor) ** 2 for place, anchor in zip(places, anchors, strict=True))

    def placings(count: int, start: int) -> list[tuple[float, ...]]:
        if count == 0:
            return [()]
        return [(at, *rest) for at in range(start, 13) for rest in placings(count - 1, at + 2)]

    best = min(shift(places) for places in placings(len(anchors), 1))
    assert shift(spread(anchors, [2.0] * len(anchors), 0, 13)) <= best + 1e-6


def test_labels_without_room_are_refused() -> None:
    with pytest.raises(NoRoom, match="don't fit"):
        spread([1, 2, 3], [10, 10, 10], 0, 29)
    assert spread([], [], 0, 0) == ()


@given(st.lists(st.tuples(st.integers(0, 100), st.integers(1, 40)), max_size=15), st.integers(0, 5))
def test_stretches_in_one_lane_keep_apart_and_no_lane_is_spare(pairs: list[tuple[int, int]], gap: int) -> None:
    stretches = sorted((low, low + length) for low, length in pairs)
    chosen = lanes(stretches, gap)
    for place, (low, high) in enumerate(stretches):
        for other in range(place):
            if chosen[other] == chosen[place]:
                assert stretches[other][1] + gap <= low
        # In order of their beginnings, a new lane is only opened where as many stand in the way.
        in_the_way = sum(right + gap > low and left < high + gap for left, right in stretches[:place])
        assert chosen[place] <= in_the_way


@given(st.text(max_size=30), st.floats(0, 200))
def test_a_shortened_text_fits(text: str, room: float) -> None:
    short = shorten(text, 14, room)
    assert text_width(short, 14) <= room
    assert short == text or short == "" or text.startswith(short.removesuffix(MORE))


@pytest.mark.parametrize(
    ("anchor", "extent"),
    [("start", Extent(100, 190.5, 128, 202.5)), ("end", Extent(72, 190.5, 100, 202.5))],
)
def test_words_know_their_box(anchor: str, extent: Extent) -> None:
    box = Words(100, 200, "5658", 10, anchor).extent  # type: ignore[arg-type]
    assert (box.left, box.top, box.right, box.bottom) == pytest.approx(
        (extent.left, extent.top, extent.right, extent.bottom)
    )
    assert box.covers(Extent(box.left + 1, box.top, 300, 300))
    assert not box.covers(Extent(box.right, box.top, 300, 300))


@given(st.floats(1, 300), st.floats(1, 100))
def test_a_hatch_stays_inside(width: float, height: float) -> None:
    path = hatch(10, 20, width, height).path
    numbers = [float(number) for number in path.replace("M", " ").replace("L", " ").split()]
    assert all(9.9 <= x <= 10 + width + 0.1 for x in numbers[::2])
    assert all(19.9 <= y <= 20 + height + 0.1 for y in numbers[1::2])


def test_a_drawing_finds_its_words_and_links_in_parts() -> None:
    linked = Part((Words(0, 10, "Ana"), line(0, 0, 5, 5)), "Ana, 14:02", "#loan-1")
    drawing = Drawing("only", 100, 50, (linked, Words(0, 30, "Ben")))
    assert [words.text for words in drawing.words] == ["Ana", "Ben"]
    assert drawing.has_links
    assert not Drawing("only", 100, 50, (Part((), "only a hint"),)).has_links
