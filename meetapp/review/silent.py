"""Candidates for a transmitter on air without a token: from when to when, and on which frequency."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from math import exp

from meetapp.review.case import Case
from meetapp.review.causes import NO_TOKEN
from meetapp.review.evidence import MeetRecord
from meetapp.review.hidden import Hidden, QuietFlights, added_up, is_felt, quiet_beside, silence
from meetapp.review.reach import FAR_MHZ, PITS_DB, away, carrier_chance
from meetapp.review.symptoms import beside
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_PER_HOUR = 0.8
"""How often somebody is on air without a token. From experience, no source; so are those below."""

_AROUND_S = 150.0
_LONGEST_S = 1800.0
_STAYS = ((0.6, 175.0), (0.4, 900.0))
"""Most are on air for a minute or three, some for a quarter of an hour: shares and means of exponential curves."""

_TURNING_UP, _OWN_KINDS, _ANYWHERE = 0.45, 0.33, 0.22
"""Shares of where it is: on the wake channel of somebody who holds no token; on a channel that the pilots' kinds can
make; anywhere in the band."""

_GRID_MHZ = 4
_SOON_S = 300.0
_WHILE_WAITING, _SUSPECTED, _CALLED = 0.25, 3.0, 4.0
_HARDLY = 0.02
"""Of a report's time: what lies in a span with no more than this isn't looked at."""


class SilentAir:
    """Where a transmitter without a token may be at this meet, by who comes and goes."""

    def __init__(self, record: MeetRecord) -> None:
        self._record = record

    @cached_property
    def _wakes(self) -> dict[int, tuple[list[float], list[tuple[float, float, int]]]]:
        """(from, to, MHz) for each pilot: when they weren't on air, and what their transmitter would have come up on in
        between. In the order they begin, which is the order they end; first those ends."""
        found = {}
        for pilot, airings in self._record.by_pilot.items():
            gaps = []
            if airings[0].wake_before_mhz is not None:
                gaps.append((float("-inf"), airings[0].since_s, airings[0].wake_before_mhz))
            for one, after in zip(airings, [*airings[1:], None], strict=True):
                until = after.since_s if after is not None else float("inf")
                gaps.append((one.until_s, until, one.mhz))
                if after is not None and after.wake_before_mhz not in (None, one.mhz):
                    gaps.append((one.until_s, until, after.wake_before_mhz or one.mhz))
            gaps = [each for each in gaps if each[1] > each[0]]
            found[pilot] = [each[1] for each in gaps], gaps
        return found

    @cached_property
    def _everywhere(self) -> dict[int, float]:
        """Shares of the channels of everybody's kinds, and of the whole band between the lowest and the highest."""
        shares: dict[int, float] = defaultdict(float)
        kinds = [kind for flier in self._record.fliers for kind in flier.kinds if kind.channels_mhz]
        for kind in kinds:
            for mhz in kind.channels_mhz:
                shares[mhz] += _OWN_KINDS / len(kinds) / len(kind.channels_mhz)
        known = [*shares, *(airing.mhz for airing in self._record.airings)]
        grid = range(min(known) - _GRID_MHZ, max(known) + _GRID_MHZ + 1, _GRID_MHZ) if known else range(0)
        anywhere = _ANYWHERE if kinds else _ANYWHERE + _OWN_KINDS
        for mhz in grid:
            shares[mhz] += anywhere / len(grid)
        return dict(shares)

    def shares_mhz(self, start_s: float, end_s: float) -> dict[int, float]:
        """Where one that is on air then may be: shares that sum to 1 (none for a meet where nobody was on air)."""
        everywhere, turning_up = self._shares(start_s, end_s)
        shares = {mhz: everywhere * share for mhz, share in self._everywhere.items()}
        for mhz, share in turning_up.items():
            shares[mhz] = shares.get(mhz, 0.0) + share
        return shares

    def share_at(self, start_s: float, end_s: float) -> Callable[[int], float]:
        """The same, to be asked for one frequency after the other."""
        everywhere, turning_up = self._shares(start_s, end_s)
        return lambda mhz: everywhere * self._everywhere.get(mhz, 0.0) + turning_up.get(mhz, 0.0)

    def _shares(self, start_s: float, end_s: float) -> tuple[float, dict[int, float]]:
        """What each share of `_everywhere` counts then, and those of the wake channels."""
        coming = self.who_may(start_s, end_s)
        total = sum(weight for _pilot, _mhz, weight in coming)
        whole = sum(self._everywhere.values()) + (_TURNING_UP if coming else 0.0)
        turning_up: dict[int, float] = defaultdict(float)
        for _pilot, mhz, weight in coming:
            turning_up[mhz] += _TURNING_UP * weight / total / whole
        return 1 / whole if whole else 0.0, turning_up

    @cached_property
    def all_mhz(self) -> tuple[int, ...]:
        """Every frequency that `shares_mhz` may name."""
        named = [each.mhz for each in self._record.suspicions if each.mhz is not None]
        wakes = (mhz for _ends, gaps in self._wakes.values() for _from, _to, mhz in gaps)
        return tuple(sorted({*self._everywhere, *wakes, *named}))

    def who_may(self, start_s: float, end_s: float) -> list[tuple[int, int, float]]:
        """Who was not on air by the journal: (pilot, the MHz it would come up on, weight). Most likely who had just
        handed in, or was about to receive, or stands under a suspicion."""
        found: dict[tuple[int, int], float] = {}
        for pilot, (ends, gaps) in self._wakes.items():
            for low, high, mhz in islice(gaps, bisect_right(ends, start_s), None):
                if low >= end_s:
                    break
                gap_s = start_s - low if start_s - low < high - end_s else high - end_s
                weight = _WHILE_WAITING + (exp(-gap_s / _SOON_S) if gap_s > 0 else 1.0)
                if weight > found.get((pilot, mhz), 0.0):
                    found[pilot, mhz] = weight
        for each in self._record.suspicions:
            if each.pilot is not None and each.mhz is not None and each.since_s < end_s and each.until_s > start_s:
                found[each.pilot, each.mhz] = _SUSPECTED
        return [(pilot, mhz, weight) for (pilot, mhz), weight in sorted(found.items())]

    def alarm(self, start_s: float, end_s: float) -> float:
        """How much likelier one is on air where 'stray transmitter' was called at that time."""
        called = (each for each in self._record.suspicions if each.mhz is None)
        return _CALLED if any(each.since_s < end_s and each.until_s > start_s for each in called) else 1.0


