"""How often each kind of trouble comes at this meet: from usual figures on, learned from what its own reports come to.

How often a picture breaks by itself, and by what the journal shows, is a mean over all that it may be
(`unknown_rates`); of what is hidden it is a mean likewise; of what comes again in one setting, that of a Gamma
distribution whose prior is worth so many events. Whoever explains again with these rates comes nearer to what agrees
with itself.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from math import exp

from meetapp.review.causes import Cause, CauseKind
from meetapp.review.reach import is_warned_of
from meetapp.review.unknown_rates import PRIORS, Known, mean_rates, silence_at

REPORT_SHARE = 0.4
"""How many of those whose picture breaks report it. From experience, no source, as are the next ones."""

_WORTH_SETTING: Mapping[CauseKind, float] = {kind: min(prior.alike, 2.0) for kind, prior in PRIORS.items()}
_HIDDEN_SPREAD = 0.7
"""How far hidden things may be rarer or oftener at one meet than usual: the standard deviation of the logarithm."""

_STEPS = tuple((step / 3, exp(step / 3), -((step / 3 / _HIDDEN_SPREAD) ** 2) / 2) for step in range(-9, 10))
"""The logarithm of a rate from a twentieth of the usual to twenty times it, the rate, and the log of its prior."""

_OF_OVERRIDES: Mapping[CauseKind, float] = {"too_close": 0.4, "product": 0.05, "neighbour": 0.3}
_WORTH_OVERRIDES = 1.5
"""Times the usual figures where somebody concerned was handed out in spite of a warning: whoever is asked for a reason
sees a risk that the set doesn't take, so what the set did in silence says little of it; how other overrides fared
does."""

_ONE_PILOTS = 0.5
"""Few pilots' kit breaks most pictures, again and again: how alike pilots are (the shape of a Gamma distribution)."""

_START_SHARE = 0.15
"""Before anything is explained so few of the reports count as broken by themselves. What agrees with itself may be more
than one answer: from many on, whatever is hidden is taken for one more of them."""

_BY_ITSELF: frozenset[CauseKind] = frozenset(("own_receiver", "unknown"))
ON_RECORD: frozenset[CauseKind] = frozenset(("too_close", "product", "neighbour"))
HIDDEN: tuple[CauseKind, ...] = ("wrong_channel", "no_token")

Shares = Mapping[Cause, float]

Setting = tuple[CauseKind, int, frozenset[int]]
"""A kind that the journal shows, the victim's channel, and the MHz of those who make it."""


@dataclass(frozen=True)
class Rates:
    """`means`: by report number, the mean of each rate by all other reports. `again`: how many times as likely as
    others' this pilot's picture breaks for their own reasons, as it did besides. `settings`: what each report gives
    to each setting. `found`, `expected`: of the hidden kinds, how many there were and were to be expected; `shares`:
    each report's part of that. `of_overrides`: by report number, how much oftener than usual each kind comes where
    there was an override.
    """

    means: Known
    again: Mapping[int, float]
    settings: Mapping[Setting, Mapping[int, float]] = field(default_factory=dict)
    found: Mapping[CauseKind, float] = field(default_factory=dict)
    expected: Mapping[CauseKind, float] = field(default_factory=dict)
    shares: Known = field(default_factory=dict)
    of_overrides: Known = field(default_factory=dict)

    def by_itself(self, number: int) -> float:
        """How likely a flight's picture breaks for no cause outside, told or not."""
        return self.means[number]["own_receiver"] / REPORT_SHARE

    def of_shown(self, number: int, setting: Setting, expected: float, *, is_override: bool = False) -> float:
        """How much more often than usual pictures break in this setting, by all that this report doesn't tell.

        What was there all day while nobody told of it is a weaker cause. Which of many products it was can't be told,
        so one report says nothing for another's.
        """
        kind = setting[0]
        if kind == "product":
            return self.of_products(number, is_override=is_override)(expected)
        rate, told_too = self._rate(number, kind, is_override=is_override), 0.0
        if here := self.settings.get(setting):
            told_too = sum(here.values()) - here.get(number, 0.0)
        return rate * _gamma(_WORTH_SETTING[kind], told_too, rate * expected)

    def of_products(self, number: int, *, is_override: bool) -> Callable[[float], float]:
        """The same of products, by how many reports are expected."""
        rate, worth = self._rate(number, "product", is_override=is_override), _WORTH_SETTING["product"]
        return lambda expected: rate * worth / (worth + rate * expected)

    def _rate(self, number: int, kind: CauseKind, *, is_override: bool) -> float:
        rate = self.means[number][kind]
        return max(rate, self.of_overrides.get(number, _OF_OVERRIDES)[kind]) if is_override else rate

    def of_hidden(self, kind: CauseKind, numbers: Iterable[int]) -> float:
        """How much more often than usual a hidden kind comes here, by all that these reports don't tell."""
        if kind not in self.found:
            return 1.0
        these = max((self.shares[number].get(kind, 0.0) for number in numbers), default=0.0)
        return _broad(max(self.found[kind] - these, 0.0), self.expected.get(kind, 0.0))


