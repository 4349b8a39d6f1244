"""From what a hidden cause would break to the rates at which it makes just these reports."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from meetapp.simulate.day import Loan, minutes
from meetapp.simulate.observer.blocks import Hidden
from meetapp.simulate.plan import Kind
from meetapp.simulate.record import Record

Looks = Mapping[tuple[str, str], float]
"""Shares of (look, place) of what a kind of cause breaks."""
_LEAST = 1e-9


@dataclass(frozen=True, slots=True)
class Strike:
    """A picture that would break between two times (minutes since the opening) and be told; how often, its looks."""

    loan_id: int
    share: float
    start: float
    end: float
    looks: Looks


class Tellings(Protocol):
    """How people tell, for the reports of one record."""

    @property
    def of_loan(self) -> Mapping[int, Sequence[tuple[int, float]]]:
        """By loan: the reports that may be of it, each with the odds of who tells it and when at the desk."""
        ...

    def told(self, report: int, strike: Strike) -> float:
        """The odds of the told minute, look and place where this picture broke."""
        ...


@dataclass(frozen=True, slots=True)
class Gathered:
    """The possibilities that touch a report. `shown`: how often in all some picture breaks and is told."""

    hidden: Hidden
    shown: float


def gather(
    kind: Kind,
    tellings: Tellings,
    reports: int,
    possible: Iterable[tuple[float, Sequence[Strike], Strike | None]],
) -> Gathered:
    """The possibilities of one kind: weight, the pictures broken, and one that is told beside another only."""
    start: list[float] = []
    factors: list[dict[int, float]] = [{} for _ in range(reports)]
    beside: list[dict[int, float]] = [{} for _ in range(reports)]
    shown = 0.0
    for weight, strikes, own in possible:
        quiet = 1.0
        touched: dict[int, float] = {}
        for strike in strikes:
            quiet *= 1 - strike.share
            _touch(tellings, strike, touched)
        shown += weight * (1 - quiet)
        if not touched:
            continue
        if own is not None:
            quiet *= 1 - own.share
            near: dict[int, float] = {}
            _touch(tellings, own, near)
            for report, factor in near.items():
                beside[report][len(start)] = factor
        for report, factor in touched.items():
            factors[report][len(start)] = factor
        start.append(weight * quiet)
    return Gathered(Hidden(kind, start, [_without_the_least(each) for each in factors], beside), shown)


def _touch(tellings: Tellings, strike: Strike, touched: dict[int, float]) -> None:
    for report, entered in tellings.of_loan[strike.loan_id]:
        odds = entered * tellings.told(report, strike) * strike.share / (1 - strike.share)
        if odds > _LEAST:
            touched[report] = touched.get(report, 0) + odds


def _without_the_least(factors: dict[int, float]) -> dict[int, float]:
    """What multiplies by less than a thousandth of the most is left out: it never counts, and there is much of it."""
    least = max(factors.values(), default=0) / 1000
    return {number: factor for number, factor in factors.items() if factor > least}


class LoansByMinute:
    """The loans by the minutes in which they are out."""

    def __init__(self, record: Record) -> None:
        self._found: dict[int, list[tuple[float, float, Loan]]] = {}
        for loan in record.loans.values():
            out, back = minutes(loan.out_at), minutes(loan.in_at)
            for minute in range(int(out), int(back) + 1):
                self._found.setdefault(minute, []).append((out, back, loan))

    def at_once(self, start: float, end: float) -> list[tuple[float, float, Loan]]:
        """The loans that are out at some time between two minutes, with from when to when."""
        near = {
            each[2].loan_id: each
            for minute in range(int(start) - 1, int(end) + 1)
            for each in self._found.get(minute, ())
            if each[0] < end and each[1] > start
        }
        return list(near.values())
