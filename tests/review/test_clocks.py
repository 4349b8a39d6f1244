"""Clocks that are all off alike: told by when those who reported had a token."""

from dataclasses import replace
from random import Random

from meetapp.review.clocks import at_right_times, told_late_s
from meetapp.review.evidence import MeetRecord
from tests.review.scenes import flight, quiet_day, record_of, report


def _day(late_min: float, *, are_named: bool) -> MeetRecord:
    """Fourteen reports of a quiet day, each from the midst of a flight, give or take a minute."""
    random = Random(3)
    airings = quiet_day(random)
    reports = []
    for ref, airing in enumerate(random.sample(airings, 14), start=1):
        at_s = (airing.since_s + airing.until_s) / 2 + random.gauss(0, 40) + late_min * 60
        told = replace(report(ref, 0, at_s / 60), pilot=airing.pilot, loan=None)
        loans = [each.loan for each in airings if each.pilot == airing.pilot and each.since_s <= at_s <= each.until_s]
        reports.append(replace(told, loan=loans[0]) if are_named and loans else told)
    return record_of(airings, reports)


def test_a_clock_that_is_five_minutes_fast_is_seen_and_read_right() -> None:
    day = _day(5, are_named=True)
    assert abs(told_late_s(day) - 300) < 75
    right = at_right_times(day)
    assert [each.at_s for each in right.reports] == [each.at_s - told_late_s(day) for each in day.reports]


def test_a_clock_that_is_slow_is_seen_as_well() -> None:
    assert abs(told_late_s(_day(-6, are_named=False)) + 360) < 75


def test_clocks_that_are_right_are_left_alone() -> None:
    for are_named in (False, True):
        day = _day(0, are_named=are_named)
        assert told_late_s(day) == 0
        assert at_right_times(day) is day


def test_a_loan_that_only_fits_the_wrong_time_is_no_longer_named() -> None:
    day = _day(5, are_named=True)
    twice = [replace(flight(loan, 5800, since, since + 4), pilot=99) for loan, since in ((901, 0), (902, 5))]
    told = replace(report(99, 902, 6.5), pilot=99)
    right = at_right_times(replace(day, airings=(*twice, *day.airings), reports=(*day.reports, told)))
    assert right.reports[-1].loan is None
    assert twice[0].since_s < right.reports[-1].at_s < twice[0].until_s
