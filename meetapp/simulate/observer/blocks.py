"""Which kinds of cause may stand behind reports, all read together: sampling over who belongs with whom.

Causes come as in a Poisson process, and each report has one. So a way to share the reports out among causes has the
weight of its blocks multiplied: the rate at which one cause makes just these reports. Gibbs sampling takes one report
at a time out of its block and puts it back by these weights; what is counted are the odds met on the way.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from random import Random

from meetapp.simulate.plan import KINDS, Kind

_FIRST_ROUNDS = 30
_ROUNDS = 150


@dataclass(frozen=True, slots=True)
class Hidden:
    """What a hidden cause of one kind may have been: drawn possibilities, each with its rate.

    start: the rate of each possibility with nobody reporting. factors: for each report the possibilities that explain
    it, and what it multiplies their rate by. beside: the same, where it is only ever told beside another report.
    """

    kind: Kind
    start: Sequence[float]
    factors: Sequence[Mapping[int, float]]
    beside: Sequence[Mapping[int, float]]


@dataclass(frozen=True, slots=True)
class Odds:
    """All that may stand behind each report.

    singles: rates of causes that make one report. hidden: of those that may make several. overrides: for each loan by
    override the odds, against its being harmless, that it made this one report by that kind; it makes one at most.
    """

    singles: Sequence[Mapping[Kind, float]]
    hidden: Sequence[Hidden] = ()
    overrides: Sequence[Mapping[tuple[Kind, int], float]] = ()


@dataclass(slots=True, eq=False)
class _Block:
    """One cause with its reports. `hidden`: which of the hidden kinds it is of; None: a loan by override."""

    kind: Kind
    hidden: Hidden | None
    members: set[int] = field(default_factory=set)
    rates: dict[int, float] = field(default_factory=dict)
    override: int | None = None


@dataclass(frozen=True, slots=True)
class _Choice:
    weight: float
    kind: Kind
    block: _Block | None = None
    hidden: Hidden | None = None
    override: int | None = None


def kind_weights(odds: Odds, rng: Random) -> list[dict[Kind, float]]:
    """For each report the weight of each kind; each row sums to 1.

    >>> row = kind_weights(Odds([{"own_receiver": 3.0, "unknown": 1.0}]), Random(1))[0]
    >>> row["own_receiver"], row["unknown"], row["product"]
    (0.75, 0.25, 0.0)
    """
    sampling = _Sampling(odds, rng)
    for number in range(_FIRST_ROUNDS + _ROUNDS):
        sampling.round(is_counted=number >= _FIRST_ROUNDS)
    return [{kind: row.get(kind, 0.0) / max(1e-300, sum(row.values())) for kind in KINDS} for row in sampling.counted]


class _Sampling:
    def __init__(self, odds: Odds, rng: Random) -> None:
        self._odds, self._rng = odds, rng
        count = len(odds.singles)
        self.counted: list[dict[Kind, float]] = [{} for _ in range(count)]
        self._blocks: list[_Block | None] = [None] * count
        self._alone = [
            [sum(each.start[n] * factor for n, factor in each.factors[report].items()) for each in odds.hidden]
            for report in range(count)
        ]

    def round(self, *, is_counted: bool) -> None:
        """Take each report out and put it back once."""
        order = list(range(len(self._blocks)))
        self._rng.shuffle(order)
        for report in order:
            left = self._take_out(report)
            # a block that can't be without this report takes it back
            choices = [_Choice(1.0, left.kind, left)] if left else self._choices(report)
            total = sum(choice.weight for choice in choices)
            if total <= 0:
                # nothing that this observer drew explains the report: then it is nobody's
                self.counted[report]["unknown"] = self.counted[report].get("unknown", 0) + is_counted
                continue
            if is_counted:
                row = self.counted[report]
                for choice in choices:
                    row[choice.kind] = row.get(choice.kind, 0) + choice.weight / total
            self._put(report, self._rng.choices(choices, [choice.weight for choice in choices])[0])
        for block in self._hidden_blocks():
            self._draw_kind(block)

    def _choices(self, report: int) -> list[_Choice]:
        found = [_Choice(rate, kind) for kind, rate in self._odds.singles[report].items()]
        for each, alone in zip(self._odds.hidden, self._alone[report], strict=True):
            found.append(_Choice(alone, each.kind, hidden=each))
        for block in self._hidden_blocks():
            assert block.hidden is not None
            if weight := _gain(block.hidden, block.rates, report):
                found.append(_Choice(weight, block.kind, block=block))
        taken = {block.override for block in self._blocks if block}
        for number, ways in enumerate(self._odds.overrides):
            if number not in taken:
                found += [
                    _Choice(weight, kind, override=number) for (kind, which), weight in ways.items() if which == report
                ]
        return found

    def _put(self, report: int, choice: _Choice) -> None:
        if choice.block is not None:
            block = choice.block
        elif choice.hidden is not None or choice.override is not None:
            block = _Block(choice.kind, choice.hidden, override=choice.override)
        else:
            return
        block.members.add(report)
        self._blocks[report] = block
        self._reckon(block)

    def _take_out(self, report: int) -> _Block | None:
        """Take a report out of its block; gives the block where its other reports can't be by themselves."""
        block = self._blocks[report]
        self._blocks[report] = None
        if block is None:
            return None
        block.members.discard(report)
        if not block.members:
            return None
        self._reckon(block)
        return None if sum(block.rates.values()) > 0 else block

    def _hidden_blocks(self) -> list[_Block]:
        return list({id(block): block for block in self._blocks if block and block.hidden}.values())

    def _draw_kind(self, block: _Block) -> None:
        """Draw anew which hidden kind a whole block is of: one by one its reports would seldom get there."""
        ways = [(each, _rates(each, block.members)) for each in self._odds.hidden]
        weights = [sum(rates.values()) for _, rates in ways]
        if sum(weights) > 0:
            block.hidden, block.rates = self._rng.choices(ways, weights)[0]
            block.kind = block.hidden.kind

    def _reckon(self, block: _Block) -> None:
        if block.hidden is not None:
            block.rates = _rates(block.hidden, block.members)


def _rates(hidden: Hidden, members: set[int]) -> dict[int, float]:
    """The rate of each possibility that makes just these reports."""
    rates: dict[int, float] | None = None
    for report in sorted(members, key=lambda each: len(hidden.factors[each])):
        factors = dict(hidden.factors[report])
        if len(members) > 1:
            for number, factor in hidden.beside[report].items():
                factors[number] = factors.get(number, 0) + factor
        if rates is None:
            rates = {n: hidden.start[n] * factor for n, factor in factors.items()}
        else:
            rates = {n: rate * factors[n] for n, rate in rates.items() if n in factors}
    return rates or {}


def _gain(hidden: Hidden, rates: Mapping[int, float], report: int) -> float:
    """By what the rate of a block changes when a report joins it."""
    total = sum(rates.values())
    if total <= 0:
        return 0.0
    factors, beside = hidden.factors[report], hidden.beside[report]
    few = rates if len(rates) < len(factors) else factors
    joined = sum(rates[n] * factors[n] for n in few if n in factors and n in rates)
    return (joined + sum(rates[n] * factor for n, factor in beside.items() if n in rates)) / total
