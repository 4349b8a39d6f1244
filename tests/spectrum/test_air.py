"""The air on an axis: the nearest products by brute force, products where they fall, nothing that lies beside."""

from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.air import REACH_MHZ, Named, air_facts, nearest_text
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.products import hits, measure, products

carriers = st.lists(
    st.builds(Carrier, st.integers(5640, 5940), st.sampled_from([17.5, 20, 40])), min_size=1, max_size=6
)


@given(carriers)
def test_the_nearest_products_give_the_clearances_of_the_set(given_carriers: list[Carrier]) -> None:
    facts = air_facts([Named(each) for each in given_carriers])
    assert facts is not None
    two = [each.two_signal.distance_mhz for each in facts.carriers if each.two_signal]
    three = [each.three_signal.distance_mhz for each in facts.carriers if each.three_signal]
    measures = measure(given_carriers)
    assert min(two, default=None) == measures.two_signal_clearance_mhz
    assert min(three, default=None) == measures.three_signal_clearance_mhz
    nearest = [each.nearest.distance_mhz for each in facts.carriers if each.nearest]
    assert min(nearest, default=None) == measures.clearance_mhz


@given(carriers)
def test_products_stand_where_they_fall(given_carriers: list[Carrier]) -> None:
    facts = air_facts([Named(each) for each in given_carriers])
    assert facts is not None
    fallen = {(each.mhz, each.signals) for each in facts.products}
    all_of_them = {(each.mhz, each.signals) for each in products(given_carriers)}
    assert fallen == {pair for pair in all_of_them if facts.low_mhz <= pair[0] <= facts.high_mhz}
    every = hits(given_carriers, 10_000)
    for each in facts.products:
        at = (each.mhz, each.signals)
        near = [hit.distance_mhz for hit in every if (hit.product.mhz, hit.product.signals) == at]
        assert each.distance_mhz == min(near, default=None)


def test_a_narrow_and_a_wide_carrier_on_one_frequency_keep_their_own_distances() -> None:
    facts = air_facts([Named(Carrier(5740, 20)), Named(Carrier(5740, 40)), Named(Carrier(5658)), Named(Carrier(5695))])
    assert facts is not None
    narrow, wide = facts.carriers[2:]
    assert (narrow.carrier.width_mhz, wide.carrier.width_mhz) == (20, 40)
    assert narrow.two_signal is not None
    assert wide.two_signal is not None
    assert narrow.two_signal.distance_mhz == wide.two_signal.distance_mhz + 10


def test_what_lies_beside_is_left_out_and_what_is_cut_stays() -> None:
    facts = air_facts(
        [Named(Carrier(5740))],
        [Neighbour("far", 5500, 20), Neighbour("cut", 5695, 20), Neighbour("near", 5750, 80)],
        [Segment(5150, 5250), Segment(5650, 5725), Segment(5470, 6200)],
    )
    assert facts is not None
    assert [each.label for each in facts.neighbours] == ["cut", "near"]
    assert [each.text for each in facts.segments] == ["5650-5725", "5470-6200"]
    # The band's edges at 5650 and 5725 lie within reach, those at 5470 and 6200 don't.
    assert (facts.low_mhz, facts.high_mhz) == (5650, 5750 + REACH_MHZ)


def test_without_a_carrier_there_is_nothing_to_see() -> None:
    assert air_facts([], [Neighbour("Wi-Fi", 5690, 80)]) is None


def test_a_nearest_product_is_told_with_its_sum() -> None:
    facts = air_facts([Named(Carrier(mhz)) for mhz in (5658, 5695, 5760, 5800, 5880, 5917)])
    assert facts is not None
    texts = [nearest_text(each.three_signal) for each in facts.carriers if each.three_signal]
    assert texts[0] == "0 MHz: 5695 + 5880 - 5917 = 5658"
