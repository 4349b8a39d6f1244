"""Something that the journal doesn't show: a transmitter on another channel than given, or on air without a token.

Each candidate says how likely it is beforehand, what it would do to each report, and what is said by those beside it
who reported nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

from meetapp.review.case import Case
from meetapp.review.causes import Cause
from meetapp.review.evidence import Airing, MeetRecord
from meetapp.review.rates import REPORT_SHARE
from meetapp.review.reach import FAR_MHZ, away, carrier_chance, lasting


@dataclass(frozen=True, slots=True)
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

    def times(self, rate: float) -> "Hidden":
        """The same where such things come so much more often."""
        if rate == 1:
            return self
        prior = min(self.prior * rate, 0.9)
        return Hidden(self.cause, self.mhz, self.start_s, self.end_s, prior, self.adds, self.rules_out)


@dataclass(frozen=True, slots=True)
class QuietFlight:
    """A flight without a report beside a span: its channel, and how much of a flight it was beside it."""

    mhz: int
    width_mhz: float
    share: float


def quiet_beside(
    record: MeetRecord, start_s: float, end_s: float, places: Sequence[int], but: int
) -> list[QuietFlight]:
    """Those among `places` who were on air in the span and reported nothing (the loan `but` left out)."""
    found = []
    for place in places:
        airing = record.airings[place]
        together = min(airing.until_s, end_s) - max(airing.since_s, start_s)
        if together > 0 and airing.loan != but and airing.loan not in record.reported_loans:
            found.append(QuietFlight(airing.mhz, airing.width_mhz, lasting(together)))
    return found


def silence(quiet: Sequence[QuietFlight], mhz: int, width_mhz: float = 20) -> float:
    """How likely it is that all of these say nothing with a transmitter on this frequency: many never report.

    >>> silence([QuietFlight(5800, 20, 1)], 5800) < silence([QuietFlight(5800, 20, 1)], 5812) < 1
    True
    """
    likely = 1.0
    for flight in quiet:
        apart = away(mhz, width_mhz, flight.mhz, flight.width_mhz)
        if apart <= FAR_MHZ:
            likely *= 1 - REPORT_SHARE * carrier_chance(apart) * flight.share
    return likely


def overlaps(airing: Airing, case: Case) -> bool:
    """Whether it was on air at any moment that the case may mean."""
    return airing.since_s < case.moment.high_s and airing.until_s > case.moment.low_s


def surplus(hidden: Hidden, base: Sequence[float]) -> float:
    """How much it explains beyond what its reports would give one by one.

    >>> lone = Hidden(Cause("no_token"), 5800, 0, 60, 0.1, ((0, 1.0),), ("x", 0))
    >>> surplus(lone, [1.0])
    0.1
    """
    together = 1.0
    for number, weight in hidden.adds:
        together *= 1 + weight / base[number]
    return hidden.prior * (together - 1)


def log_odds(odds: float) -> float:
    """The logarithm, also of next to nothing."""
    return log(max(odds, 1e-300))
