"""Something that the journal doesn't show: a transmitter on another channel than given, or on air without a token.

Each candidate says how likely it is beforehand, what it would do to each report, and what is said by those beside it
who reported nothing.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log

from meetapp.review.causes import Cause
from meetapp.review.evidence import MeetRecord
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import FAR_MHZ, away, carrier_chance, lasting


@dataclass(frozen=True)
class Hidden:
    """One candidate. `prior`: its odds beforehand, the silence of others counted. `adds`: (case number, weight) for
    each report it may explain, as in `known_causes`. `rules_out`: at most one of those with this key is true.
    """

    cause: Cause
    mhz: int
    start_s: float
    end_s: float
    prior: float
    adds: tuple[tuple[int, float], ...]
    rules_out: tuple[str, int]

    @property
    def numbers(self) -> tuple[int, ...]:
        """Of the reports it may explain."""
        return tuple([number for number, _weight in self.adds])

    def odds(self, rate: float) -> float:
        """Its odds beforehand where such things come so much more often than usual."""
        return self.prior if rate == 1 else min(self.prior * rate, 0.9)


def added_up(adds: Iterable[tuple[int, float]]) -> tuple[tuple[int, float], ...]:
    """What something hidden would do to each report: one that may be about several loans stands there once.

    >>> added_up([(3, 0.25), (1, 0.5), (3, 0.5)])
    ((3, 0.75), (1, 0.5))
    """
    every = tuple(adds)
    found = dict(every)
    if len(found) == len(every):
        return every
    found = dict.fromkeys(found, 0.0)
    for number, weight in every:
        found[number] += weight
    return tuple(found.items())


def is_felt(prior: float, adds: Iterable[tuple[int, float]], least: Mapping[int, float] | Sequence[float]) -> bool:
    """Whether it may matter to any report at all. `least`: for each report, what it takes."""
    for number, weight in adds:  # noqa: SIM110 -- three times as quick as any(): asked of every candidate
        if prior * weight > least[number]:
            return True
    return False


QuietFlights = Mapping[tuple[int, float], Sequence[float]]
"""Flights without a report beside a span, by their MHz and width: how much of a flight each was beside it."""


def quiet_beside(record: MeetRecord, start_s: float, end_s: float, places: Iterable[int], but: int) -> QuietFlights:
    """Those among `places` who were on air in the span and reported nothing (the loan `but` left out)."""
    found: dict[tuple[int, float], list[float]] = defaultdict(list)
    airings, reported = record.airings, record.reported_loans
    for place in places:
        airing = airings[place]
        if airing.loan == but or airing.loan in reported:
            continue
        together = min(airing.until_s, end_s) - max(airing.since_s, start_s)
        if together > 0:
            found[airing.mhz, airing.width_mhz].append(lasting(together))
    return found


def silence(quiet: QuietFlights, mhz: int, width_mhz: float = 20) -> float:
    """How likely it is that all of these say nothing with a transmitter on this frequency: many never report.

    >>> silence({(5800, 20): [1]}, 5800) < silence({(5800, 20): [1]}, 5812) < 1
    True
    """
    likely = 1.0
    for (channel_mhz, channel_width), shares in quiet.items():
        if told := _told_chance(mhz, width_mhz, channel_mhz, channel_width):
            for share in shares:
                likely *= 1 - told * share
    return likely


@lru_cache(maxsize=32768)
def _told_chance(mhz: int, width_mhz: float, channel_mhz: int, channel_width: float) -> float:
    """How likely a whole flight on this channel is disturbed, and tells."""
    apart = away(mhz, width_mhz, channel_mhz, channel_width)
    return REPORT_SHARE * carrier_chance(apart) if apart <= FAR_MHZ else 0.0


def log_odds(odds: float) -> float:
    """The logarithm, also of next to nothing."""
    return log(max(odds, 1e-300))
