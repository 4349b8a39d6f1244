"""Products of the third order and the measures of a set, against sums written out a second time here."""

from fractions import Fraction
from itertools import combinations, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.products import Hit, Measures, hits, measure, product_text, products

R_PLAN = (5658, 5695, 5732, 5769, 5806, 5843, 5880, 5917)
SIX = (5658, 5695, 5760, 5800, 5880, 5917)
FIVE = (5740, 5760, 5800, 5840, 5860)

widths = st.integers(10, 120).map(lambda halves: halves / 2)
mixed_sets = st.lists(st.builds(Carrier, st.integers(5600, 5700), widths), max_size=6)
analogue_sets = st.lists(st.integers(5600, 5950).map(Carrier), max_size=7)


def _on_air(*mhz: int) -> list[Carrier]:
    return [Carrier(each) for each in mhz]


def _written_out(carriers: list[Carrier]) -> tuple[list[Fraction], list[Fraction], list[Fraction]]:
    """Every spacing, two-signal distance and three-signal distance, in the words of the definition."""
    count = len(carriers)
    mhz = [Fraction(carrier.mhz) for carrier in carriers]
    width = [Fraction(carrier.width_mhz) for carrier in carriers]
    spacing = [abs(mhz[i] - mhz[j]) - ((width[i] + width[j]) / 2 - 20) for i, j in combinations(range(count), 2)]
    two = [
        abs(2 * mhz[a] - mhz[b] - mhz[v]) - (width[v] - 20) / 2 - (2 * width[a] + width[b] - 60) / 2
        for a, b, v in permutations(range(count), 3)
    ]
    three = [
        abs(mhz[a] + mhz[b] - mhz[c] - mhz[v]) - (width[v] - 20) / 2 - (width[a] + width[b] + width[c] - 60) / 2
        for a, b, c, v in permutations(range(count), 4)
        if a < b
    ]
    return spacing, two, three


@given(st.one_of(mixed_sets, analogue_sets))
def test_measures_are_the_smallest_of_all_distances(carriers: list[Carrier]) -> None:
    spacing, two, three = (min(distances, default=None) for distances in _written_out(carriers))
    assert measure(carriers) == Measures(spacing, two, three)


@given(mixed_sets, st.integers(-20, 120))
def test_hits_are_all_the_distances_up_to_the_limit_in_order(carriers: list[Carrier], within: int) -> None:
    _, two, three = _written_out(carriers)
    found = hits(carriers, within)
    assert [hit.distance_mhz for hit in found] == sorted(each for each in two + three if each <= within)


@given(analogue_sets)
def test_a_hit_names_a_product_of_carriers_and_a_victim_on_air(carriers: list[Carrier]) -> None:
    mhz = [carrier.mhz for carrier in carriers]
    for hit in hits(carriers, 40):
        assert {*hit.product.sources, hit.victim_mhz} <= set(mhz)
        assert hit.distance_mhz == abs(hit.product.mhz - hit.victim_mhz)
        if hit.product.kind == "2a-b":
            a, b = hit.product.sources
            assert hit.product.mhz == 2 * a - b
        else:
            a, b, c = hit.product.sources
            assert hit.product.mhz == a + b - c


@given(mixed_sets.flatmap(lambda carriers: st.tuples(st.just(carriers), st.permutations(carriers))))
def test_the_order_of_carriers_changes_nothing(pair: tuple[list[Carrier], list[Carrier]]) -> None:
    assert measure(pair[0]) == measure(pair[1])


@given(mixed_sets, st.builds(Carrier, st.integers(5600, 5700), widths))
def test_one_more_carrier_never_widens_a_measure(carriers: list[Carrier], one_more: Carrier) -> None:
    before, after = measure(carriers), measure([*carriers, one_more])
    for name in ("spacing_mhz", "two_signal_clearance_mhz", "three_signal_clearance_mhz"):
        had, has = getattr(before, name), getattr(after, name)
        assert had is None or has <= had


# n carriers make n(n-1) two-signal and n(n-1)(n-2)/2 three-signal products: n = 6: 30 and 60, n = 8: 56 and 168.
@pytest.mark.parametrize(
    ("count", "two", "three"), [(0, 0, 0), (1, 0, 0), (2, 2, 0), (3, 6, 3), (6, 30, 60), (8, 56, 168)]
)
def test_how_many_products_there_are(count: int, two: int, three: int) -> None:
    kinds = [product.kind for product in products(_on_air(*R_PLAN[:count]))]
    assert (kinds.count("2a-b"), kinds.count("a+b-c")) == (two, three)


# Three sets that clubs know; their numbers are computed, twice and apart.
@pytest.mark.parametrize(
    ("mhz", "measures"),
    [(R_PLAN, Measures(37, 0, 0)), (SIX, Measures(37, 12, 0)), (FIVE, Measures(20, 0, 0))],
    ids=["R1 to R8", "a known six", "a known five"],
)
def test_measures_of_three_familiar_sets(mhz: tuple[int, ...], measures: Measures) -> None:
    assert measure(_on_air(*mhz)) == measures


def _distances(mhz: tuple[int, ...], kind: str, within: float) -> list[float]:
    return [hit.distance_mhz for hit in hits(_on_air(*mhz), within) if hit.product.kind == kind]


