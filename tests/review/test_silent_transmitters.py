"""Transmitters without a token as they are told of: which reports are one transmitter's doing. By hand, no source."""

from meetapp.review.causes import NO_TOKEN
from meetapp.review.hidden import Hidden
from meetapp.review.silent_transmitters import silent_transmitters
from tests.review.scenes import flight, record_of, report


def test_one_behind_three_reports_is_told_once_though_it_shows_best_in_one_of_them() -> None:
    record = record_of(
        [flight(n, 5695, 10 * n, 10 * n + 8) for n in (1, 2, 3)], [report(n, n, 10 * n) for n in (1, 2, 3)]
    )
    # by its weights it is the work of the last; what is known explains the first two badly, so they are its work too
    all_three = Hidden(NO_TOKEN, 5695, 600, 2000, 0.1, ((0, 0.05), (1, 0.03), (2, 0.6)), ("span", 600))
    first_alone = Hidden(NO_TOKEN, 5699, 600, 900, 0.05, ((0, 0.08),), ("span", 600))
    elsewhere = Hidden(NO_TOKEN, 5880, 6000, 6300, 0.2, ((1, 0.3),), ("span", 6000))
    found = silent_transmitters(
        record, [(first_alone, {0: 0.2}), (all_three, {0: 0.5, 1: 0.4, 2: 0.6}), (elsewhere, {1: 0.3})]
    )
    assert [(each.mhz, each.reports) for each in found] == [(5695, (0, 1, 2)), (5880, (1,))]
    assert found[0].probability == 0.7