def silent_episodes(record: MeetRecord, known: Sequence[Case], least: Mapping[int, float]) -> Iterator[Hidden]:
    """Every frequency, and every span from one of the reports that it would reach to another. Order: by MHz, then span.

    `least`: for each report, what it takes beforehand to be worth a thought.
    """
    spans = _Spans(record, SilentAir(record), known)
    reached: dict[int, list[tuple[int, float]]] = defaultdict(list)
    for place, case in enumerate(known):
        for mhz, weight in _reached(case, spans.air.all_mhz):
            reached[mhz].append((place, weight))
    likeliest = [_likeliest_s(case) for case in known]
    times: dict[tuple[float, ...], tuple[tuple[_Stretch, _Span], ...]] = {}
    for mhz, concerned in sorted(reached.items()):
        when = tuple(sorted({likeliest[place] for place, _weight in concerned}))
        if when not in times:
            times[when] = tuple((each, spans.of(each)) for each in _stretches(when))
        for stretch, span in times[when]:
            yield from spans.candidate(stretch, span, mhz, concerned, least)


@dataclass(frozen=True, slots=True)
class _Span:
    """`lifts`: how well the time of each case that may be meant fits, by its place; `share_at`: where one may be;
    `quiet`: who flew and said nothing; `alarm`: how much likelier one is, as it was called."""

    start_s: float
    end_s: float
    lifts: Mapping[int, float]
    share_at: Callable[[int], float]
    quiet: QuietFlights
    alarm: float