@dataclass(frozen=True)
class Told:
    """What rates are learned from: whose report each is and on which channel (by its number), how many flights there
    were, what the usual figures expect of each kind in each of its settings, and each loan's channel. `loans`: each
    report's loan; `overrides`: loans handed out in spite of a warning, and what the usual figures expect of those."""

    pilots: Mapping[int, int | None]
    mhz: Mapping[int, int]
    flights: int
    expected: Mapping[CauseKind, Sequence[float]]
    mhz_of: Mapping[int, int] = field(default_factory=dict)
    loans: Mapping[int, int] = field(default_factory=dict)
    overrides: frozenset[int] = frozenset()
    of_overrides: Mapping[CauseKind, float] = field(default_factory=dict)

    @cached_property
    def silence(self) -> tuple[float, ...]:
        """How likely all flights say nothing, at each point of the rates."""
        return silence_at({**self.expected, "own_receiver": [self.flights]})

    def is_override(self, number: int, cause: Cause) -> bool:
        """Whether somebody whom this cause of the report concerns was handed out in spite of a warning."""
        if not self.overrides or cause.kind not in ON_RECORD:
            return False
        if not is_warned_of(cause.kind, cause.away_mhz or 0):
            return False
        return self.loans.get(number) in self.overrides or not self.overrides.isdisjoint(cause.sources)


def first_rates(told: Told) -> Rates:
    """Before anything is explained: what the priors and all flights say, with a part of the reports by itself.

    >>> 0.005 < first_rates(Told({0: 1}, {0: 5740}, 100, {})).by_itself(0) < 0.05
    True
    """
    start: Known = {number: {"own_receiver": _START_SHARE, "unknown": 1 - _START_SHARE} for number in told.pilots}
    usual: Known = {number: {"own_receiver": PRIORS["own_receiver"].median} for number in told.pilots}
    means = mean_rates(start, usual, told.silence)
    return Rates(means, dict.fromkeys(told.pilots, 1.0))


def learned_rates(
    told: Told, before: Rates, explained: Mapping[int, Shares], found: Mapping[CauseKind, float]
) -> Rates:
    """The rates after the reports were explained with those `before`. `found`: how many hidden things of each kind."""
    by_kind = {number: _by_kind(shares) for number, shares in explained.items()}
    over = {number: _by_kind(_of_overrides(told, number, shares)) for number, shares in explained.items()}
    means = mean_rates(_without(by_kind, over), before.means, told.silence)
    own = {number: each.get("own_receiver", 0.0) for number, each in by_kind.items()}
    settings = _settings(told, explained)
    expected = {kind: sum(told.expected.get(kind, ())) for kind in HIDDEN}
    again = _again(own, told.pilots)
    return Rates(means, again, settings, found, expected, by_kind, _override_rates(told, over))


def _by_kind(shares: Shares) -> dict[CauseKind, float]:
    """The share of each kind; own and unknown as one, which the same rate makes."""
    found: dict[CauseKind, float] = defaultdict(float)
    for cause, share in shares.items():
        found["own_receiver" if cause.kind in _BY_ITSELF else cause.kind] += share
    return found


def _of_overrides(told: Told, number: int, shares: Shares) -> Shares:
    return {cause: share for cause, share in shares.items() if told.is_override(number, cause)}


def _without(by_kind: Known, over: Known) -> Known:
    """What the common rates are learned from: of overrides they say nothing."""
    return {
        number: {
            **{kind: share - over[number].get(kind, 0.0) for kind, share in kinds.items()},
            "unknown": sum(over[number].values()),
        }
        for number, kinds in by_kind.items()
    }


def _override_rates(told: Told, over: Known) -> Known:
    """By report number, what all others say."""
    found = {kind: sum(each.get(kind, 0.0) for each in over.values()) for kind in _OF_OVERRIDES}
    return {
        number: {
            kind: usual
            * _gamma(_WORTH_OVERRIDES, found[kind] - own.get(kind, 0.0), usual * told.of_overrides.get(kind, 0.0))
            for kind, usual in _OF_OVERRIDES.items()
        }
        for number, own in over.items()
    }


def _settings(told: Told, explained: Mapping[int, Shares]) -> dict[Setting, dict[int, float]]:
    found: dict[Setting, dict[int, float]] = defaultdict(dict)
    for number, shares in explained.items():
        for cause, share in shares.items():
            if cause.kind in ON_RECORD and cause.kind != "product":
                makers = frozenset(told.mhz_of[loan] for loan in cause.sources)
                here = found[cause.kind, told.mhz[number], makers]
                here[number] = here.get(number, 0.0) + share
    return dict(found)


@lru_cache(maxsize=1024)
def _broad(found: float, expected: float) -> float:
    """The mean of a rate of hidden things after so many, under a log-normal prior."""
    logs = [found * step - expected * rate + prior for step, rate, prior in _STEPS]
    top = max(logs)
    odds = [exp(each - top) for each in logs]
    return sum(odd * rate for odd, (_step, rate, _prior) in zip(odds, _STEPS, strict=True)) / sum(odds)


def _gamma(worth: float, found: float, expected: float) -> float:
    return (worth + found) / (worth + expected)


def _again(own: Mapping[int, float], pilots: Mapping[int, int | None]) -> dict[int, float]:
    """How many times as likely as others each report's pilot has trouble of their own, by what they told besides."""
    by_pilot: dict[int | None, float] = defaultdict(float)
    for number, share in own.items():
        by_pilot[pilots[number]] += share
    usual = sum(own.values()) / len(by_pilot) if by_pilot else 0.0
    found = {}
    for number, share in own.items():
        again = by_pilot[pilots[number]] - share if pilots[number] is not None else 0.0
        found[number] = (_ONE_PILOTS + again) / (_ONE_PILOTS + min(again, usual))
    return found
