"""How likely a broken picture is told as a report says, by the people of `simulate/people.py`."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import erf, exp, inf, pi, sqrt

from meetapp.simulate.day import Loan, minutes
from meetapp.simulate.observer.gathering import Looks, Strike
from meetapp.simulate.people import LOOKS, MEAN_S_TO_THE_DESK, NAMES_NOBODY, ROUNDED_WINDOW_S, Told
from meetapp.simulate.plan import MeetPlan
from meetapp.simulate.record import Record

_LEAST = 1e-9


@dataclass(frozen=True)
class ToldOdds:
    """The odds of all reports of a record."""

    plan: MeetPlan
    record: Record

    @cached_property
    def of_loan(self) -> Mapping[int, Sequence[tuple[int, float]]]:
        """By loan: the reports that may be of it, each with the odds of who tells it and when at the desk."""
        found: dict[int, list[tuple[int, float]]] = {number: [] for number in self.record.loans}
        for report, told in enumerate(self.record.told):
            for number, loan in self.record.loans.items():
                weight = self._entered(told, loan)
                if weight > _LEAST and self.time(report, *self.spans[number]) > _LEAST:
                    found[number].append((report, weight))
        return found

    @cached_property
    def _first_out(self) -> datetime:
        return min(loan.out_at for loan in self.record.loans.values())

    @cached_property
    def spans(self) -> Mapping[int, tuple[float, float]]:
        """By loan: from when to when it is out, in minutes since the opening."""
        return {number: (minutes(loan.out_at), minutes(loan.in_at)) for number, loan in self.record.loans.items()}

    def _entered(self, told: Told, loan: Loan) -> float:
        if told.pilot_id is not None and told.pilot_id != loan.pilot_id:
            return 0.0
        names = NAMES_NOBODY if told.pilot_id is None else 1 - NAMES_NOBODY
        waited_s = (told.entered_at - loan.in_at).total_seconds()
        if waited_s < -1:
            return 0.0
        at_close = 1 if told.entered_at >= self.record.closed_at else 1 / MEAN_S_TO_THE_DESK
        return names * at_close * exp(-max(0.0, waited_s) / MEAN_S_TO_THE_DESK)

    def told(self, report: int, strike: Strike) -> float:
        """The odds of the told minute, look and place where this picture broke."""
        return self.time(report, strike.start, strike.end) * self.look(report, strike.looks)

    def time(self, report: int, start: float, end: float) -> float:
        """The odds of the told minute where the picture broke at any moment between two (minutes since the opening)."""
        told = self.record.told[report]
        step = 5.0 if told.window_s == ROUNDED_WINDOW_S else 1.0
        minute = minutes(told.happened_at)
        low, high = minute - step / 2, minute + step / 2
        if told.happened_at == told.entered_at:
            high = inf
        if told.happened_at == self._first_out:
            low = -inf
        return _below(high, start, end, self.plan) - _below(low, start, end, self.plan)

    def look(self, report: int, looks: Looks) -> float:
        """The odds of the told look and place."""
        told = self.record.told[report]
        wrong = self.plan.wrong_look_share
        found = 0.0
        for (look, place), share in looks.items():
            if told.pilot_id is None or place == told.place:
                found += share * ((1 - wrong) * (look == told.look) + wrong / len(LOOKS))
        return found


def _below(limit: float, start: float, end: float, plan: MeetPlan) -> float:
    """The odds that a moment drawn between two, with its error, falls below a limit."""
    if limit in (inf, -inf):
        return 1.0 if limit > 0 else 0.0
    spread = max(0.01, plan.time_error_min)
    length = max(1e-3, end - start)
    high, low = ((limit - each - plan.clock_shift_min) / spread for each in (start, start + length))
    return spread * (_rising(high) - _rising(low)) / length


def _rising(x: float) -> float:
    """The integral of the normal distribution function up to x.

    >>> round(_rising(0), 4), round(_rising(9), 4), round(_rising(-9), 4)
    (0.3989, 9.0, 0.0)
    """
    return x * (1 + erf(x / sqrt(2))) / 2 + exp(-x * x / 2) / sqrt(2 * pi)
