"""The air picture: a true axis, every carrier as wide as it is, words that never touch."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.drawings.air import air_compared, air_picture
from meetapp.drawings.air_lanes import shared
from meetapp.drawings.air_small import small_air_picture
from meetapp.drawings.shapes import Box, Drawing, flat
from meetapp.spectrum.air import AirFacts, Named, air_facts
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from tests.drawings.air_cases import CASES
from tests.drawings.boxes import trouble_in

mhz = st.integers(5300, 6000)
texts = st.text(max_size=20)
halves = st.integers(2, 160).map(lambda steps: steps / 2)
named = st.builds(Named, st.builds(Carrier, mhz, halves), st.text(max_size=8), texts)
neighbours = st.builds(Neighbour, texts, mhz, halves)
segments = st.builds(
    lambda low, length, power: Segment(low, low + length, power),
    mhz,
    st.integers(1, 200),
    st.none() | st.integers(1, 5000),
)


@st.composite
def airs(draw: st.DrawFn, most: int = 12) -> AirFacts:
    facts = air_facts(
        draw(st.lists(named, min_size=1, max_size=most)),
        draw(st.lists(neighbours, max_size=3)),
        draw(st.lists(segments, max_size=3)),
    )
    assert facts is not None
    return facts


@settings(max_examples=20)
@given(airs())
def test_no_words_touch_whatever_is_on_air(facts: AirFacts) -> None:
    assert trouble_in(air_picture(facts)) == []
    assert trouble_in(small_air_picture(facts)) == []


@settings(max_examples=20)
@given(airs(6), airs(6), texts)
def test_no_words_touch_in_three_sets_over_one_another(one: AirFacts, other: AirFacts, heading: str) -> None:
    assert trouble_in(air_compared([("Set A", one), (heading, other), ("Set C", one)])) == []


@pytest.mark.parametrize("facts", CASES.values(), ids=CASES.keys())
def test_no_words_touch_in_the_worst_cases(facts: AirFacts) -> None:
    assert trouble_in(air_picture(facts)) == []
    assert trouble_in(small_air_picture(facts)) == []


def blocks_of(drawing: Drawing) -> list[tuple[float, float]]:
    """Where each carrier's block begins and ends along the axis."""
    boxes = [shape for shape in flat(drawing.shapes) if isinstance(shape, Box) and shape.kind == "fill"]
    if drawing.layout == "wide":
        return [(box.x, box.x + box.width) for box in boxes]
    return [(box.y, box.y + box.height) for box in boxes]


@settings(max_examples=20)
@given(airs())
def test_the_axis_is_true_in_every_layout(facts: AirFacts) -> None:
    for drawing in (*air_picture(facts).drawings, *small_air_picture(facts).drawings):
        edges = [edge for each in facts.carriers for edge in each.carrier.edges_mhz]
        places = [place for block in blocks_of(drawing) for place in block]
        per_mhz = (places[1] - places[0]) / (edges[1] - edges[0])
        assert per_mhz > 0
        assert places == pytest.approx([places[0] + (edge - edges[0]) * per_mhz for edge in edges], abs=1e-6)


def test_ticks_stand_where_their_figures_say() -> None:
    facts = CASES["six"]
    wide = next(drawing for drawing in air_picture(facts).drawings if drawing.layout == "wide")
    (left, right), *_ = blocks_of(wide)
    per_mhz = (right - left) / 20
    at = {int(words.text): words.x for words in wide.words if words.kind == "soft" and words.text.isdigit()}
    assert set(at) >= {5650, 5700, 5750, 5800, 5850, 5900}
    assert at == pytest.approx({mhz: left + (mhz - 5648) * per_mhz for mhz in at})


def test_every_carrier_is_named_with_the_distance_of_its_nearest_product() -> None:
    facts = CASES["six"]
    for drawing in air_picture(facts).drawings:
        words = [each.text for each in drawing.words]
        for each in facts.carriers:
            assert str(each.carrier.mhz) in words
            assert each.named.name in words
            assert each.nearest is not None
            assert f"{each.nearest.distance_mhz:g}" in words
        for text in ("5650–5730 Wi-Fi 138", "5725–5875, 25 mW"):
            assert any(text in word for word in words), text


def test_the_small_form_names_every_carrier_with_its_distance_and_stays_small() -> None:
    facts = CASES["six"]
    small = small_air_picture(facts)
    assert (small.title, small.description) == (air_picture(facts).title, air_picture(facts).description)
    for drawing, large in zip(small.drawings, air_picture(facts).drawings, strict=True):
        assert drawing.height < 0.75 * large.height
        words = [each.text for each in drawing.words]
        for each in facts.carriers:
            assert each.nearest is not None
            assert words.index(each.named.name) >= 0
            assert words.count(f"{each.nearest.distance_mhz:g}") >= 1


def test_labels_keep_the_order_of_their_carriers() -> None:
    facts = CASES["twelve 1 MHz apart"]
    for drawing in air_picture(facts).drawings:
        strong = [words for words in drawing.words if "strong" in words.kind]
        assert [int(words.text) for words in strong] == [each.carrier.mhz for each in facts.carriers]
        places = [words.x if drawing.layout == "wide" else words.y for words in strong]
        assert all(one < other for one, other in pairwise(places))


def test_the_description_says_the_main_things() -> None:
    picture = air_picture(CASES["six"])
    assert picture.title == "6 carriers from 5658 to 5917 MHz"
    assert "Carriers at 5658, 5695, 5760, 5800, 5880, 5917 MHz." in picture.description
    assert "The nearest product falls 0 MHz from 5658." in picture.description
    assert "Neighbour: Wi-Fi 138 around 5690 MHz." in picture.description
    assert air_picture(CASES["one"]).title == "One carrier on 5740 MHz"


def test_two_sets_share_one_axis() -> None:
    picture = air_compared([("Now", CASES["one"]), ("Then", CASES["six"])])
    for drawing in picture.drawings:
        (one, *others) = blocks_of(drawing)
        per_mhz = (one[1] - one[0]) / 20
        assert others[0][0] == pytest.approx(one[0] + (5648 - 5730) * per_mhz)
        assert {"Now", "Then"} <= {words.text for words in drawing.words}


@given(st.lists(st.tuples(st.integers(0, 30), st.integers(1, 10)), max_size=8))
def test_shared_stretches_are_those_that_two_cover(pairs: list[tuple[int, int]]) -> None:
    spans = [(float(low), float(low + length)) for low, length in pairs]
    found = shared(spans)
    for cell in range(41):
        covered = sum(low <= cell < high for low, high in spans) >= 2
        assert covered == any(low <= cell < high for low, high in found)
