"""What a transmitter can make: reading it as people write it, and what to set for a token."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.data.catalog import published_plans
from meetapp.spectrum.bands import parse_segments
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan
from meetapp.spectrum.tuning import Setting, TunableRange, Tuning, parse_tuning, setting_for

PLANS = published_plans()
LETTERS = [plan.letter for plan in PLANS]
LABELS = [channel.label for plan in PLANS for channel in plan.channels]

words = st.one_of(
    st.sampled_from(LETTERS),
    st.sampled_from(LABELS),
    st.integers(4800, 6200).map(str),
    st.tuples(st.integers(5000, 5500), st.integers(5500, 6000), st.integers(1, 50)).map("{0[0]}-{0[1]}/{0[2]}".format),
)
tunings = st.lists(words, min_size=1, max_size=8).map(lambda some: parse_tuning(" ".join(some), PLANS))


def _tuned(text: str) -> Tuning:
    return parse_tuning(text, PLANS)


@pytest.mark.parametrize(
    ("text", "count"),
    # 40 names of A B E F R are 39 frequencies: F8 is R7.
    [("A", 8), ("A B E F R", 39), ("ABEFRL".replace("", " "), 47), ("R1, R2;R3\nr4", 4), ("5650-5925/1", 276)],
    ids=["one plan", "five plans", "six plans", "labels", "a range"],
)
def test_how_many_frequencies_a_transmitter_can_make(text: str, count: int) -> None:
    assert len(_tuned(text).all_mhz()) == count


@pytest.mark.parametrize(
    ("text", "mhz"),
    [
        ("5740", {5740}),
        ("R3 5740", {5732, 5740}),
        ("5650-5660/5", {5650, 5655, 5660}),
        ("5650-5659/5", {5650, 5655}),
        ("5650 - 5652", {5650, 5651, 5652}),
        ("5650–5652 / 2", {5650, 5652}),
        ("r3,R3 , 5732", {5732}),
    ],
)
def test_what_people_write_is_understood(text: str, mhz: set[int]) -> None:
    assert _tuned(text).all_mhz() == mhz


def test_the_order_of_words_and_repetitions_do_not_matter() -> None:
    assert _tuned("5740 R3 A R3 5650-5660/5") == _tuned("5650-5660/5 A R3 5740 5740")


@given(tunings)
def test_what_is_written_out_is_read_back(tuning: Tuning) -> None:
    assert parse_tuning(tuning.text(), PLANS) == tuning
    assert parse_tuning(tuning.text(PLANS), PLANS) == tuning


def test_a_whole_plan_is_written_as_its_letter_where_plans_are_given() -> None:
    assert _tuned("R F3").text(PLANS) == "R F3"
    assert _tuned("R8 R1 R2 R3 R4 R5 R6 R7").text(PLANS) == "R"
    assert _tuned("R1 R2").text(PLANS) == "R1 R2"
    assert _tuned("R").text() == "R1 R2 R3 R4 R5 R6 R7 R8"


def test_a_plan_that_the_organiser_added_is_understood_too() -> None:
    own = ChannelPlan("ZZ", "our own", (Channel("ZZ", 1, 5671), Channel("ZZ", 4, 5790)), "the club")
    assert parse_tuning("zz", [*PLANS, own]).all_mhz() == {5671, 5790}
    assert parse_tuning("ZZ4", [*PLANS, own]).all_mhz() == {5790}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "Say what it can make"),
        (" , ", "Say what it can make"),
        ("Q", "'Q' is no plan, channel, frequency or range; the plans here are A B E F R L"),
        ("A B R9", "'R9' is no plan, channel, frequency or range; there is R1 to R8"),
        ("R0", "'R0' is no plan"),
        ("3R", "'3R' is no plan"),
        ("5740MHz", "'5740MHZ' is no plan"),
        ("5740.5", "'5740.5' is no plan"),
        ("574", "574 MHz is not near 5.8 GHz"),
        ("5650-592", "592 MHz is not near 5.8 GHz"),
        ("5925-5650", "runs backwards"),
        ("5650-5925/0", "the step is 1 MHz or more"),
        ("5650-5925/", "'5650-5925/' is no plan"),
        ("A-F", "'A-F' is no plan"),
        ("A " * 2000, "too long"),
    ],
)
def test_a_word_that_means_nothing_is_quoted(text: str, says: str) -> None:
    with pytest.raises(BadProblem) as refused:
        _tuned(text)
    assert refused.value.field == "tuning"
    assert says in refused.value.reason


def test_without_plans_there_are_only_frequencies() -> None:
    assert parse_tuning("5740", []).all_mhz() == {5740}
    with pytest.raises(BadProblem, match="there are no plans here"):
        parse_tuning("R1", [])


@pytest.mark.parametrize(
    ("nominal", "transmitter", "goggles", "setting"),
    [
        (5732, "R", None, Setting("R3", 5732)),
        (5732, "B", None, Setting("B1", 5733)),
        (5732, "B R", None, Setting("R3", 5732)),
        (5732, "B R", "B", Setting("B1", 5733)),
        (5732, "R", "B", None),
        (5846, "A B", None, Setting("A2", 5845)),
        (5844, "A R", None, Setting("R6", 5843)),
        (5845, "B", None, Setting("B7", 5847)),
        (5844, "B", None, None),
        (5880, "F R", None, Setting("R7", 5880)),
        (5880, "F", None, Setting("F8", 5880)),
        (5880, "5880", "R", Setting("5880 MHz", 5880)),
        (5671, "5650-5925/1", None, Setting("5671 MHz", 5671)),
        (5672, "5650-5925/5", None, Setting("5670 MHz", 5670)),
        (5658, "R 5650-5925/1", None, Setting("R1", 5658)),
    ],
    ids=[
        "its own channel",
        "the nearest within the pull",
        "the exact one before the near one",
        "what the goggles can make too",
        "goggles that make nothing near",
        "a tie goes to the lower frequency",
        "a tie goes to the lower frequency in any plan",
        "2 MHz is within the pull",
        "3 MHz is beyond it",
        "R before F",
        "F where it has no R",
        "no channel name of its own",
        "a tunable one by its MHz",
        "a tunable one by its step",
        "a tunable one that has the channel too",
    ],
)
def test_what_to_set_for_a_token(nominal: int, transmitter: str, goggles: str | None, setting: Setting | None) -> None:
    seen = None if goggles is None else _tuned(goggles)
    assert setting_for(nominal, 2, _tuned(transmitter), seen, PLANS) == setting


def test_a_band_profile_leaves_out_what_does_not_fit_with_its_width() -> None:
    band = parse_segments("5725-5875")
    transmitter = _tuned("B R")
    assert setting_for(5733, 2, transmitter, None, PLANS, segments=band) is None
    assert setting_for(5733, 2, transmitter, None, PLANS, segments=band, width_mhz=16) == Setting("B1", 5733)
    # B8 is nearer, but its 20 MHz reach up to 5876; those of A1 end at 5875.
    assert setting_for(5866, 2, _tuned("A B"), None, PLANS, segments=band) == Setting("A1", 5865)


@given(st.integers(5600, 5950), st.integers(0, 6), tunings, st.one_of(st.none(), tunings))
def test_the_setting_is_the_nearest_that_both_can_make(
    nominal: int, pull: int, transmitter: Tuning, goggles: Tuning | None
) -> None:
    both = [
        mhz
        for mhz in range(nominal - pull, nominal + pull + 1)
        if mhz in transmitter.all_mhz() and (goggles is None or mhz in goggles.all_mhz())
    ]
    found = setting_for(nominal, pull, transmitter, goggles, PLANS)
    assert (found is None) == (not both)
    if found is not None:
        assert found.mhz in both
        assert abs(found.mhz - nominal) == min(abs(mhz - nominal) for mhz in both)
        assert parse_tuning(found.label.removesuffix(" MHz"), PLANS).all_mhz() == {found.mhz}


def test_a_range_that_cannot_be_is_refused_when_made() -> None:
    with pytest.raises(BadProblem):
        TunableRange(5900, 5800, 1)
