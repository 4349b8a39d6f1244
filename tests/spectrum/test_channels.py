"""Channel plans: the published figures, their traps, and the names of frequencies."""

from itertools import combinations, pairwise

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.channels import BadProblem, Channel, ChannelPlan, labels_at, name_of

PLANS = published_plans()
BY_LETTER = {plan.letter: [channel.mhz for channel in plan.channels] for plan in PLANS}
LIVE_FIVE = [mhz for letter in "ABEFR" for mhz in BY_LETTER[letter]]

# Source of the six rows: ArduPilot libraries/AP_VideoTX/AP_VideoTX.cpp (commit 00513c8e); A B E F R also in
# iNav src/main/io/vtx_string.c (commit 0d816a50). The rule of a row: from the same tables, computed.
ROWS = {
    "A": [5865, 5845, 5825, 5805, 5785, 5765, 5745, 5725],
    "B": [5733, 5752, 5771, 5790, 5809, 5828, 5847, 5866],
    "E": [5705, 5685, 5665, 5645, 5885, 5905, 5925, 5945],
    "F": [5740, 5760, 5780, 5800, 5820, 5840, 5860, 5880],
    "R": [5658, 5695, 5732, 5769, 5806, 5843, 5880, 5917],
    "L": [5362, 5399, 5436, 5473, 5510, 5547, 5584, 5621],
}


@pytest.mark.parametrize("letter", ROWS)
def test_a_published_plan_has_the_published_frequencies(letter: str) -> None:
    assert BY_LETTER[letter] == ROWS[letter]


@pytest.mark.parametrize(
    ("letter", "step"), [("A", -20), ("B", 19), ("F", 20), ("R", 37), ("L", 37)], ids=lambda value: str(value)
)
def test_an_equal_step_plan_steps_equally(letter: str, step: int) -> None:
    row = BY_LETTER[letter]
    assert {b - a for a, b in pairwise(row)} == {step}


def test_plan_e_goes_down_and_then_jumps_so_its_number_tells_nothing() -> None:
    row = BY_LETTER["E"]
    assert row != sorted(row)
    assert row != sorted(row, reverse=True)


def test_forty_names_are_thirty_nine_frequencies_because_f8_is_r7() -> None:
    assert len(LIVE_FIVE) == 40
    assert len(set(LIVE_FIVE)) == 39
    assert len(set(LIVE_FIVE + BY_LETTER["L"])) == 47
    assert [mhz for mhz in set(LIVE_FIVE) if LIVE_FIVE.count(mhz) > 1] == [5880]


# Computed from the rows: the pairs closer than 3 MHz.
@pytest.mark.parametrize(
    ("apart", "pairs"),
    [
        (1, [(5732, 5733), (5805, 5806), (5865, 5866)]),
        (2, [(5769, 5771), (5843, 5845), (5845, 5847)]),
    ],
    ids=["1 MHz", "2 MHz"],
)
def test_the_closest_pairs_of_the_live_plans(apart: int, pairs: list[tuple[int, int]]) -> None:
    assert [(a, b) for a, b in combinations(sorted(set(LIVE_FIVE)), 2) if b - a == apart] == pairs


def test_5880_is_called_r7_first() -> None:
    # iNav src/main/io/vtx_string.c answers R7 for 5880 MHz.
    assert labels_at(5880, PLANS) == ("R7", "F8")
    assert name_of(5880, PLANS) == "R7"


def test_the_order_of_names_does_not_hang_on_the_order_of_plans() -> None:
    assert labels_at(5880, tuple(reversed(PLANS))) == ("R7", "F8")


def test_a_frequency_between_channels_is_named_by_its_mhz() -> None:
    assert labels_at(5671, PLANS) == ()
    assert name_of(5671, PLANS) == "5671 MHz"


@pytest.mark.parametrize("plan", PLANS, ids=lambda plan: plan.letter)
def test_every_plan_names_a_source(plan: ChannelPlan) -> None:
    assert plan.source
    assert plan.name


@pytest.mark.parametrize(
    ("make", "field", "says"),
    [
        (lambda: Channel("R", 1, 565), "channel", "565 MHz is not near 5.8 GHz"),
        (lambda: Channel("R", 1, 56580), "channel", "56580 MHz is not near 5.8 GHz"),
        (lambda: Channel("R", 0, 5658), "channel", "count from 1"),
        (lambda: ChannelPlan("r", "small", (Channel("r", 1, 5658),), ""), "letter", "capital letters"),
        (lambda: ChannelPlan("5", "a number", (Channel("5", 1, 5658),), ""), "letter", "capital letters"),
        (lambda: ChannelPlan("", "none", (), ""), "letter", "capital letters"),
        (lambda: ChannelPlan("Z", "empty", (), ""), "channels", "no channels"),
        (lambda: ChannelPlan("Z", "mixed", (Channel("R", 1, 5658),), ""), "channels", "another plan's letter"),
        (
            lambda: ChannelPlan("Z", "twice", (Channel("Z", 1, 5658), Channel("Z", 1, 5695)), ""),
            "channels",
            "twice",
        ),
    ],
)
def test_nonsense_is_refused_with_a_sentence(make: object, field: str, says: str) -> None:
    assert callable(make)
    with pytest.raises(BadProblem) as refused:
        make()
    assert refused.value.field == field
    assert says in str(refused.value)
    assert str(refused.value) == refused.value.reason
