"""Drawings of settings: each lever and lamp stands where the card says, words fit, nothing is wider than a phone."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.drawings.settings import WIDEST, setting_picture
from meetapp.drawings.shapes import Box, Drawing
from meetapp.rules.setting_cards import LEVERS_MAX, LeversToSet, MenuEntry, PressesToMake, ToDo, lamp_words

LEVERS = st.builds(LeversToSet, st.lists(st.booleans(), min_size=1, max_size=LEVERS_MAX).map(tuple), st.booleans())
NAMES = st.sampled_from(("1", "red", "blue", "left", "Kanal", "a_very_long_name_for_a_lamp"))
SIGNS = st.sampled_from(("0", "1", "b", "x1", "x99"))
LAMPS = st.lists(st.tuples(NAMES, SIGNS), max_size=16).map(tuple)
COUNTS = st.none() | st.integers(0, 99)
PRESSES = st.builds(PressesToMake, COUNTS, COUNTS, LAMPS).filter(lambda each: each != PressesToMake(None, None))
MENUS = st.sampled_from((MenuEntry((("plan", "R"), ("channel", "8"))), MenuEntry((("frequency", "5658 MHz"),))))
TO_DO: st.SearchStrategy[ToDo] = LEVERS | PRESSES | MENUS


def drawn(to_do: ToDo) -> Drawing:
    [drawing] = setting_picture(to_do, "R1").drawings
    return drawing


def boxes(drawing: Drawing, kind: str) -> list[Box]:
    return [shape for shape in drawing.shapes if isinstance(shape, Box) and kind in shape.kind.split()]


@given(TO_DO)
def test_nothing_leaves_the_drawing_and_no_words_touch(to_do: ToDo) -> None:
    drawing = drawn(to_do)
    assert drawing.width <= WIDEST
    for words in drawing.words:
        assert words.extent.left >= -1e-6
        assert words.extent.right <= drawing.width + 1e-6
        assert words.extent.top >= -1e-6
        assert words.extent.bottom <= drawing.height + 1e-6
    for one, other in combinations(drawing.words, 2):
        assert not one.extent.covers(other.extent), (one, other)
    for box in boxes(drawing, "inside") + boxes(drawing, "solid") + boxes(drawing, "box"):
        assert box.x >= 0
        assert box.x + box.width <= drawing.width
        assert box.y + box.height <= drawing.height


@given(LEVERS)
def test_each_lever_stands_at_its_end(to_do: LeversToSet) -> None:
    drawing = drawn(to_do)
    slots, levers = boxes(drawing, "inside"), boxes(drawing, "solid")
    on = next(words for words in drawing.words if words.text == "ON")
    assert len(slots) == len(levers) == len(to_do.levers)
    for slot, lever, is_on in zip(slots, levers, to_do.levers, strict=True):
        stands_up = lever.y + lever.height / 2 < slot.y + slot.height / 2
        assert stands_up == (is_on == to_do.on_is_up)
        assert (on.y < slot.y + slot.height / 2) == to_do.on_is_up
    numbers = [words.text for words in drawing.words if words.text.isdecimal()]
    assert numbers == [str(number) for number in range(1, len(to_do.levers) + 1)]
    assert sum(words.text == "on" for words in drawing.words) == sum(to_do.levers)


@given(PRESSES)
def test_lamps_and_presses_are_told_in_words_too(to_do: PressesToMake) -> None:
    texts = [words.text for words in drawn(to_do).words]
    for _name, sign in to_do.lamps:
        assert lamp_words(sign) in texts
    for name, presses, _step in to_do.steps:
        assert name in texts
        assert any(str(presses) in text for text in texts) or presses in (0, 1)


@pytest.mark.parametrize(("presses", "dots"), [(0, 0), (1, 1), (7, 7), (8, 0), (99, 0)])
def test_presses_are_dots_while_they_can_be_counted_at_a_glance(presses: int, dots: int) -> None:
    assert len(boxes(drawn(PressesToMake(None, presses)), "solid")) == dots


def test_names_of_lamps_stand_whole_where_there_is_room() -> None:
    texts = [words.text for words in drawn(PressesToMake(None, 0, (("middle", "1"), ("left", "0")))).words]
    assert {"middle", "left"} <= set(texts)


def test_a_dark_a_lit_and_a_blinking_lamp_differ_in_shape() -> None:
    shapes = {sign: drawn(PressesToMake(None, None, (("red", sign),))).shapes for sign in ("0", "1", "b")}
    looks = {sign: [getattr(shape, "kind", "") for shape in each][1:-1] for sign, each in shapes.items()}
    assert looks == {"0": ["inside line"], "1": ["solid", "line"], "b": ["inside line dashed", "solid"]}


@given(TO_DO)
def test_the_description_is_the_sentence(to_do: ToDo) -> None:
    picture = setting_picture(to_do, "R1")
    assert picture.description == to_do.words
    assert picture.title.endswith("for R1")
