"""The worst case of a set: against going through every choice, and against the closed form of the pull."""

from collections.abc import Iterator, Sequence
from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meetapp.data.catalog import kind_templates, published_plans
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.products import Measures, measure
from meetapp.spectrum.pull import pulled, worst_case
from meetapp.spectrum.tuning import parse_tuning, setting_for

near = st.builds(Carrier, st.integers(5650, 5720), st.sampled_from([20, 18, 17.5, 40]))
options = st.lists(st.lists(near, max_size=3), max_size=5)


def _worst_of_all_choices(tokens: list[list[Carrier]]) -> Measures:
    chosen = [measure(choice) for choice in product(*(token for token in tokens if token))]

    def smallest(name: str) -> float | None:
        return min((value for each in chosen if (value := getattr(each, name)) is not None), default=None)

    return Measures(
        smallest("spacing_mhz"), smallest("two_signal_clearance_mhz"), smallest("three_signal_clearance_mhz")
    )


@given(options)
def test_the_worst_case_is_the_worst_of_all_choices(tokens: list[list[Carrier]]) -> None:
    assert worst_case(tokens) == _worst_of_all_choices(tokens)


@st.composite
def _fields(draw: st.DrawFn) -> tuple[list[list[Carrier]], list[list[Carrier | None]]]:
    """Up to four tokens, with what others may make there, and up to six pilots of few kinds who make some of them."""
    count = draw(st.integers(0, 4))
    kind = st.lists(st.none() | near, min_size=count, max_size=count)
    kinds = draw(st.lists(kind, min_size=1, max_size=3))
    others = draw(st.lists(st.lists(near, max_size=2), min_size=count, max_size=count))
    return others, draw(st.lists(st.sampled_from(kinds), max_size=6))


def _on_air(
    places: Sequence[int], others: list[list[Carrier]], pilots: list[list[Carrier | None]]
) -> Iterator[list[Carrier]]:
    """Everything on air with all of these tokens out, to as many different pilots as can have one."""
    found: dict[int, list[list[Carrier]]] = {}
    for holders in product([None, *range(len(pilots))], repeat=len(places)):
        known = [holder for holder in holders if holder is not None]
        if len(known) == len(set(known)):
            made = [
                others[place] if holder is None else [pilots[holder][place]]
                for place, holder in zip(places, holders, strict=True)
            ]
            # Who fills how many tokens doesn't hang on what others would make of the rest.
            choices = [[*choice] for choice in product(*made) if None not in choice]
            if all(pilots[holder][place] for place, holder in zip(places, holders, strict=True) if holder is not None):
                found.setdefault(len(known), []).extend(choices)
    yield from found[max(found)]


@settings(max_examples=60)
@given(_fields())
def test_no_pilot_stands_on_two_tokens_at_once(field: tuple[list[list[Carrier]], list[list[Carrier | None]]]) -> None:
    others, pilots = field

    def worst(count: int, name: str) -> float | None:
        found = [
            getattr(measure(choice), name)
            for places in combinations(range(len(others)), count)
            for choice in _on_air(places, others, pilots)
        ]
        return min(found, default=None)

    assert worst_case(others, pilots) == Measures(
        worst(2, "spacing_mhz"), worst(3, "two_signal_clearance_mhz"), worst(4, "three_signal_clearance_mhz")
    )


def test_one_wide_pilot_counts_on_one_token() -> None:
    tokens = (5658, 5695, 5840, 5925)
    narrow, wide = [Carrier(mhz) for mhz in tokens], [Carrier(mhz, 40) for mhz in tokens]
    # Two carriers of 20 and 40 MHz need (20 + 40)/2 - 20 = 10 MHz more than two of 20, two of 40 need 20 more.
    assert worst_case([[]] * 4, [narrow] * 5).spacing_mhz == 37
    assert worst_case([[]] * 4, [wide, *[narrow] * 5]).spacing_mhz == 27
    assert worst_case([[]] * 4, [wide, wide, *[narrow] * 5]).spacing_mhz == 17


def test_others_stand_in_only_for_pilots_who_are_missing() -> None:
    others, pilot = [[Carrier(5650)], [Carrier(5690)], [Carrier(5800)]], [Carrier(5660), Carrier(5695), None]
    assert worst_case(others) == Measures(40, 70, None)
    assert worst_case(others, [pilot]).spacing_mhz == 30  # 5660 from the pilot, 5690 from somebody else
    assert worst_case(others, [pilot, pilot]).spacing_mhz == 35  # 5660 and 5695 from the two pilots


@given(st.lists(st.integers(5600, 5950), max_size=6), st.integers(0, 4))
def test_a_pull_takes_twice_itself_from_the_spacing_and_four_times_from_a_clearance(mhz: list[int], pull: int) -> None:
    nominal, found = measure([Carrier(each) for each in mhz]), pulled(mhz, pull)

    def less(value: float | None, by: int) -> float | None:
        return None if value is None else max(0, value - by)

    assert found == Measures(
        less(nominal.spacing_mhz, 2 * pull),
        less(nominal.two_signal_clearance_mhz, 4 * pull),
        less(nominal.three_signal_clearance_mhz, 4 * pull),
    )


def test_one_choice_for_each_token_is_the_plain_measure() -> None:
    mhz = (5645, 5695, 5765, 5805, 5865, 5945)
    # Computed by exact search: the best six of A B E F R 37 MHz apart (spacing 40, two-signal 20, three-signal 10).
    assert worst_case([[Carrier(each)] for each in mhz]) == Measures(40, 20, 10)
    assert pulled(mhz, 0) == Measures(40, 20, 10)
    assert pulled(mhz, 2) == Measures(36, 12, 2)


def test_a_token_that_nobody_can_make_is_never_on_air() -> None:
    assert worst_case([[Carrier(5658)], [], [Carrier(5695)]]) == Measures(37, None, None)
    assert worst_case([[], []]) == Measures(None, None, None)
    assert worst_case([]) == Measures(None, None, None)


def test_no_more_is_lost_than_the_expected_transmitters_can_lose() -> None:
    plans, tokens = published_plans(), (5658, 5732, 5806, 5880)
    kinds = [parse_tuning(kind.tuning, plans) for kind in kind_templates() if not kind.is_digital]
    settings = [[setting_for(mhz, 2, kind, None, plans) for kind in kinds] for mhz in tokens]
    real = worst_case([[Carrier(each.mhz) for each in row if each is not None] for row in settings])
    assert real.spacing_mhz == 72  # 5733 (B1) and 5805 (A4), made for 5732 and 5806
    assert real.spacing_mhz >= pulled(tokens, 2).spacing_mhz  # type: ignore[operator]


def test_a_pull_below_zero_is_refused() -> None:
    with pytest.raises(BadProblem) as refused:
        pulled([5658], -1)
    assert refused.value.field == "pull_mhz"
