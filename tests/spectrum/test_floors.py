"""What a new carrier would break, in numbers and in words."""

import re
from dataclasses import astuple
from math import prod

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors, keeps_floors, set_keeps_floors, shortfalls
from meetapp.spectrum.products import measure

widths = st.one_of(st.just(20), st.integers(10, 90).map(lambda halves: halves / 2))
carriers = st.builds(Carrier, st.integers(5600, 5800), widths)
sets = st.lists(carriers, max_size=5)
analogue_sets = st.lists(st.builds(Carrier, st.integers(5600, 5800)), min_size=3, max_size=6)
floor_values = st.builds(Floors, st.integers(0, 50), st.one_of(st.none(), st.integers(-10, 40)))
FLOORS = Floors(37, 10)


def _measures_keep(on_air: list[Carrier], floors: Floors) -> bool:
    found = measure(on_air)
    spacing_kept = found.spacing_mhz is None or found.spacing_mhz >= floors.spacing_mhz
    if floors.clearance_mhz is None or found.clearance_mhz is None:
        return spacing_kept
    return spacing_kept and found.clearance_mhz >= floors.clearance_mhz


@given(sets, carriers, floor_values)
def test_a_set_on_its_floors_stays_on_them_exactly_when_the_addition_has_no_shortfall(
    on_air: list[Carrier], added: Carrier, floors: Floors
) -> None:
    before_and_addition = _measures_keep(on_air, floors) and not shortfalls(on_air, added, floors)
    assert before_and_addition == _measures_keep([*on_air, added], floors)


@given(sets, floor_values)
def test_a_whole_set_is_judged_as_its_measures_are(on_air: list[Carrier], floors: Floors) -> None:
    assert set_keeps_floors(on_air, floors) == _measures_keep(on_air, floors)


@given(sets, carriers, floor_values)
def test_the_quick_answer_agrees_with_the_long_one(on_air: list[Carrier], added: Carrier, floors: Floors) -> None:
    network = (Neighbour("Wi-Fi", 5610, 20),)
    assert keeps_floors(on_air, added, floors, network) == (not shortfalls(on_air, added, floors, network))


@given(sets, carriers, floor_values)
def test_every_shortfall_is_below_its_floor_and_involves_carriers_on_air(
    on_air: list[Carrier], added: Carrier, floors: Floors
) -> None:
    mhz = {carrier.mhz for carrier in on_air}
    for each in shortfalls(on_air, added, floors):
        assert each.have_mhz < each.floor_mhz
        assert set(each.with_mhz) <= mhz
        assert list(each.with_mhz) == sorted(each.with_mhz)


@given(sets, carriers, floor_values)
def test_the_deepest_shortfall_of_a_kind_is_the_measure_of_the_whole(
    on_air: list[Carrier], added: Carrier, floors: Floors
) -> None:
    before, after = measure(on_air), measure([*on_air, added])
    measured = dict(
        zip(("spacing", "two_signal", "three_signal"), zip(astuple(before), astuple(after), strict=True), strict=True)
    )
    for kind, (had, has) in measured.items():
        floor = floors.spacing_mhz if kind == "spacing" else floors.clearance_mhz
        got_worse = has is not None and floor is not None and has < floor and (had is None or has < had)
        found = [each.have_mhz for each in shortfalls(on_air, added, floors) if each.kind == kind]
        if got_worse:
            assert min(found) == has


@given(st.one_of(sets, analogue_sets), carriers, floor_values)
def test_the_sum_in_a_sentence_comes_out_as_it_says(on_air: list[Carrier], added: Carrier, floors: Floors) -> None:
    is_analogue = {carrier.width_mhz for carrier in (*on_air, added)} == {20}
    for each in shortfalls(on_air, added, floors):
        if each.kind in ("two_signal", "three_signal"):
            formula, says = each.sentence.split(" falls ")
            terms = re.findall(r"([+-]) (\d+(?: x \d+)?)", "+ " + formula)
            falls_at = sum(int(sign + "1") * prod(map(int, term.split(" x "))) for sign, term in terms)
            distance, victim = map(int, re.findall(r"\d+", says)[:2])
            assert abs(falls_at - victim) == distance
            assert ("with these widths" in says) == (each.have_mhz != distance)
            assert each.have_mhz == distance or not is_analogue
            assert str(added.mhz) in formula
            assert victim in each.with_mhz


