"""What a meet's record holds that a clash may be explained with: frozen facts, times in seconds, frequencies in MHz.

Times are seconds since any one moment, the same for the whole record: only differences count. Undone rows are left out.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import islice
from typing import Literal

from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.floors import Floors

Look = Literal["lines", "other_picture", "gone", "colour", "unsure"]
Place = Literal["pits", "line", "flight", "unsure"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of transmitter: what it can be set to, and how it goes wrong."""

    ref: int
    name: str
    channels_mhz: tuple[int, ...]
    is_digital: bool = False
    moves_by_itself: bool = False
    sets_silently: bool = False


@dataclass(frozen=True, slots=True)
class Airing:
    """One setting of one loan, on air by the journal from `since_s` up to `until_s`; `wake_before_mhz`: what it came up
    on before it was set, None where nobody knew. `token`, `pilot` None: a ground transmitter. One slip away from what
    it was given, by its label and as far as the kind can make it: `step_beside_mhz` in the same plan, `same_number_mhz`
    in another one. `is_override`: handed out in spite of a warning, with a reason."""

    loan: int
    token: int | None
    pilot: int | None
    mhz: int
    since_s: float
    until_s: float
    width_mhz: float = 20
    power_mw: float | None = None
    wake_before_mhz: int | None = None
    kind: Kind | None = None
    step_beside_mhz: tuple[int, ...] = ()
    same_number_mhz: tuple[int, ...] = ()
    is_override: bool = False

    @property
    def carrier(self) -> Carrier:
        """The same for the sums."""
        return Carrier(self.mhz, self.width_mhz)

    def away_s(self, at_s: float) -> float:
        """How long before it began, or after it ended, this is; 0 while it lasts."""
        return max(self.since_s - at_s, at_s - self.until_s, 0.0)


@dataclass(frozen=True, slots=True)
class Reported:
    """A clash report. `window_s`: how far its time may be off by the reporter's word. `entered_s`: it was told then.
    `lasted_s`: how long it was, None: unsure."""

    ref: int
    pilot: int | None
    loan: int | None
    at_s: float
    window_s: float
    look: Look
    place: Place
    entered_s: float
    lasted_s: float | None = None

    @property
    def is_anybodys(self) -> bool:
        """Whether nobody said whose picture it was."""
        return self.pilot is None and self.loan is None


@dataclass(frozen=True, slots=True)
class Suspicion:
    """Somebody who may have been on air without a token by the journal: their tag was missing, say. `pilot` and `mhz`
    None: 'stray transmitter' was called, nobody knows whose."""

    since_s: float
    until_s: float
    pilot: int | None = None
    mhz: int | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """A stay in the waiting line that ended; `was_served`: with a token."""

    pilot: int
    joined_s: float
    left_s: float
    was_served: bool


@dataclass(frozen=True, slots=True)
class SetToken:
    """A token of the meet's set."""

    ref: int
    label: str
    mhz: int


@dataclass(frozen=True, slots=True)
class Flier:
    """A pilot of the meet with the kinds of their transmitters."""

    ref: int
    name: str
    kinds: tuple[Kind, ...]


@dataclass(frozen=True)
class MeetRecord:
    """Everything that a meet is explained with. Airings are in the order they began. `pauses`: (from, to), in which no
    waiting counts. `allowed_mhz`: (low, high) of the band profile's stretches, empty where it has none.
    """

    airings: tuple[Airing, ...]
    reports: tuple[Reported, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    stays: tuple[Stay, ...] = ()
    tokens: tuple[SetToken, ...] = ()
    fliers: tuple[Flier, ...] = ()
    suspicions: tuple[Suspicion, ...] = ()
    pauses: tuple[tuple[float, float], ...] = ()
    floors: Floors | None = None
    allowed_mhz: tuple[tuple[int, int], ...] = ()
    pull_mhz: int = 2

    @cached_property
    def alongside(self) -> tuple[tuple[int, ...], ...]:
        """For each airing, by its place, the places of all that were on air at some moment with it."""
        return tuple(tuple([other for other, _seconds in each]) for each in self.together)

    @cached_property
    def together(self) -> tuple[tuple[tuple[int, float], ...], ...]:
        """The same with how long both were on air at once, in seconds."""
        order = sorted(range(len(self.airings)), key=lambda place: self.airings[place].since_s)
        found: list[list[tuple[int, float]]] = [[] for _ in self.airings]
        for number, place in enumerate(order):
            one = self.airings[place]
            for later in islice(order, number + 1, None):
                other = self.airings[later]
                if other.since_s >= one.until_s:
                    break
                if other.loan != one.loan:
                    seconds = _together_s(one, other)
                    found[place].append((later, seconds))
                    found[later].append((place, seconds))
        return tuple(tuple(sorted(each)) for each in found)

    def others_beside(self, place: int) -> Iterator[int]:
        """The places of those that were on air at some moment with it and aren't of the same pilot."""
        own = self.airings[place].pilot
        return (other for other in self.alongside[place] if own is None or self.airings[other].pilot != own)

    @cached_property
    def by_pilot(self) -> Mapping[int, Sequence[Airing]]:
        """Each pilot's airings, in the order they began."""
        found: dict[int, list[Airing]] = defaultdict(list)
        for airing in self.airings:
            if airing.pilot is not None:
                found[airing.pilot].append(airing)
        return dict(found)

    def between(self, start_s: float, end_s: float) -> list[int]:
        """The places of all that were on air at some moment between these."""
        began, longest_s = self._began
        low, high = bisect_left(began, start_s - longest_s), bisect_left(began, end_s)
        return [place for place in range(low, high) if self.airings[place].until_s > start_s]

    @cached_property
    def _began(self) -> tuple[list[float], float]:
        """When each came on, and how long one was on at most."""
        longest = max((airing.until_s - airing.since_s for airing in self.airings), default=0.0)
        return [airing.since_s for airing in self.airings], longest

    @cached_property
    def usual_s(self) -> float:
        """How long somebody is on air as a rule: the median."""
        lasted = sorted(airing.until_s - airing.since_s for airing in self.airings)
        return lasted[len(lasted) // 2] if lasted else 0.0

    @cached_property
    def loans(self) -> int:
        """How many loans there were."""
        return len({airing.loan for airing in self.airings})

    @cached_property
    def reported_loans(self) -> frozenset[int]:
        """The loans whose pilots reported something: that the report names, else the pilot's nearest to its time."""
        return frozenset(loan for report in self.reports if (loan := self._loan_of(report)) is not None)

    def _loan_of(self, report: Reported) -> int | None:
        if report.loan is not None or report.pilot is None:
            return report.loan
        own = ((airing.away_s(report.at_s), airing.loan) for airing in self.airings if airing.pilot == report.pilot)
        return min(own, default=(0, None))[1]


def _together_s(one: Airing, other: Airing) -> float:
    """How long both were on air at once, in seconds; negative: so long apart."""
    return min(one.until_s, other.until_s) - max(one.since_s, other.since_s)
