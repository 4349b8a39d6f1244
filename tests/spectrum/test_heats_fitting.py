"""The most carriers of a heat that fit beside what is on air, against every subset."""

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors, set_keeps_floors, shortfalls
from meetapp.spectrum.heats import most_that_fit

MHZ = st.integers(5650, 5925)
CARRIERS = st.builds(Carrier, MHZ, st.sampled_from([20.0, 40.0]))
FLOORS = st.builds(Floors, st.sampled_from([0, 25, 37]), st.sampled_from([None, 0, 10]))


@given(
    up=st.lists(CARRIERS, max_size=2, unique=True),
    wanted=st.lists(CARRIERS, max_size=6, unique=True),
    floors=FLOORS,
    neighbours=st.lists(st.builds(Neighbour, st.just("mast"), MHZ, st.just(20.0)), max_size=1),
)
def test_no_larger_group_fits_and_of_equal_ones_the_first(
    up: list[Carrier], wanted: list[Carrier], floors: Floors, neighbours: list[Neighbour]
) -> None:
    def fits(places: tuple[int, ...]) -> bool:
        added = [wanted[place] for place in places]
        return all(
            not shortfalls([*up, *added[:number]], carrier, floors, neighbours) for number, carrier in enumerate(added)
        )

    every = (group for size in range(len(wanted), -1, -1) for group in combinations(range(len(wanted)), size))
    found = most_that_fit(up, wanted, floors, neighbours)
    assert found == next(group for group in every if fits(group))
    if not up and not neighbours:
        assert set_keeps_floors([wanted[place] for place in found], floors)