@pytest.mark.parametrize(
    ("on_air", "added", "sentence"),
    [
        ([Carrier(5760)], Carrier(5772), "12 MHz from 5760 on air, the floor is 37"),
        ([Carrier(5760)], Carrier(5760), "0 MHz from 5760 on air, the floor is 37"),
        ([Carrier(5760)], Carrier(5800, 40), "40 MHz from 5760 on air, with these widths it takes 47"),
        (
            [Carrier(5658), Carrier(5760)],
            Carrier(5865),
            "2 x 5760 - 5865 falls 3 MHz from 5658, the floor is 10",
        ),
        (
            [Carrier(5658), Carrier(5865)],
            Carrier(5760),
            "2 x 5760 - 5865 falls 3 MHz from 5658, the floor is 10",
        ),
        (
            [Carrier(5658), Carrier(5695), Carrier(5880)],
            Carrier(5917),
            "5917 + 5658 - 5880 falls 0 MHz from 5695, the floor is 10",
        ),
        (
            [Carrier(5658), Carrier(5880), Carrier(5917)],
            Carrier(5695),
            "5695 + 5880 - 5917 falls 0 MHz from 5658, the floor is 10",
        ),
        (
            [Carrier(5695), Carrier(5880), Carrier(5917)],
            Carrier(5658),
            "5658 + 5917 - 5880 falls 0 MHz from 5695, the floor is 10",
        ),
        (
            [Carrier(5658, 40), Carrier(5760)],
            Carrier(5880),
            "2 x 5760 - 5880 falls 18 MHz from 5658 (with these widths that counts as 8), the floor is 10",
        ),
    ],
    ids=[
        "spacing",
        "same MHz",
        "wide spacing",
        "a source",
        "the middle",
        "added above",
        "added in the middle",
        "added below",
        "wide product",
    ],
)
def test_a_shortfall_says_in_words_what_would_break(on_air: list[Carrier], added: Carrier, sentence: str) -> None:
    assert [each.sentence for each in shortfalls(on_air, added, FLOORS)] == [sentence]


def test_a_neighbour_is_named_with_the_overlap() -> None:
    (found,) = shortfalls([], Carrier(5740, 20), FLOORS, [Neighbour("Wi-Fi 155", 5775, 80)])
    assert (found.kind, found.have_mhz, found.floor_mhz, found.with_mhz) == ("neighbour", -15, 0, (5775,))
    assert found.sentence == "overlaps the neighbour Wi-Fi 155 by 15 MHz"


def test_a_neighbour_whose_edge_is_only_touched_is_kept() -> None:
    assert shortfalls([], Carrier(5725, 20), FLOORS, [Neighbour("Wi-Fi 155", 5775, 80)]) == ()


def test_a_neighbour_takes_no_part_in_products() -> None:
    on_air, added = [Carrier(5658)], Carrier(5760)
    assert shortfalls(on_air, added, FLOORS, [Neighbour("camera", 5862, 10)]) == ()


def test_spacing_is_named_before_products_and_the_deepest_first() -> None:
    kinds = [each.kind for each in shortfalls([Carrier(5658), Carrier(5695), Carrier(5740)], Carrier(5702), FLOORS)]
    assert kinds == sorted(kinds, key=["spacing", "two_signal", "three_signal", "neighbour"].index)
    spacing = [each.have_mhz for each in shortfalls([Carrier(5740), Carrier(5720)], Carrier(5715), FLOORS)]
    assert spacing[:2] == [5, 25]


def test_one_coincidence_of_four_carriers_is_named_once() -> None:
    # 5658 + 5917 = 5695 + 5880: four products, one on each of the four.
    found = shortfalls([Carrier(5658), Carrier(5695), Carrier(5880)], Carrier(5917), Floors(37, 1))
    assert [each.kind for each in found] == ["three_signal"]


def test_what_is_below_the_floor_already_is_not_held_against_the_next() -> None:
    overridden = [Carrier(5658), Carrier(5668)]
    assert not set_keeps_floors(overridden, FLOORS)
    assert shortfalls(overridden, Carrier(5880), FLOORS) == ()


def test_without_a_clearance_floor_only_the_spacing_counts() -> None:
    plan_r = [Carrier(5658), Carrier(5695)]
    assert shortfalls(plan_r, Carrier(5732), Floors(37, None)) == ()
    assert shortfalls(plan_r, Carrier(5732), Floors(37, 0)) == ()
    assert [each.kind for each in shortfalls(plan_r, Carrier(5732), Floors(37, 1))] == ["two_signal"]
