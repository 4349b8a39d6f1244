"""The ideal observer of the world by rule: it knows the tables and sees the record."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from math import inf
from random import Random

from meetapp.simulate.by_rule.clashes import Transmitter, clashes, struck
from meetapp.simulate.by_rule.hidden import draw_silent, jumps, wrong_mhz, wrong_share
from meetapp.simulate.by_rule.tables import (
    DESK_S,
    EXACT_MIN,
    EXACT_SHARE,
    LANDING_SHARE,
    LOOKS,
    NAMES_NOBODY,
    OWN_GONE,
    OWN_GONE_SHARE,
    OWN_SHARE,
    SHEET_EVERY,
    SHEET_SHARE,
    SILENT_MEETING,
    UNKNOWN_SHARE,
    VAGUE_MIN,
    WRONG_LOOK_SHARE,
)
from meetapp.simulate.day import OPENED, Loan, minutes
from meetapp.simulate.observer.blocks import Odds, kind_weights
from meetapp.simulate.observer.gathering import LoansByMinute, Strike, gather
from meetapp.simulate.people import LOOKS as ALL_LOOKS
from meetapp.simulate.people import Told
from meetapp.simulate.plan import Kind
from meetapp.simulate.record import Record

_JUMPS = 6
"""So many moments stand for any moment at which a set may have moved."""
_LEAST = 1e-9


@dataclass(frozen=True)
class RuleTellings:
    """How people tell in the world by rule."""

    record: Record

    @cached_property
    def of_loan(self) -> Mapping[int, Sequence[tuple[int, float]]]:
        """By loan: the reports that may be of it, each with the odds of who tells it and when at the desk."""
        return {
            number: [
                (report, weight)
                for report, told in enumerate(self.record.told)
                if (weight := self._entered(told, loan)) > _LEAST
            ]
            for number, loan in self.record.loans.items()
        }

    def _entered(self, told: Told, loan: Loan) -> float:
        if told.pilot_id is not None and told.pilot_id != loan.pilot_id:
            return 0.0
        names = NAMES_NOBODY if told.pilot_id is None else 1 - NAMES_NOBODY
        at_sheet = min(self.record.closed_at, OPENED + SHEET_EVERY * ((loan.in_at - OPENED) // SHEET_EVERY + 1))
        first, last = DESK_S
        waited_s = (told.entered_at - loan.in_at).total_seconds()
        odds = SHEET_SHARE * (told.entered_at == at_sheet)
        if told.entered_at == self.record.closed_at:
            odds += (1 - SHEET_SHARE) * min(1.0, max(0.0, (last - waited_s) / (last - first)))
        elif first <= waited_s <= last:
            odds += (1 - SHEET_SHARE) / (last - first + 1)
        return names * odds

    def told(self, report: int, strike: Strike) -> float:
        """The odds of the told minute, look and place where this picture broke."""
        told = self.record.told[report]
        looks = sum(
            share * ((1 - WRONG_LOOK_SHARE) * (look == told.look) + WRONG_LOOK_SHARE / len(ALL_LOOKS))
            for (look, place), share in strike.looks.items()
            if told.pilot_id is None or place == told.place
        )
        return looks and looks * self._when(told, strike)

    def _when(self, told: Told, strike: Strike) -> float:
        landed = self.record.loans[strike.loan_id].in_at.replace(second=0)
        minute = minutes(told.happened_at)
        low, high = minute - 0.5, minute + 0.5
        if told.happened_at == told.entered_at:
            high = inf
        if told.happened_at == self._first_out:
            low = -inf
        vague = 1 - EXACT_SHARE - LANDING_SHARE
        at_landing = LANDING_SHARE * (landed == told.happened_at)
        return (
            at_landing
            + EXACT_SHARE * _between(low, high, strike, EXACT_MIN)
            + vague * _between(low, high, strike, VAGUE_MIN)
        )

    @cached_property
    def _first_out(self) -> datetime:
        return min(loan.out_at for loan in self.record.loans.values())


def _between(low: float, high: float, strike: Strike, error: tuple[float, float]) -> float:
    """The odds that a moment of the strike with an error drawn between two falls between two limits."""
    return _below(high, strike, error) - _below(low, strike, error)


def _below(limit: float, strike: Strike, error: tuple[float, float]) -> float:
    if limit in (inf, -inf):
        return 1.0 if limit > 0 else 0.0
    length = max(1e-3, strike.end - strike.start)
    spread = error[1] - error[0]

    def rising(x: float) -> float:
        """The integral of the error's distribution function up to x."""
        inside = min(spread, max(0.0, x - error[0]))
        return inside * inside / (2 * spread) + max(0.0, x - error[1])

    return (rising(limit - strike.start) - rising(limit - strike.start - length)) / length


def ideal_weights_by_rule(record: Record, draws: int = 15_000) -> list[dict[Kind, float]]:
    """For each report the weight of each kind. `draws`: so many stand for all that may be on air without a token."""
    rng = Random(0)
    tellings = RuleTellings(record)
    count = len(record.told)
    wrong = gather("wrong_channel", tellings, count, _wrong(record))
    silent = gather("no_token", tellings, count, _silent(record, rng, draws))
    return kind_weights(Odds(_singles(record, tellings), [wrong.hidden, silent.hidden]), rng)


def _singles(record: Record, tellings: RuleTellings) -> list[dict[Kind, float]]:
    found: list[dict[Kind, float]] = [{} for _ in record.told]
    everyday: Mapping[Kind, float] = {"own_receiver": OWN_SHARE, "unknown": UNKNOWN_SHARE}
    strikes = [(clash.kind, clash.strike) for clash in clashes(record)]
    for loan in record.loans.values():
        for kind, share in everyday.items():
            span = minutes(loan.out_at), minutes(loan.in_at)
            strikes.append((kind, Strike(loan.loan_id, share, *span, LOOKS[kind])))
    for kind, strike in strikes:
        for report, entered in tellings.of_loan[strike.loan_id]:
            rate = entered * tellings.told(report, strike) * strike.share / (1 - strike.share)
            found[report][kind] = found[report].get(kind, 0) + rate
    return found


_Possible = tuple[float, Sequence[Strike], Strike | None]


def _wrong(record: Record) -> Iterator[_Possible]:
    index = LoansByMinute(record)
    for loan in record.loans.values():
        out, back = minutes(loan.out_at), minutes(loan.in_at)
        begins = [out + (back - out) * (n + 0.5) / _JUMPS for n in range(_JUMPS)] if jumps(record, loan) else [out]
        share = wrong_share(record, loan)
        for mhz, of_these in wrong_mhz(record, loan).items():
            for start in begins:
                by = Transmitter("wrong_channel", mhz, start, back, loan.loan_id)
                strikes = list(struck(record, index, by))
                strikes.append(Strike(loan.loan_id, OWN_GONE_SHARE, start, min(back, start + 1), OWN_GONE))
                yield share / (1 - share) * of_these / len(begins), strikes, None


def _silent(record: Record, rng: Random, draws: int) -> Iterator[_Possible]:
    index = LoansByMinute(record)
    for _ in range(draws):
        each = draw_silent(record, rng)
        yield SILENT_MEETING / draws, list(struck(record, index, each)), None
