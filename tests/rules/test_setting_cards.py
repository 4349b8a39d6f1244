"""Setting cards: patterns by rule, the text form, what is set alike, and what a pilot does for one channel."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.rules.counting import (
    Counting,
    lamps_of,
    number_of,
    one_lamp,
    pattern_of,
    patterns_by_counting,
    presses_by_counting,
)
from meetapp.rules.setting_card_text import TEXT_MAX, card_text, parse_card, read_pattern
from meetapp.rules.setting_cards import (
    CHANNELS_MAX,
    LEVERS_MAX,
    BadCard,
    Button,
    Card,
    LeversToSet,
    Menu,
    Presses,
    SwitchBank,
    lamp_words,
    same_lamps,
    same_settings,
)

COUNTINGS = st.builds(Counting, st.booleans(), st.booleans(), st.sampled_from((0, 1)))
CHANNELS = st.from_regex(r"[A-Z]{1,2}[1-9]|5[0-9]{3}", fullmatch=True)
WORDS = st.from_regex(r"[a-z]{1,8}( [a-z0-9]{1,8}){0,3}", fullmatch=True)
SIGNS = st.sampled_from(("0", "1", "b", "x1", "x12"))
COUNTS = st.none() | st.integers(0, 99)


@st.composite
def banks(draw: st.DrawFn) -> SwitchBank:
    levers = draw(st.integers(1, LEVERS_MAX))
    pattern = st.tuples(*[st.booleans()] * levers)
    return SwitchBank(levers, draw(st.booleans()), draw(st.dictionaries(CHANNELS, pattern, max_size=20)))


@st.composite
def buttons(draw: st.DrawFn) -> Button:
    names = tuple(draw(st.lists(st.from_regex(r"[a-z]{1,6}", fullmatch=True), max_size=6)))
    lamps = st.just(()) | st.tuples(*[SIGNS] * len(names))
    told = st.builds(Presses, COUNTS, COUNTS, lamps).filter(lambda each: each != Presses())
    rows = draw(st.dictionaries(CHANNELS, told, max_size=20))
    return Button(names, draw(st.just("") | WORDS), draw(st.just("") | WORDS), rows)


CARDS: st.SearchStrategy[Card] = banks() | buttons() | st.builds(Menu, st.booleans())


@given(st.integers(1, LEVERS_MAX), COUNTINGS, st.data())
def test_a_counted_pattern_tells_its_number(places: int, counting: Counting, data: st.DataObject) -> None:
    number = data.draw(st.integers(0, 2**places - 1))
    pattern = pattern_of(number, places, counting)
    assert len(pattern) == places
    assert number_of(pattern, counting) == number


@given(st.integers(1, LEVERS_MAX), st.booleans(), st.data())
def test_the_other_end_is_the_mirror_and_inverted_the_opposite(
    places: int, first_is_ones: bool, data: st.DataObject
) -> None:
    number = data.draw(st.integers(0, 2**places - 1))
    plain = pattern_of(number, places, Counting(first_is_ones))
    assert pattern_of(number, places, Counting(not first_is_ones)) == plain[::-1]
    assert pattern_of(number, places, Counting(first_is_ones, True)) == tuple(not place for place in plain)


@given(st.integers(1, 6), COUNTINGS)
def test_counting_gives_each_channel_a_pattern_of_its_own(places: int, counting: Counting) -> None:
    channels = [f"F{number}" for number in range(1, 2**places - counting.start + 1)]
    patterns = patterns_by_counting(channels, places, counting)
    assert list(patterns) == channels
    assert len(set(patterns.values())) == len(channels)
    bank = SwitchBank(places, True, patterns)
    assert same_settings(bank, {channel: 5600 + place for place, channel in enumerate(channels)}) == ()


@pytest.mark.parametrize(
    ("counting", "patterns"),
    [
        # Binary counting written out by hand.
        (Counting(), ["000", "100", "010", "110", "001", "101", "011", "111"]),
        (Counting(first_is_ones=False), ["000", "001", "010", "011", "100", "101", "110", "111"]),
        (Counting(inverted=True), ["111", "011", "101", "001", "110", "010", "100", "000"]),
    ],
    ids=["from the first", "from the last", "inverted"],
)
def test_three_switches_count_eight_channels(counting: Counting, patterns: list[str]) -> None:
    counted = patterns_by_counting([f"F{number}" for number in range(1, 9)], 3, counting)
    assert list(counted.values()) == [read_pattern(pattern, "") for pattern in patterns]


def test_too_few_places_are_said_so() -> None:
    with pytest.raises(BadCard, match=r"3 on-off places can't count 8 channels from 1\."):
        patterns_by_counting([f"F{number}" for number in range(1, 9)], 3, Counting(start=1))
    with pytest.raises(BadCard, match="One on-off place count"):
        pattern_of(2, 1, Counting())


def test_presses_count_along_the_plans() -> None:
    plans = [("A", [("A1", 1), ("A8", 8)]), ("E", [("E4", 4)])]
    assert presses_by_counting(plans, 0) == {"A1": Presses(0, 0), "A8": Presses(0, 7), "E4": Presses(1, 3)}
    assert presses_by_counting(plans, 1)["E4"] == Presses(2, 4)
    assert presses_by_counting(plans[:1], 1)["A8"] == Presses(None, 8)


def test_one_lamp_of_a_row_is_lit() -> None:
    assert one_lamp(3, 4) == ("0", "0", "1", "0")
    assert lamps_of((False, True)) == ("0", "1")
    with pytest.raises(BadCard, match="no lamp number 5"):
        one_lamp(5, 4)


@given(CARDS)
def test_a_card_is_read_back_as_it_was_written(card: Card) -> None:
    assert parse_card(card_text(card)) == card


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "begins with"),
        ("levers 3", "begins with"),
        ("switches 3", "begins with"),
        ("switches ³ up", "begins with"),
        ("switches 11 up", "1 to 10 switches"),
        ("switches 0 up", "1 to 10 switches"),
        ("switches 2 up\nF1 011", "F1: one place for each switch makes 2"),
        ("switches 2 up\nF1", "F1: one place for each switch makes 2"),
        ("switches 2 up\nF1 0z", "F1: '0z' is no place of a switch"),
        ("switches 1 up\nF1 0\nF1 1", "F1 stands there twice"),
        ("button\nA1", "A1 needs two numbers of presses"),
        ("button\nA1 - -", "A1 has neither presses nor lamps"),
        ("button\nA1 1 100", "A1: '100' is no number of presses"),
        ("button red\nA1 1 1 0 0", "A1: one sign for each lamp makes 1"),
        ("button red\nA1 1 1 green", "'green' is no sign for a lamp"),
        ("button " + "l " * 17, "17 lamps are too many"),
        ("menu", "begins with"),
        ("menu mhz\nA1 3", "begins with"),
        ("menu mhz" + " " * TEXT_MAX, "too long"),
        ("switches 1 up\n" + "\n".join(f"{mhz} 0" for mhz in range(5600, 5601 + CHANNELS_MAX)), "65 channels"),
    ],
    ids=lambda value: str(value)[:30],
)
def test_a_text_that_is_no_card_is_refused(text: str, words: str) -> None:
    with pytest.raises(BadCard, match=words):
        parse_card(text)


@given(banks(), st.dictionaries(CHANNELS, st.integers(5600, 5605), max_size=20))
def test_what_is_set_alike_is_found(bank: SwitchBank, mhz_of: dict[str, int]) -> None:
    """Against brute force over pairs: a channel stands in a group when another frequency has its pattern."""
    clashing: set[str] = set()
    for one, other in combinations(mhz_of, 2):
        patterns = bank.patterns.get(one), bank.patterns.get(other)
        if patterns[0] is not None and patterns[0] == patterns[1] and mhz_of[one] != mhz_of[other]:
            clashing |= {one, other}
    groups = same_settings(bank, mhz_of)
    grouped = [channel for group in groups for channel in group]
    assert len(grouped) == len(set(grouped))
    assert clashing <= set(grouped)
    for group in groups:
        assert len({bank.patterns[channel] for channel in group}) == 1
        assert len({mhz_of[channel] for channel in group}) > 1


def test_two_names_of_one_frequency_may_be_set_alike() -> None:
    bank = SwitchBank(1, True, {"R7": (True,), "F8": (True,)})
    assert same_settings(bank, {"R7": 5880, "F8": 5880}) == ()
    assert same_settings(bank, {"R7": 5880, "F8": 5881}) == (("R7", "F8"),)


def test_a_button_is_alike_by_its_presses_and_by_its_lamps() -> None:
    told = {"A1": Presses(1, 1, ("1",)), "A2": Presses(1, 2, ("1",)), "A3": Presses(1, 2, ("0",)), "A4": Presses(1)}
    mhz_of = {"A1": 5865, "A2": 5845, "A3": 5825, "A4": 5805}
    button = Button(("red",), presses=told)
    assert same_settings(button, mhz_of) == (("A2", "A3"),)
    assert same_lamps(button, mhz_of) == (("A1", "A2"),)
    assert same_settings(Menu(), mhz_of) == same_lamps(Menu(), mhz_of) == ()


@given(banks(), CHANNELS)
def test_the_words_name_each_switch_once(bank: SwitchBank, channel: str) -> None:
    to_do = bank.to_do(channel, 5740)
    assert (to_do is None) == (channel not in bank.patterns)
    if to_do is not None:
        assert to_do.levers == bank.patterns[channel]
        assert f"ON is {'up' if bank.on_is_up else 'down'}" in to_do.words


def test_a_pilot_reads_what_to_do() -> None:
    assert LeversToSet((False,) * 3, True).words == "All switches off. With switch 1 on the left, ON is up."
    assert LeversToSet((True,), False).words == "The switch on. With switch 1 on the left, ON is down."
    text = "button red blue\nplan hold for 2 s\nA1 0 2 b 0\nA2 1 -\nA3 - - x3 1"
    button = parse_card(text)
    words = {channel: to_do.words for channel in ("A1", "A2", "A3") if (to_do := button.to_do(channel, 5865))}
    assert words == {
        "A1": "Plan: no press (hold for 2 s). Channel: press 2 times. Then the lamps: red blinks, blue dark.",
        "A2": "Plan: press once (hold for 2 s).",
        "A3": "The lamps: red blinks 3 times, blue lit.",
    }
    assert Menu(by_mhz=True).to_do("R3", 5732).words == "In the menu: frequency 5732 MHz."
    assert lamp_words("x12") == "blinks 12 times"
