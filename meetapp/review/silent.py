"""Candidates for a transmitter on air without a token: from when to when, and on which frequency."""

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import islice

from meetapp.review.case import Case
from meetapp.review.causes import NO_TOKEN
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.hidden import Hidden, is_felt, quiet_beside, silence
from meetapp.review.reach import FAR_MHZ, PITS_DB, away, carrier_chance
from meetapp.review.symptoms import beside
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_PER_HOUR = 0.35
"""How often somebody is on air without a token. From experience, no source; so are those below."""

_AROUND_S = 150.0
_LONGEST_S = 1800.0
_MEAN_S = 420.0
_TURNING_UP, _OWN_KINDS, _ANYWHERE = 0.45, 0.33, 0.22
"""Shares of where it is: on the wake channel of somebody who holds no token; on a channel that the pilots' kinds can
make; anywhere in the band."""

_GRID_MHZ = 4
_AFTER_LANDING_S, _BEFORE_LOAN_S = 600.0, 900.0
_WHILE_WAITING, _SUSPECTED, _CALLED = 0.25, 3.0, 4.0
_LEAST_SHARE = 1e-5
_HARDLY = 0.02
"""Of a report's time: what lies in a span with no more than this isn't looked at."""


class SilentAir:
    """Where a transmitter without a token may be at this meet, by who comes and goes."""

    def __init__(self, record: MeetRecord) -> None:
        self._record = record

    @cached_property
    def _wakes(self) -> dict[int, list[tuple[float, float, int]]]:
        """(from, to, MHz) for each pilot: when they weren't on air, and what their transmitter would have come up on in
        between. In the order they begin, which is the order they end."""
        own: dict[int, list[Airing]] = defaultdict(list)
        for airing in self._record.airings:
            if airing.pilot is not None:
                own[airing.pilot].append(airing)
        found = {}
        for pilot, airings in own.items():
            gaps = []
            if airings[0].wake_before_mhz is not None:
                gaps.append((float("-inf"), airings[0].since_s, airings[0].wake_before_mhz))
            for one, after in zip(airings, [*airings[1:], None], strict=True):
                until = after.since_s if after is not None else float("inf")
                gaps.append((one.until_s, until, one.mhz))
                if after is not None and after.wake_before_mhz not in (None, one.mhz):
                    gaps.append((one.until_s, until, after.wake_before_mhz or one.mhz))
            found[pilot] = [each for each in gaps if each[1] > each[0]]
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
        shares = dict(self._everywhere)
        coming = self.who_may(start_s, end_s)
        total = sum(weight for _pilot, _mhz, weight in coming)
        for _pilot, mhz, weight in coming:
            shares[mhz] = shares.get(mhz, 0.0) + _TURNING_UP * weight / total
        whole = sum(shares.values())
        return {mhz: share / whole for mhz, share in sorted(shares.items())}

    @cached_property
    def all_mhz(self) -> tuple[int, ...]:
        """Every frequency that `shares_mhz` may name."""
        named = [each.mhz for each in self._record.suspicions if each.mhz is not None]
        wakes = (mhz for gaps in self._wakes.values() for _from, _to, mhz in gaps)
        return tuple(sorted({*self._everywhere, *wakes, *named}))

    def who_may(self, start_s: float, end_s: float) -> list[tuple[int, int, float]]:
        """Who was not on air by the journal: (pilot, the MHz it would come up on, weight). Most likely who had just
        handed in, or was about to receive, or stands under a suspicion."""
        found: dict[tuple[int, int], float] = {}
        for pilot, gaps in self._wakes.items():
            for low, high, mhz in islice(gaps, bisect_right(gaps, start_s, key=lambda gap: gap[1]), None):
                if low >= end_s:
                    break
                is_soon = low > start_s - _AFTER_LANDING_S or high < end_s + _BEFORE_LOAN_S
                found[pilot, mhz] = max(found.get((pilot, mhz), 0.0), 1.0 if is_soon else _WHILE_WAITING)
        for each in self._record.suspicions:
            if each.pilot is not None and each.mhz is not None and each.since_s < end_s and each.until_s > start_s:
                found[each.pilot, each.mhz] = _SUSPECTED
        return [(pilot, mhz, weight) for (pilot, mhz), weight in sorted(found.items())]

    def alarm(self, start_s: float, end_s: float) -> float:
        """How much likelier one is on air where 'stray transmitter' was called at that time."""
        called = (each for each in self._record.suspicions if each.mhz is None)
        return _CALLED if any(each.since_s < end_s and each.until_s > start_s for each in called) else 1.0


def silent_episodes(record: MeetRecord, known: Sequence[Case], least: Mapping[int, float]) -> Iterator[Hidden]:
    """Every span and frequency that would explain a report or several. Order: by span, then MHz.

    `least`: for each report, what it takes beforehand to be worth a thought.
    """
    air = SilentAir(record)
    ordered = sorted(known, key=lambda case: (case.report.at_s, case.number))
    times = [case.report.at_s for case in ordered]
    reached = {case.number: tuple(_reached(case, air.all_mhz)) for case in known}
    for first, case in enumerate(ordered):
        last = bisect_left(times, times[first] + _LONGEST_S)
        ends = sorted({times[number] for number in range(first, last)})
        if first and times[first - 1] == times[first]:
            continue
        for end in ends:
            span = case.report.at_s - _AROUND_S, end + _AROUND_S
            yield from _in_span(record, air, ordered, reached, least, *span)


def _in_span(
    record: MeetRecord,
    air: SilentAir,
    known: Sequence[Case],
    reached: Mapping[int, Sequence[tuple[int, float]]],
    least: Mapping[int, float],
    start_s: float,
    end_s: float,
) -> Iterator[Hidden]:
    adds: dict[int, list[tuple[int, float]]] = defaultdict(list)
    places = set[int]()
    for case in known:
        if lift := _lift(case, start_s, end_s):
            places.update((case.place, *record.alongside[case.place]))
            for mhz, weight in reached[case.number]:
                adds[mhz].append((case.number, weight * lift))
    quiet = quiet_beside(record, start_s + _AROUND_S / 2, end_s - _AROUND_S / 2, sorted(places), -1)
    prior = span_chance(end_s - start_s) * air.alarm(start_s, end_s)
    for mhz, share in air.shares_mhz(start_s, end_s).items():
        if share >= _LEAST_SHARE and mhz in adds and is_felt(prior * share, adds[mhz], least):
            chance = prior * share * silence(quiet, mhz)
            if is_felt(chance, adds[mhz], least):
                yield Hidden(NO_TOKEN, mhz, start_s, end_s, chance, tuple(adds[mhz]), ("span", round(start_s)))


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


def span_chance(lasted_s: float) -> float:
    """How likely one is on air over about this span: seldom, and seldom for long.

    >>> span_chance(300) > span_chance(1200)
    True
    """
    rate = _PER_HOUR * 2 * _AROUND_S / 3600
    beyond = max(lasted_s - 2 * _AROUND_S, 0.0)
    return float(rate / (1 + beyond / _MEAN_S) ** 2)


def _reached(case: Case, channels_mhz: Iterable[int]) -> Iterator[tuple[int, float]]:
    """What one on each of these frequencies would do to the case were its time right: (MHz, weight) where anything."""
    for mhz in channels_mhz:
        if abs(mhz - case.victim.mhz) <= FAR_MHZ:
            apart = away(mhz, REFERENCE_WIDTH_MHZ, case.victim.mhz, case.victim.width_mhz)
            if weight := carrier_chance(apart, nearer_db=PITS_DB) * case.told(beside(apart)):
                yield mhz, weight