class _Spans:
    """What is the same for every frequency in a span, worked out once."""

    def __init__(self, record: MeetRecord, air: SilentAir, known: Sequence[Case]) -> None:
        self._record, self.air, self._known = record, air, known
        self._numbers = [case.number for case in known]
        self._seen: dict[tuple[float, float], _Span] = {}

    def candidate(
        self,
        stretch: "_Stretch",
        span: _Span,
        mhz: int,
        concerned: Sequence[tuple[int, float]],
        least: Mapping[int, float],
    ) -> Iterator[Hidden]:
        """The candidate on this frequency, where any report feels it."""
        prior = stretch.chance * span.alarm * span.share_at(mhz)
        lifts, numbers = span.lifts, self._numbers
        adds = added_up([(numbers[place], weight * lifts[place]) for place, weight in concerned if place in lifts])
        if is_felt(prior, adds, least) and is_felt(prior := prior * silence(span.quiet, mhz), adds, least):
            yield Hidden(NO_TOKEN, mhz, span.start_s, span.end_s, prior, adds, ("span", round(span.start_s)))

    def of(self, stretch: "_Stretch") -> _Span:
        """What is known of a stretch and a little around it."""
        start_s, end_s = stretch.first_s - _AROUND_S, stretch.last_s + _AROUND_S
        if (start_s, end_s) not in self._seen:
            lifts = {place: lift for place, case in enumerate(self._known) if (lift := _lift(case, start_s, end_s))}
            low, high = start_s + _AROUND_S / 2, end_s - _AROUND_S / 2
            quiet = quiet_beside(self._record, low, high, self._record.between(low, high), -1)
            share_at, alarm = self.air.share_at(start_s, end_s), self.air.alarm(start_s, end_s)
            self._seen[start_s, end_s] = _Span(start_s, end_s, lifts, share_at, quiet, alarm)
        return self._seen[start_s, end_s]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """From one report to another; `chance`: that one without a token is on air from before the first, though not yet
    at the one before it, until after the last, though no more at the next. So no two stretches count the same twice."""

    first_s: float
    last_s: float
    chance: float


def _stretches(times_s: Sequence[float]) -> Iterator[_Stretch]:
    whens = (float("-inf"), *times_s, float("inf"))
    for first in range(1, len(whens) - 1):
        for last in range(first, bisect_left(whens, whens[first] + _LONGEST_S)):
            chance = stretch_chance(whens[first - 1], whens[first], whens[last], whens[last + 1])
            yield _Stretch(whens[first], whens[last], chance)


def stretch_chance(before_s: float, first_s: float, last_s: float, after_s: float) -> float:
    """How likely one comes on between the first two moments and goes off between the last two, in their order.

    They come by Poisson and stay as long as two exponential curves say.

    >>> round(stretch_chance(float("-inf"), 0, 0, float("inf")), 4) == round(0.8 * 465 / 3600, 4)
    True
    >>> stretch_chance(-60, 0, 600, float("inf")) < stretch_chance(-600, 0, 600, float("inf"))
    True
    """
    total = 0.0
    for share, mean_s in _STAYS:

        def left(on_s: float, off_s: float, mean_s: float = mean_s) -> float:
            return exp((on_s - off_s) / mean_s)

        after = left(first_s, after_s) - left(before_s, after_s)
        total += share * mean_s * (left(first_s, last_s) - left(before_s, last_s) - after)
    return _PER_HOUR * total / 3600


def _likeliest_s(case: Case) -> float:
    return min(max(case.report.at_s, case.moment.low_s), case.moment.high_s)


def _lift(case: Case, start_s: float, end_s: float) -> float:
    """How well the case's time fits the span; 0 where it hardly was then."""
    if end_s <= case.moment.low_s or start_s >= case.moment.high_s or case.moment.within(start_s, end_s) <= _HARDLY:
        return 0.0
    return case.moment.lift(start_s, end_s)


def silent_expected(record: MeetRecord) -> float:
    """How many are on air without a token over a whole meet, as usual."""
    if not record.airings:
        return 0.0
    lasted = max(airing.until_s for airing in record.airings) - min(airing.since_s for airing in record.airings)
    return _PER_HOUR * lasted / 3600


def _reached(case: Case, channels_mhz: Iterable[int]) -> Iterator[tuple[int, float]]:
    """What one on each of these frequencies would do to the case were its time right: (MHz, weight) where anything."""
    for mhz in channels_mhz:
        if abs(mhz - case.victim.mhz) <= FAR_MHZ:
            apart = away(mhz, REFERENCE_WIDTH_MHZ, case.victim.mhz, case.victim.width_mhz)
            if weight := carrier_chance(apart, nearer_db=PITS_DB) * case.told(beside(apart)):
                yield mhz, weight
