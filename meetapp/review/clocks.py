"""Whether all times told at a meet are off by the same: the clock they were read from was fast or slow, or everybody
told as the time of the trouble that of the landing.

Told by who reported: their own loans are on record to the second, and a picture breaks while one has a token.
"""

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from math import exp, log

from meetapp.review.evidence import Airing, MeetRecord, Reported
from meetapp.review.moments import whenever

_STEP_S, _FURTHEST_S = 60, 600
_ARE_RIGHT = 0.75
"""Three clocks in four are as good as right; of the others any time up to ten minutes is as likely. From experience,
no source."""

_ONE_IN = 0.7
"""Reports of a meet are told by the same people in the same way, so each counts as less than one of its own."""

_LOOKED_AT_S = 3600.0


def at_right_times(record: MeetRecord) -> MeetRecord:
    """The record with all reports told at the time that it really was, as far as clocks are concerned."""
    late_s = told_late_s(record)
    if not late_s:
        return record
    named = {airing.loan: airing for airing in record.airings}
    return replace(record, reports=tuple(_at_right_time(each, named, late_s) for each in record.reports))


def _at_right_time(report: Reported, named: Mapping[int, Airing], late_s: float) -> Reported:
    """Without the loan that the pilot had at the time told, where it may have been another one."""
    at_s = report.at_s - late_s
    loan = named.get(report.loan) if report.loan is not None else None
    is_by_time = loan is not None and loan.away_s(report.at_s) == 0 < loan.away_s(at_s)
    return replace(report, at_s=at_s, loan=None if is_by_time and report.pilot is not None else report.loan)


def told_late_s(record: MeetRecord) -> float:
    """How much too late all times are told, in seconds (negative: too early); 0 where more likely none is than some.

    Cost: reports times their pilots' loans within an hour.

    >>> told_late_s(MeetRecord(()))
    0.0
    """
    shifts = range(-_FURTHEST_S, _FURTHEST_S + 1, _STEP_S)
    logs = dict.fromkeys(shifts, 0.0)
    for report in record.reports:
        loans = list(_loans_of(report, record))
        for shift in shifts if loans else ():
            logs[shift] += _ONE_IN * log(max(_fits(report, loans, shift), 1e-6))
    top = max(logs.values())
    some = {shift: (1 - _ARE_RIGHT) * exp(each - top) / (len(logs) - 1) for shift, each in logs.items() if shift}
    off = sum(some.values())
    if off <= _ARE_RIGHT * exp(logs[0] - top):
        return 0.0
    return sum(shift * share for shift, share in some.items()) / off


def _loans_of(report: Reported, record: MeetRecord) -> Iterator[Airing]:
    """The pilot's own about that time; one that the report names though it was told for another time is meant."""
    airings = record.by_pilot.get(report.pilot, ()) if report.pilot is not None else ()
    if named := [each for each in airings if each.loan == report.loan and each.away_s(report.at_s)]:
        yield from named
        return
    for each in airings[bisect_left(airings, report.at_s - _LOOKED_AT_S, key=lambda each: each.since_s) :]:
        if each.since_s > report.at_s + _LOOKED_AT_S:
            break
        yield each


def _fits(report: Reported, loans: Sequence[Airing], late_s: float) -> float:
    """How likely it was in one of these loans, were the report told so much too late."""
    when = whenever(report, report.at_s - late_s)
    return sum(when.within(each.since_s, each.until_s) for each in loans)