def test_plan_r_hits_itself_24_times_by_two_signals_and_88_times_by_three() -> None:
    assert len(_distances(R_PLAN, "2a-b", 0)) == 24
    assert len(_distances(R_PLAN, "a+b-c", 0)) == 88
    assert len(_distances(R_PLAN, "2a-b", 10_000)) == 336
    assert len(_distances(R_PLAN, "a+b-c", 10_000)) == 840
    assert all(hit.distance_mhz % 37 == 0 for hit in hits(_on_air(*R_PLAN), 10_000))


def test_the_known_six_has_its_near_misses() -> None:
    two = sorted(set(_distances(SIX, "2a-b", 25)))
    three = _distances(SIX, "a+b-c", 10_000)
    assert two == [12, 18, 25]
    assert len(three) == 180
    assert sum(distance == 0 for distance in three) == 4
    assert sum(distance < 5 for distance in three) == 12
    assert sum(distance < 20 for distance in three) == 20
    assert sorted(set(three))[:2] == [0, 3]
    assert [(hit.product.sources, hit.victim_mhz) for hit in hits(_on_air(*SIX), 12) if hit.product.kind == "2a-b"] == [
        ((5800, 5917), 5695),
        ((5800, 5695), 5917),
    ]


def test_the_known_five_hits_itself_four_times_each_way() -> None:
    assert len(_distances(FIVE, "2a-b", 0)) == 4
    assert len(_distances(FIVE, "a+b-c", 0)) == 4
    assert len(_distances(FIVE, "a+b-c", 10_000)) == 60
    assert sorted(set(_distances(FIVE, "2a-b", 20))) == [0, 20]
    assert sorted(set(_distances(FIVE, "a+b-c", 20))) == [0, 20]


# Babcock 1953 and Maxemchuk and Schiff 1977 (doi 10.1109/TCOM.1977.1093944) tie products to repeated differences;
# the three statements below are proved by hand and checked here on every subset of a grid of 11.
@pytest.mark.parametrize("count", range(3, 7))
def test_on_a_grid_the_clearances_are_what_number_theory_says(count: int) -> None:
    for places in combinations(range(11), count):
        found = measure(_on_air(*places))
        has_progression = any(b - a == c - b for a, b, c in combinations(places, 3))
        sums = [a + b for a, b in combinations(places, 2)]
        differences = [b - a for a, b in combinations(places, 2)]
        assert (found.two_signal_clearance_mhz == 0) == has_progression
        assert (found.three_signal_clearance_mhz == 0) == (len(set(sums)) < len(sums))
        assert (found.clearance_mhz == 0) == (len(set(differences)) < len(differences))


@pytest.mark.parametrize(
    ("mhz", "measures", "clearance"),
    [
        ((), Measures(None, None, None), None),
        ((5800,), Measures(None, None, None), None),
        ((5800, 5840), Measures(40, None, None), None),
        ((5740, 5780, 5860), Measures(40, 40, None), 40),
    ],
    ids=["nobody", "one", "two", "three"],
)
def test_too_few_carriers_leave_nothing_to_measure(
    mhz: tuple[int, ...], measures: Measures, clearance: float | None
) -> None:
    assert measure(_on_air(*mhz)) == measures
    assert measure(_on_air(*mhz)).clearance_mhz == clearance


def test_two_loans_on_one_frequency_are_two_carriers() -> None:
    assert measure(_on_air(5658, 5658)).spacing_mhz == 0
    # 2 x 5658 - 5658 falls on neither of its makers but would be 42 MHz from the third.
    assert measure(_on_air(5658, 5658, 5700)).two_signal_clearance_mhz == 42


def test_a_product_is_as_wide_as_its_sources_together() -> None:
    carriers = [Carrier(5700, 20), Carrier(5740, 40), Carrier(5800, 10)]
    by_sources = {product.sources: product.width_mhz for product in products(carriers)}
    assert by_sources[5740, 5700] == 100
    assert by_sources[5700, 5740] == 80
    assert by_sources[5700, 5740, 5800] == 70


def test_wide_sources_bring_a_product_nearer_to_its_victim() -> None:
    # 2 x 5740 - 5700 = 5780, 20 MHz from 5800. Wp = 3 x 40, so (120 - 60)/2 = 30 come off, and 10 for the victim.
    wide = [Carrier(5700, 40), Carrier(5740, 40), Carrier(5800, 40)]
    assert Hit(products(wide)[2], 5800, -20) in hits(wide, 0)
    assert measure(wide).two_signal_clearance_mhz == -20


def test_whole_measures_are_whole_numbers() -> None:
    found = measure([Carrier(5700, 20.0), Carrier(5740, 40.0), Carrier(5800), Carrier(5900)])
    assert [type(value) for value in (found.spacing_mhz, found.two_signal_clearance_mhz)] == [int, int]
    assert isinstance(found.three_signal_clearance_mhz, int)


def test_a_product_is_written_out_with_its_numbers() -> None:
    assert product_text("2a-b", (5760, 5658)) == "2 x 5760 - 5658"
    assert product_text("a+b-c", (5658, 5917, 5695)) == "5658 + 5917 - 5695"
