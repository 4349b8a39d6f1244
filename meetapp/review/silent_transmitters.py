"""Transmitters without a token as the reports show them: a curve over the band, an interval, whose it may be."""

from collections import defaultdict
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from meetapp.review.evidence import MeetRecord
from meetapp.review.hidden import Hidden
from meetapp.review.silent import SilentAir

_WORTH_TELLING = 0.1
_INTERVAL = 0.9
_PAD_MHZ = 2
"""The truth lies between the points of the grid, and a transmitter is off its channel by a MHz or so."""

_MAINLY = 0.2
_TOUCHES_SHARE = 0.2

Explained = tuple[Hidden, Mapping[int, float]]
"""A candidate and, for each report that it touches, how likely it disturbed it."""


@dataclass(frozen=True)
class _Candidate:
    """The same with what is asked again and again: how likely it is at most, and of which reports it is the cause
    mainly: of the likeliest and of all a fifth as likely."""

    hidden: Hidden
    explains: Mapping[int, float]

    @cached_property
    def chance(self) -> float:
        return max(self.explains.values())

    @cached_property
    def mainly(self) -> frozenset[int]:
        least = _MAINLY * self.chance
        return frozenset([number for number, share in self.explains.items() if share >= least])


@dataclass(frozen=True, slots=True)
class MayBe:
    """Whose transmitter it may have been, and the MHz that it would come up on."""

    pilot: int
    mhz: int
    share: float


@dataclass(frozen=True, slots=True)
class SilentTransmitter:
    """One, with the probability that it was there at all. The 90 % interval runs from `from_mhz` to `to_mhz`.

    `curve`: (MHz, share) over the band, shares sum to 1. `reports`: numbers of those it may explain. Times in seconds.
    """

    mhz: int
    from_mhz: int
    to_mhz: int
    probability: float
    start_s: float
    end_s: float
    curve: tuple[tuple[int, float], ...]
    reports: tuple[int, ...]
    may_be: tuple[MayBe, ...]


def silent_transmitters(record: MeetRecord, hidden: Sequence[Explained]) -> tuple[SilentTransmitter, ...]:
    """Those worth telling, likeliest first. Candidates tell of one where they explain a report together at times that
    overlap."""
    left = sorted(
        (_Candidate(*pair) for pair in hidden if pair[0].cause.kind == "no_token"),
        key=lambda each: (-each.chance, each.hidden.start_s, each.hidden.end_s, each.hidden.mhz),
    )
    air, found = SilentAir(record), []
    while left:
        seed = left[0]
        parts: tuple[list[_Candidate], list[_Candidate]] = [], []
        for other in left:
            overlaps = seed.hidden.start_s < other.hidden.end_s and other.hidden.start_s < seed.hidden.end_s
            parts[overlaps and not seed.mainly.isdisjoint(other.mainly)].append(other)
        left, mine = parts
        if _there(mine) >= _WORTH_TELLING:
            found.append(_transmitter(record, air, mine))
    return tuple(sorted(found, key=lambda each: (-each.probability, each.start_s, each.mhz)))


def _there(candidates: Sequence[_Candidate]) -> float:
    """How likely any of these was there: as likely as the report it explains best was its doing."""
    sums: dict[int, float] = defaultdict(float)
    for each in candidates:
        for number, share in each.explains.items():
            sums[number] += share
    return min(max(sums.values()), 1.0)


def _transmitter(record: MeetRecord, air: SilentAir, candidates: Sequence[_Candidate]) -> SilentTransmitter:
    curve: dict[int, float] = defaultdict(float)
    reports: dict[int, float] = defaultdict(float)
    total = sum(each.chance for each in candidates)
    for each in candidates:
        share = each.chance / total
        curve[each.hidden.mhz] += share
        for number in each.mainly:
            reports[number] += share
    low, high = interval(curve)
    best = max(sorted(curve), key=lambda mhz: curve[mhz])
    span = candidates[0].hidden
    return SilentTransmitter(
        mhz=best,
        from_mhz=low - _PAD_MHZ,
        to_mhz=high + _PAD_MHZ,
        probability=_there(candidates),
        start_s=span.start_s,
        end_s=span.end_s,
        curve=tuple(sorted(curve.items())),
        reports=tuple(sorted(number for number, share in reports.items() if share > _TOUCHES_SHARE)),
        may_be=_may_be(air, span, curve, {record.reports[number].pilot for number in reports}),
    )


def interval(curve: Mapping[int, float], share: float = _INTERVAL) -> tuple[int, int]:
    """The shortest stretch that holds this share of a curve; of equal ones the lowest.

    >>> interval({5700: 0.02, 5740: 0.5, 5745: 0.45, 5800: 0.03})
    (5740, 5745)
    """
    points = sorted(curve.items())
    wanted = share * sum(curve.values()) - 1e-12
    best, first, held = (points[0][0], points[-1][0]), 0, 0.0
    for mhz, part in points:
        held += part
        while held - points[first][1] >= wanted:
            held -= points[first][1]
            first += 1
        if held >= wanted and mhz - points[first][0] < best[1] - best[0]:
            best = points[first][0], mhz
    return best


def _may_be(
    air: SilentAir, span: Hidden, curve: Mapping[int, float], victims: Container[int | None]
) -> tuple[MayBe, ...]:
    """Who had just handed in or was about to receive, near the curve; those whose picture broke had another one on."""
    weights = {
        (pilot, mhz): weight * max((share for at, share in curve.items() if abs(at - mhz) <= 1), default=0.0)
        for pilot, mhz, weight in air.who_may(span.start_s, span.end_s)
        if pilot not in victims
    }
    total = sum(weights.values())
    ranked = sorted(((each, weight) for each, weight in weights.items() if weight > 0), key=lambda p: (-p[1], p[0]))
    return tuple(MayBe(pilot, mhz, weight / total) for (pilot, mhz), weight in ranked)
