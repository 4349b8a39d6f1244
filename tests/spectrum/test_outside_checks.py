"""The search against numbers that others found: rulers, progression-free sets, largest sets, bands.

On a grid of equal steps a product that misses every carrier misses it by a whole step at least. So "no product hits a
carrier" is the same as "clearance of one step or more", and known results about such sets check the search.
"""

import pytest

from meetapp.data.catalog import published_plans
from meetapp.spectrum.bands import parse_segments
from meetapp.spectrum.pool import pool_mhz
from meetapp.spectrum.problem import PickProblem, Signals
from meetapp.spectrum.result import Impossible, Optimal
from meetapp.spectrum.search import best_set, next_best

PLANS = published_plans()
FIVE_PLANS = pool_mhz(PLANS, "ABEFR")
LOWEST, STEP_MHZ = 5645, 20


def grid(places: int) -> tuple[int, ...]:
    """A band of equal steps with this many places, as wide apart as those of plans A and F."""
    return tuple(LOWEST + STEP_MHZ * place for place in range(places))


def first_measure(result: Optimal, signals: Signals) -> float:
    """What is compared first; nothing to measure is better than any number."""
    measures = result.measures
    clearance = measures.two_signal_clearance_mhz if signals == "two" else measures.clearance_mhz
    return float("inf") if clearance is None else clearance


def clear_sets(pool: tuple[int, ...], count: int, spacing: int, clearance: int, signals: Signals, at_most: int) -> int:
    """How many sets keep the spacing and the clearance, counting no further than `at_most`."""
    problem = PickProblem(pool, count, spacing, signals, useful_mhz=clearance)
    ranked = [result for result in next_best(problem, at_most) if isinstance(result, Optimal)]
    return sum(first_measure(result, signals) >= clearance for result in ranked)


# Golomb rulers: all differences are distinct, which says the same as no third-order product on another carrier.
# Lengths of the shortest ones: OEIS A003022. How many those are, a ruler and its mirror image once: OEIS A036501.
# The relation to third-order products: Maxemchuk and Schiff, IEEE Trans. Commun. 25(9), 1977, 1041-1046.
GOLOMB = [(3, 3, 1), (4, 6, 1), (5, 11, 2), (6, 17, 4), (7, 25, 5), (8, 34, 1), (9, 44, 1)]


@pytest.mark.parametrize(("marks", "length", "rulers"), GOLOMB, ids=[f"{marks} marks" for marks, *_ in GOLOMB])
def test_a_grid_holds_a_clear_set_exactly_where_a_golomb_ruler_fits(marks: int, length: int, rulers: int) -> None:
    assert clear_sets(grid(length), marks, STEP_MHZ, STEP_MHZ, "both", 1) == 0
    shortest = 2 * rulers
    assert clear_sets(grid(length + 1), marks, STEP_MHZ, STEP_MHZ, "both", shortest + 1) == shortest


def test_two_carriers_need_one_step_and_nothing_else() -> None:
    # The ruler of two marks has length 1 (OEIS A003022).
    assert best_set(PickProblem(grid(1), 2, STEP_MHZ)) == Impossible(1, None)
    assert clear_sets(grid(2), 2, STEP_MHZ, STEP_MHZ, "both", 2) == 1


