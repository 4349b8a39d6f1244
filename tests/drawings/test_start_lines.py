"""A start line as drawn: each place once, the words of the places and the gaps clear of each other and of the edges."""

from hypothesis import given
from hypothesis import strategies as st

from meetapp.drawings.shapes import Box
from meetapp.drawings.start_lines import ROOM_ON_A_PHONE, STEP, start_line_picture
from meetapp.drawings.text_width import text_width
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.heats import LinePlace, start_line
from tests.drawings.boxes import trouble_in

channels = st.sampled_from([("R1", 5658), ("A12", 5725), ("5917", 5917), ("5740", 5740)])


@given(standing=st.dictionaries(st.integers(1, 10), channels), pads=st.none() | st.integers(1, 12))
def test_no_words_cover_each_other(standing: dict[int, tuple[str, int]], pads: int | None) -> None:
    places = [(LinePlace(pad, label), Carrier(mhz)) for pad, (label, mhz) in standing.items()]
    assert trouble_in(start_line_picture(start_line(places, pads), "Round 1, heat 1")) == []


@given(standing=st.dictionaries(st.integers(1, 10), channels), pads=st.none() | st.integers(1, 12))
def test_every_place_is_there_solid_where_somebody_stands(
    standing: dict[int, tuple[str, int]], pads: int | None
) -> None:
    places = [(LinePlace(pad, label), Carrier(mhz)) for pad, (label, mhz) in standing.items()]
    picture = start_line_picture(start_line(places, pads), "Round 1, heat 1")
    last = max([pads or 0, *standing])
    assert picture.drawings[0].width == last * STEP
    for drawing in picture.drawings:
        boxes = [shape for shape in drawing.shapes if isinstance(shape, Box)]
        assert [box.kind == "solid" for box in boxes] == [pad in standing for pad in range(1, last + 1)]
    assert picture.drawings[-1].width <= ROOM_ON_A_PHONE
    for pad, (label, _mhz) in standing.items():
        assert f"pad {pad}: {label}" in picture.description


def test_long_names_beside_each_other_keep_apart() -> None:
    places = [(LinePlace(pad, name), Carrier(int(name))) for pad, name in enumerate(("5925", "5695"), start=1)]
    (drawing,) = start_line_picture(start_line(places, 2), "Round 1, heat 1").drawings
    one, other = (words for words in drawing.words if words.text in ("5925", "5695"))
    room = other.x - one.x - (text_width(one.text, one.size) + text_width(other.text, other.size)) / 2
    assert room >= 10
