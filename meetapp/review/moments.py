"""When it really was: the time of a report is told late or mistaken, so it is a distribution with heavy tails."""

from dataclasses import dataclass
from functools import cached_property
from heapq import nlargest
from math import exp

from meetapp.review.evidence import Airing, MeetRecord, Reported

_SHARES = ((0.62, 1.0), (0.28, 4.0))
"""Most times are off by the scale, some by four times as much. From experience, no source, as are the next ones."""

_PEAKED = sum(share for share, _times in _SHARES)
_FLAT_SHARE, _FLAT_S = 0.10, 1800.0
_LEAST_SCALE_S, _SCALE_OF_WINDOW = 50.0, 0.45
_LATE = 0.6
"""In six of ten cases it was earlier than told."""

_AROUND_LOAN_S = 30.0
_ONSET_S = 90.0
_ONSET_SHARE = 0.5
"""Half of what disturbs is noticed within the first 90 s in which both are on air."""

_LARGEST_LIFT = 3.0
_NEAR_ENOUGH_S = 2400.0
_AROUND_NOBODY_S = 120.0
_CLOCK_OFF_S, _LEAST_OPEN_S = 60.0, 240.0
"""How far clocks and hasty times are off: also what is told before its loan began may be of its first minutes."""

_MOST_VICTIMS, _LEAST_SHARE = 8, 0.1


@dataclass(frozen=True)
class Moment:
    """The time of a report as a distribution over the span in which its pilot was on air."""

    at_s: float
    scale_s: float
    low_s: float
    high_s: float

    def within(self, start_s: float, end_s: float) -> float:
        """The probability that it was between these.

        >>> round(Moment(0, 60, -600, 600).within(-600, 600), 6)
        1.0
        """
        start, end = max(start_s, self.low_s), min(end_s, self.high_s)
        if start >= end:
            return 0.0
        return self._before(end) - self._before(start)

    def lift(self, start_s: float, end_s: float) -> float:
        """How much likelier a report at this time is under a cause that was there from start to end than under one that
        may strike at any moment of the flight. A cause is noticed when it begins, or at any moment while it lasts."""
        start, end = max(start_s, self.low_s), min(end_s, self.high_s)
        if start >= end:
            return 0.0
        lasted, onset = max(end - start, 20.0), min(_ONSET_S, max(end - start, 20.0))
        before, after = self._before(start), self._before(end)
        noticed = self._before(start + onset) if start + onset < end else after
        rate = _ONSET_SHARE * (noticed - before) / onset + (1 - _ONSET_SHARE) * (after - before) / lasted
        return min(rate * (self.high_s - self.low_s), _LARGEST_LIFT)

    @cached_property
    def _whole(self) -> tuple[float, float]:
        """What of the curve lies before the span, and in it."""
        before = self._up_to(self.low_s)
        return before, self._up_to(self.high_s) - before

    def _before(self, when_s: float) -> float:
        """The probability that it was before this moment of the span."""
        before, whole = self._whole
        if whole < 1e-9:  # told hours off: any moment of the loan is as good
            return (when_s - self.low_s) / (self.high_s - self.low_s)
        return (self._up_to(when_s) - before) / whole

    def _up_to(self, when_s: float) -> float:
        error = when_s - self.at_s
        flat = _FLAT_SHARE * min(max((error + _FLAT_S) / (2 * _FLAT_S), 0.0), 1.0)
        tail = 0.0
        for share, times in _SHARES:
            tail += share * exp(-abs(error) / (self.scale_s * times))
        return flat + (_LATE * tail if error < 0 else _PEAKED - (1 - _LATE) * tail)


def moment_of(report: Reported, low_s: float, high_s: float, at_s: float | None = None) -> Moment:
    """The time of this report between two bounds; nothing is told before it was, but for what a clock is off. `at_s`:
    what it would be told as, if not as it was."""
    at_s = report.at_s if at_s is None else at_s
    told_s = max(report.entered_s, at_s) + _CLOCK_OFF_S
    high_s = max(min(high_s, told_s), min(high_s, low_s + _LEAST_OPEN_S), low_s + 1)
    return Moment(at_s, max(_LEAST_SCALE_S, report.window_s * _SCALE_OF_WINDOW), low_s, high_s)


def whenever(report: Reported, at_s: float) -> Moment:
    """The time of this report, were it told as this, whoever was on air."""
    return moment_of(report, at_s - 2 * _NEAR_ENOUGH_S, at_s + 2 * _NEAR_ENOUGH_S, at_s)


def victims_of(record: MeetRecord, report: Reported) -> tuple[tuple[int, Moment, float], ...]:
    """The airings (by their places) that the report may be about, when it was then, and how likely: likeliest first,
    shares sum to 1; none where no loan fits.

    The loan that the report names; else the pilot's own about that time; of a report without a pilot any of those who
    flew about then.
    """
    near = _AROUND_NOBODY_S + report.window_s if report.pilot is None else _NEAR_ENOUGH_S
    whole = whenever(report, report.at_s)
    fits: dict[int, float] = {}
    for place, airing in enumerate(record.airings):
        if airing.loan == report.loan if report.loan is not None else _is_near(airing, report, near):
            since_s, until_s = airing.since_s - _AROUND_LOAN_S, airing.until_s + _AROUND_LOAN_S
            # as likely as that a moment of this flight, any as good as another, is told as this time
            fits[place] = max(whole.within(since_s, until_s), 1e-9) / (until_s - since_s)
    best = nlargest(_MOST_VICTIMS, fits, key=lambda place: (fits[place], -place))
    kept = [place for place in best if fits[place] > _LEAST_SHARE * fits[best[0]]]
    total = sum(fits[place] for place in kept)
    return tuple((place, _moment_in(record.airings[place], report), fits[place] / total) for place in kept)


def _moment_in(airing: Airing, report: Reported) -> Moment:
    return moment_of(report, airing.since_s - _AROUND_LOAN_S, airing.until_s + _AROUND_LOAN_S)


def _is_near(airing: Airing, report: Reported, near_s: float) -> bool:
    if airing.pilot is None or report.pilot not in (None, airing.pilot):
        return False
    return airing.since_s - near_s < report.at_s < airing.until_s + near_s
