"""Band segments: reading them, and which channels fit with their whole width."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum.bands import Segment, lies_within, parse_segments, segment_around, segments_text
from meetapp.spectrum.channels import BadProblem, labels_at

PLANS = published_plans()
ALL_MHZ = sorted({channel.mhz for plan in PLANS for channel in plan.channels})


def _fit(text: str, width: float) -> list[int]:
    segments = parse_segments(text)
    return [mhz for mhz in ALL_MHZ if lies_within(mhz, width, segments)]


# Computed from the plans' figures; edges of 5725-5875: ETSI EN 300 440 and 47 CFR 15.249,
# 5650-5925 and 5650-5850: 47 CFR 97.301.
@pytest.mark.parametrize(
    ("text", "width", "count"),
    [("5725-5875", 18, 24), ("5725-5875", 20, 23), ("5650-5850", 18, 25)],
)
def test_how_many_channels_fit_a_band(text: str, width: float, count: int) -> None:
    assert len(_fit(text, width)) == count


def test_which_channels_fit_5725_to_5875_at_18_mhz() -> None:
    labels = {label for mhz in _fit("5725-5875", 18) for label in labels_at(mhz, PLANS)}
    named = {f"B{n}" for n in range(2, 9)} | {f"A{n}" for n in range(1, 8)} | {f"F{n}" for n in range(1, 8)}
    assert labels == named | {"R4", "R5", "R6"}


def test_at_20_mhz_b8_drops_out() -> None:
    assert set(_fit("5725-5875", 18)) - set(_fit("5725-5875", 20)) == {5866}


def test_b1_a8_and_r3_are_inside_only_as_bare_carriers() -> None:
    inside = [mhz for mhz in ALL_MHZ if 5725 <= mhz <= 5875]
    assert set(inside) - set(_fit("5725-5875", 18)) == {5733, 5725, 5732}


def test_the_amateur_band_of_region_2_leaves_out_the_ends() -> None:
    left_out = set(ALL_MHZ) - set(_fit("5650-5925", 18))
    labels = {label for mhz in left_out for label in labels_at(mhz, PLANS)}
    assert labels == {"E4", "E7", "E8", "R1", "R8"} | {f"L{n}" for n in range(1, 9)}
    assert len(_fit("5650-5925", 18)) == 34


# Segments for pictures in Japan: tele.soumu.go.jp, drone/notes. The carriers that fit: computed.
@pytest.mark.parametrize("width", [16, 18, 20])
def test_which_carriers_fit_the_japanese_segments(width: float) -> None:
    text = "5690-5725, 5730-5755, 5757-5760, 5762-5765, 5770-5810"
    assert _fit(text, width) == [5705, 5740, 5745, 5780, 5785, 5790, 5800]


def test_two_segments_that_touch_do_not_hold_a_carrier_across_their_edge() -> None:
    assert not lies_within(5725, 20, parse_segments("5650-5725, 5725-5875"))


def test_the_edge_itself_counts_as_inside() -> None:
    assert lies_within(5735, 20, [Segment(5725, 5875)])
    assert not lies_within(5734, 20, [Segment(5725, 5875)])


def test_nothing_lies_inside_no_segment() -> None:
    assert not lies_within(5800, 20, [])


def test_of_two_segments_around_a_carrier_the_one_with_more_power_answers() -> None:
    low, high = Segment(5725, 5875, 25), Segment(5650, 5850, 1000)
    assert segment_around(5800, 20, [low, high]) == high
    assert segment_around(5800, 20, [Segment(5650, 5850), low]) == low
    assert segment_around(5900, 20, [low, high]) is None


@pytest.mark.parametrize(
    ("text", "segments"),
    [
        ("5725-5875", (Segment(5725, 5875),)),
        (" 5725 - 5875  25 mW ", (Segment(5725, 5875, 25),)),
        ("5725–5875 0.75mW", (Segment(5725, 5875, 0.75),)),
        ("5650-5725;5725-5875 25 MW", (Segment(5650, 5725), Segment(5725, 5875, 25))),
        ("5650-5725\n\n5650-5725\n", (Segment(5650, 5725),)),
    ],
)
def test_segments_are_read_as_people_write_them(text: str, segments: tuple[Segment, ...]) -> None:
    assert parse_segments(text) == segments


segment_lists = st.lists(
    st.builds(
        lambda low, width, power: Segment(low, low + width, power),
        st.integers(4800, 6000),
        st.integers(1, 200),
        st.one_of(st.none(), st.integers(1, 4000), st.sampled_from([0.75, 12.5])),
    ),
    min_size=1,
    unique=True,
)


@given(segment_lists)
def test_what_is_written_out_is_read_back(segments: list[Segment]) -> None:
    assert parse_segments(segments_text(segments)) == tuple(segments)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "at least one"),
        (" , ;", "at least one"),
        ("5725", "'5725' is no piece of band"),
        ("5725-", "'5725-' is no piece of band"),
        ("5725-5875 25 W", "'5725-5875 25 W' is no piece of band"),
        ("5725-5875 mW", "no piece of band"),
        ("5725-5875 -5 mW", "no piece of band"),
        ("5725-5875-5900", "no piece of band"),
        ("5875-5725", "runs backwards"),
        ("5725-5725", "runs backwards"),
        ("572-5875", "572 MHz is not near 5.8 GHz"),
        ("5725-58750", "58750 MHz is not near 5.8 GHz"),
        ("5725-5875 0 mW", "lets nobody fly"),
        ("5725.5-5875", "no piece of band"),
        ("5725-5875,oops", "'oops'"),
    ],
)
def test_a_bad_piece_is_quoted_with_what_to_write(text: str, says: str) -> None:
    with pytest.raises(BadProblem) as refused:
        parse_segments(text)
    assert refused.value.field == "segments"
    assert says in refused.value.reason
