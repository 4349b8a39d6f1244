"""What the journal shows beside a victim, against a plain look at all of it."""

from collections.abc import Iterator, Sequence
from itertools import permutations
from random import Random

from meetapp.review.case import Case, cases
from meetapp.review.evidence import Airing
from meetapp.review.flights import Flights
from meetapp.review.known_air import shown_causes
from meetapp.review.reach import PRODUCT_FAR_MHZ
from tests.review.scenes import CHANNELS, flight, record_of, report


def test_the_products_shown_are_all_that_were_on_air_with_the_victim_at_one_moment() -> None:
    random = Random(5)
    for _meet in range(6):
        others = [
            flight(loan, random.choice(CHANNELS), since := random.uniform(-8, 9), since + random.uniform(1, 9))
            for loan in range(2, 12)
        ]
        record = record_of([flight(1, 5800, 0, 10), *others], [report(1, 1, 5, window_s=600)])
        case = cases(record)[0][0]
        shown = shown_causes(record, Flights(record), case)
        products = {(each.cause.mhz, each.cause.sources) for each in shown if each.cause.kind == "product"}
        assert products == set(_plainly(case, [record.airings[place] for place in case.beside]))


def _plainly(case: Case, others: Sequence[Airing]) -> Iterator[tuple[int, tuple[int, ...]]]:
    """Third-order products by their definition: 2a - b and a + b - c."""
    for a, b in permutations(others, 2):
        yield from _if_near(case, 2 * a.mhz - b.mhz, (a, b))
    for a, b, c in permutations(others, 3):
        yield from _if_near(case, a.mhz + b.mhz - c.mhz, (a, b, c))


def _if_near(case: Case, mhz: int, makers: Sequence[Airing]) -> Iterator[tuple[int, tuple[int, ...]]]:
    start_s, end_s = case.overlap(*makers)
    if start_s < end_s and abs(mhz - case.victim.mhz) <= PRODUCT_FAR_MHZ:
        yield mhz, tuple(sorted(each.loan for each in makers))
