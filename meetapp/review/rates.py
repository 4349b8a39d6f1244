"""How often each kind of trouble comes at this meet: from usual figures on, learned from what its own reports come to.

Each rate is the mean of a Gamma distribution: its prior is worth so many events, and what the reports are explained by
counts on top. Whoever explains again with these rates comes nearer to what agrees with itself.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from meetapp.review.causes import Cause, CauseKind

REPORT_SHARE = 0.4
"""How many of those whose picture breaks report it. From experience, no source, as are the next ones."""

_USUAL_EVENTS, _USUAL_FLIGHTS = 1.0, 50.0
"""Pictures that break for no cause outside and are told: one in fifty flights, known about as well as from one."""

_START_SHARE = 0.6
"""Before anything is explained: so many of the reports count as broken by themselves."""

_WORTH_EVENTS, _WORTH_ON_RECORD, _WORTH_HERE = 1.5, 0.3, 0.4
_ONE_PILOTS = 2.0
"""Some pilots' kit breaks pictures again and again: how alike pilots are (the shape of a Gamma distribution)."""

_BY_ITSELF: frozenset[CauseKind] = frozenset(("own_receiver", "unknown"))

ON_RECORD: tuple[CauseKind, ...] = ("too_close", "product", "neighbour")
"""What was there all day is innocent to begin with."""

HIDDEN: tuple[CauseKind, ...] = ("wrong_channel", "no_token")

Shares = Mapping[Cause, float]
_NOTHING: Shares = {}


@dataclass(frozen=True)
class Rates:
    """`by_itself`: by report number, how likely a flight's picture breaks for no cause outside, by all other reports.
    `on_record`: by report number, how much more often than usual the kinds come that the journal shows, likewise.
    `found`, `expected`: of the hidden kinds, how many there were and were to be expected; `shares`: each report's part.
    """

    by_itself: Mapping[int, float] = field(default_factory=dict)
    on_record: Mapping[int, Mapping[CauseKind, float]] = field(default_factory=dict)
    found: Mapping[CauseKind, float] = field(default_factory=dict)
    expected: Mapping[CauseKind, float] = field(default_factory=dict)
    shares: Mapping[int, Mapping[CauseKind, float]] = field(default_factory=dict)

    def of_hidden(self, kind: CauseKind, numbers: Iterable[int]) -> float:
        """How much more often than usual a hidden kind comes here, by all that these reports don't tell."""
        if kind not in self.found:
            return 1.0
        these = max((self.shares[number].get(kind, 0.0) for number in numbers), default=0.0)
        return _gamma(_WORTH_EVENTS, max(self.found[kind] - these, 0.0), self.expected.get(kind, 0.0))


@dataclass(frozen=True)
class Told:
    """What rates are learned from: whose report each is and on which channel (by its number), how many flights there
    were, and what the usual figures expect of each kind, and of products on each channel."""

    pilots: Mapping[int, int | None]
    mhz: Mapping[int, int]
    flights: int
    expected: Mapping[CauseKind, float]
    products: Mapping[int, float]


def first_rates(told: Told) -> Rates:
    """Before anything is explained.

    >>> round(first_rates(Told({0: 1}, {0: 5740}, 100, {}, {})).by_itself[0], 4)
    0.0167
    """
    by_itself = _by_itself(dict.fromkeys(told.pilots, _START_SHARE), told.pilots, told.flights)
    return Rates(by_itself, _on_record(told, dict.fromkeys(told.pilots, _NOTHING)))


def learned_rates(told: Told, explained: Mapping[int, Shares], found: Mapping[CauseKind, float]) -> Rates:
    """The rates after the reports were explained once. `found`: how many events of each kind they come to."""
    own = {
        number: sum(share for cause, share in shares.items() if cause.kind in _BY_ITSELF)
        for number, shares in explained.items()
    }
    shares: dict[int, dict[CauseKind, float]] = {
        number: {kind: _of_kind(each, kind) for kind in HIDDEN}
        for number, each in explained.items()
    }
    by_itself = _by_itself(own, told.pilots, told.flights)
    return Rates(by_itself, _on_record(told, explained), found, told.expected, shares)


def _on_record(told: Told, explained: Mapping[int, Shares]) -> dict[int, dict[CauseKind, float]]:
    """What all other reports say of each kind, and of products on this report's channel."""
    found: dict[int, dict[CauseKind, float]] = {number: {} for number in explained}
    for kind in ON_RECORD:
        shares = {number: _of_kind(each, kind) for number, each in explained.items()}
        total = sum(shares.values())
        for number, share in shares.items():
            found[number][kind] = _gamma(_WORTH_ON_RECORD, total - share, told.expected.get(kind, 0.0))
    made: dict[int, float] = defaultdict(float)
    for number, each in explained.items():
        made[told.mhz[number]] += _of_kind(each, "product")
    for number, each in explained.items():
        others, mhz = made[told.mhz[number]] - _of_kind(each, "product"), told.mhz[number]
        found[number]["product"] *= _gamma(_WORTH_HERE, others, told.products.get(mhz, 0.0))
    return found


def _gamma(worth: float, found: float, expected: float) -> float:
    return (worth + found) / (worth + expected)


def _of_kind(shares: Shares, kind: CauseKind) -> float:
    return sum(share for cause, share in shares.items() if cause.kind == kind)


def _by_itself(own: Mapping[int, float], pilots: Mapping[int, int | None], flights: int) -> dict[int, float]:
    total = sum(own.values())
    by_pilot: dict[int | None, float] = defaultdict(float)
    for number, share in own.items():
        by_pilot[pilots[number]] += share
    usual = total / len(by_pilot) if by_pilot else 0.0
    found = {}
    for number, share in own.items():
        rate = (_USUAL_EVENTS + total - share) / (_USUAL_FLIGHTS + flights)
        again = by_pilot[pilots[number]] - share if pilots[number] is not None else 0.0
        found[number] = rate / REPORT_SHARE * (_ONE_PILOTS + again) / (_ONE_PILOTS + min(again, usual))
    return found