def test_the_rulers_found_are_the_published_ones() -> None:
    # Any table of optimal Golomb rulers; the lists here are the smaller of each ruler and its mirror image.
    published = {4: (0, 1, 4, 6), 6: (0, 1, 4, 10, 12, 17), 8: (0, 1, 4, 9, 15, 22, 32, 34)}
    for marks, ruler in published.items():
        result = best_set(PickProblem(grid(ruler[-1] + 1), marks, STEP_MHZ, useful_mhz=STEP_MHZ))
        assert isinstance(result, Optimal)
        assert tuple((mhz - LOWEST) // STEP_MHZ for mhz in result.mhz) == ruler


# Largest sets with no three in arithmetic progression, 2a - b = c: no two-signal product on another carrier.
# Source: OEIS A003002, for 1 to 30 places.
NO_PROGRESSION = [1, 2, 2, 3, 4, 4, 4, 4, 5, 5, 6, 6, 7, 8, 8, 8, 8, 8, 8, 9, 9, 9, 9, 10, 10, 11, 11, 11, 11, 12]


@pytest.mark.parametrize(("places", "largest"), list(enumerate(NO_PROGRESSION, start=1)), ids=str)
def test_two_signal_sets_on_a_grid_are_as_large_as_progression_free_ones(places: int, largest: int) -> None:
    assert clear_sets(grid(places), largest, STEP_MHZ, STEP_MHZ, "two", 1) == 1
    assert clear_sets(grid(places), largest + 1, STEP_MHZ, STEP_MHZ, "two", 1) == 0


# Bands of equal steps: the largest set and how many such sets there are. Counted by brute force over all subsets.
# Columns: places; no two-signal hit (size, sets); no third-order hit at all (size, sets).
EQUAL_STEPS = [
    (4, (3, 2), (3, 2)),
    (5, (4, 1), (3, 6)),
    (6, (4, 4), (3, 14)),
    (7, (4, 10), (4, 2)),
    (8, (4, 25), (4, 10)),
    (9, (5, 4), (4, 26)),
    (10, (5, 24), (4, 60)),
    (12, (6, 25), (5, 4)),
]


@pytest.mark.parametrize(("places", "two", "both"), EQUAL_STEPS, ids=[f"{row[0]} places" for row in EQUAL_STEPS])
def test_bands_of_equal_steps_have_as_many_clear_sets_as_counted(
    places: int, two: tuple[int, int], both: tuple[int, int]
) -> None:
    cases: list[tuple[Signals, tuple[int, int]]] = [("two", two), ("both", both)]
    for signals, (size, sets) in cases:
        assert clear_sets(grid(places), size, STEP_MHZ, STEP_MHZ, signals, sets + 1) == sets
        assert clear_sets(grid(places), size + 1, STEP_MHZ, STEP_MHZ, signals, 1) == 0


@pytest.mark.parametrize("letter", "ABFRL")
def test_a_plan_of_equal_steps_has_four_channels_without_a_hit_and_no_five(letter: str) -> None:
    # Row "8 places" above: the plans A, B, F, R and L have eight channels at equal steps; channels 1 2 5 7 are one set.
    pool = pool_mhz(PLANS, [letter])
    assert clear_sets(pool, 4, 0, 1, "both", 11) == 10
    assert clear_sets(pool, 5, 0, 1, "both", 1) == 0
    channels = {channel.number: channel.mhz for plan in PLANS if plan.letter == letter for channel in plan.channels}
    first = clear_sets(tuple(channels[number] for number in (1, 2, 5, 7)), 4, 0, 1, "both", 1)
    assert first == 1


# The largest sets over the 39 frequencies of plans A, B, E, F, R: the most carriers at a spacing such that every
# product that counts is at least so far from every carrier not among its makers.
# Found with two other exact methods (a depth-first search and a constraint model) that agree on all 54 numbers.
LARGEST = {
    ("all 39", 20): {1: (12, 11), 10: (9, 6), 20: (8, 5)},
    ("all 39", 37): {1: (8, 8), 10: (7, 6), 20: (6, 5)},
    ("all 39", 40): {1: (7, 7), 10: (6, 6), 20: (6, 5)},
    ("24 within 5725-5875", 20): {1: (6, 6), 10: (5, 4), 20: (4, 4)},
    ("24 within 5725-5875", 37): {1: (4, 4), 10: (3, 3), 20: (3, 3)},
    ("24 within 5725-5875", 40): {1: (4, 4), 10: (3, 3), 20: (3, 3)},
    ("34 within 5659-5916", 20): {1: (10, 9), 10: (8, 6), 20: (7, 5)},
    ("34 within 5659-5916", 37): {1: (6, 6), 10: (6, 5), 20: (5, 4)},
    ("34 within 5659-5916", 40): {1: (6, 6), 10: (6, 5), 20: (5, 4)},
}
POOLS = {
    "all 39": FIVE_PLANS,
    "24 within 5725-5875": pool_mhz(PLANS, "ABEFR", (), parse_segments("5725-5875"), width_mhz=18),
    "34 within 5659-5916": tuple(mhz for mhz in FIVE_PLANS if 5659 <= mhz <= 5916),
}
CELLS = [
    pytest.param(pool, spacing, clearance, signals, size, id=f"{pool}, {spacing} apart, {signals} {clearance} clear")
    for (pool, spacing), row in LARGEST.items()
    for clearance, sizes in row.items()
    for signals, size in zip(("two", "both"), sizes, strict=True)
]


@pytest.mark.parametrize(("pool", "spacing", "clearance", "signals", "size"), CELLS)
def test_the_largest_set_is_as_large_as_two_other_methods_found(
    pool: str, spacing: int, clearance: int, signals: Signals, size: int
) -> None:
    assert clear_sets(POOLS[pool], size, spacing, clearance, signals, 1) == 1
    assert clear_sets(POOLS[pool], size + 1, spacing, clearance, signals, 1) == 0


# Best sets over plans A, B, E, F, R, found with another exact search that agrees with brute force on 600 small pools.
BEST = [
    (5, 37, (5645, 5685, 5745, 5825, 5945), (40, 20, 20)),
    (6, 37, (5645, 5695, 5765, 5805, 5865, 5945), (40, 20, 10)),
    (4, 25, (5645, 5745, 5880, 5945), (65, 35, 35)),
]


@pytest.mark.parametrize(("count", "spacing", "mhz", "measures"), BEST, ids=["five", "six", "four"])
def test_the_best_sets_of_the_five_plans_are_those_found_before(
    count: int, spacing: int, mhz: tuple[int, ...], measures: tuple[int, int, int]
) -> None:
    result = best_set(PickProblem(FIVE_PLANS, count, spacing))
    assert isinstance(result, Optimal)
    assert result.mhz == mhz
    found = result.measures
    assert (found.spacing_mhz, found.two_signal_clearance_mhz, found.three_signal_clearance_mhz) == measures


# Which channels fit a band with their whole width, worked out by hand from the plans (ArduPilot and iNav list the same
# numbers for A, B, E, F, R).
def test_24_channels_fit_5725_to_5875_at_18_mhz_and_23_at_20() -> None:
    band = parse_segments("5725-5875")
    at_18 = {label for label, mhz in _labels() if mhz in pool_mhz(PLANS, "ABEFRL", (), band, 18)}
    expected = {
        f"{letter}{n}" for letter, first, last in ("B28", "A17", "F17", "R46") for n in range(int(first), int(last) + 1)
    }
    assert at_18 == expected
    at_20 = {label for label, mhz in _labels() if mhz in pool_mhz(PLANS, "ABEFRL", (), band, 20)}
    assert at_18 - at_20 == {"B8"}


def test_34_carriers_fit_5650_to_5925_at_18_mhz_and_25_fit_5650_to_5850() -> None:
    wide = pool_mhz(PLANS, "ABEFRL", (), parse_segments("5650-5925"), 18)
    assert len(wide) == 34
    left_out = {label for label, mhz in _labels() if mhz not in wide}
    assert left_out == {"E4", "E7", "E8", "R1", "R8", *(f"L{number}" for number in range(1, 9))}
    narrow = pool_mhz(PLANS, "ABEFRL", (), parse_segments("5650-5850"), 18)
    assert (len(narrow), narrow[0], narrow[-1]) == (25, 5665, 5840)


# Japan's ministry on hobby video aircraft: images only in these segments, and at most three channels at once.
# Source: tele.soumu.go.jp, drone/notes.
JAPAN = parse_segments("5690-5725, 5730-5755, 5757-5760, 5762-5765, 5770-5810")


@pytest.mark.parametrize("width", [16, 18, 20])
def test_in_japans_segments_three_carriers_fit_at_once_and_no_more(width: int) -> None:
    pool = pool_mhz(PLANS, "ABEFR", (), JAPAN, width)
    assert pool == (5705, 5740, 5745, 5780, 5785, 5790, 5800)
    assert isinstance(best_set(PickProblem(pool, 3, 25)), Optimal)
    assert best_set(PickProblem(pool, 4, 25)) == Impossible(3, 20)


def _labels() -> list[tuple[str, int]]:
    return [(channel.label, channel.mhz) for plan in PLANS for channel in plan.channels]
