"""What a transmitter on air without a token, or on another channel than given, may have been in a simulated meet."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from meetapp.simulate.day import Loan
from meetapp.simulate.mishaps import OWN_PICTURE_SHARE, OWN_PICTURE_WITHIN, PITS_WINDOW_MIN
from meetapp.simulate.observer.blocks import Hidden
from meetapp.simulate.observer.breaking import by_carrier
from meetapp.simulate.observer.told_odds import ToldOdds, minutes
from meetapp.simulate.plan import Kind, MeetPlan
from meetapp.simulate.record import Record

_OWN_LOOK = {("gone", "line"): 1.0}


@dataclass(frozen=True, slots=True)
class _Possible:
    """One thing that may have been: a transmitter on air in spells (minutes since the opening). `loan_id`: its own."""

    weight: float
    mhz: int
    power_mw: float
    spells: Sequence[tuple[float, float]]
    loan_id: int
    is_up: bool


def wrong_channels(plan: MeetPlan, record: Record, odds: ToldOdds) -> Hidden:
    """Every loan on every channel that it may have been on."""
    found = []
    makes_of = {pilot_id: sorted(pilot.tuning.all_mhz()) for pilot_id, pilot in record.pilots.items()}
    for loan in record.loans.values():
        if loan.override_reason:
            continue
        makes = makes_of[loan.pilot_id]
        wake = [loan.wake_mhz] if loan.wake_mhz is not None else makes
        shares: dict[int, float] = {}
        for share, channels in ((0.6, wake), (0.25, makes)):
            for mhz in channels:
                shares[mhz] = shares.get(mhz, 0) + share / len(channels)
        for by in range(10, 21):
            for mhz in (loan.setting.mhz - by, loan.setting.mhz + by):
                shares[mhz] = shares.get(mhz, 0) + 0.15 / 22
        spell = [(minutes(loan.out_at), minutes(loan.in_at))]
        power = record.pilots[loan.pilot_id].power_mw
        found += [
            _Possible(share / len(record.loans), mhz, power, spell, loan.loan_id, is_up=True)
            for mhz, share in shares.items()
            if abs(mhz - loan.setting.mhz) >= 10
        ]
    return _hidden("wrong_channel", plan, record, odds, found)


def without_tokens(plan: MeetPlan, record: Record, odds: ToldOdds, rng: Random, draws: int) -> Hidden:
    """Transmitters of those who have just handed in or are about to receive, drawn around each loan."""
    found = []
    for loan in record.loans.values():
        pilot = record.pilots[loan.pilot_id]
        own = [each for each in record.loans.values() if each.pilot_id == loan.pilot_id]
        makes = sorted(pilot.tuning.all_mhz())
        for draw in range(draws):
            is_after = draw % 2 == 0
            gap = rng.uniform(1, PITS_WINDOW_MIN)
            start = minutes(loan.in_at) + gap if is_after else minutes(loan.out_at) - gap
            spells = []
            for _ in range(rng.choice((1, 1, 2, 3, 4))):
                end = start + rng.uniform(1, 6)
                if _is_free(own, minutes(pilot.came_at), minutes(record.closed_at), start, end):
                    spells.append((start, end))
                start = end + rng.uniform(1, 8)
            woke = loan.wake_mhz if loan.wake_mhz is not None else rng.choice(makes)
            mhz = loan.setting.mhz if is_after else woke
            weight = 1 / (draws * len(record.loans))
            found.append(_Possible(weight, mhz, pilot.power_mw, spells, 0, is_up=False))
    return _hidden("no_token", plan, record, odds, found)


def _is_free(own: Sequence[Loan], came: float, closed: float, start: float, end: float) -> bool:
    is_out = any(minutes(loan.out_at) < end and minutes(loan.in_at) > start for loan in own)
    return came < start and end < closed and not is_out


def _hidden(kind: Kind, plan: MeetPlan, record: Record, odds: ToldOdds, possible: Sequence[_Possible]) -> Hidden:
    start: list[float] = []
    factors: list[dict[int, float]] = [{} for _ in record.told]
    beside: list[dict[int, float]] = [{} for _ in record.told]
    index = _ByMinute(record)
    shown = 0.0
    for each in possible:
        quiet = 1.0
        touched: dict[int, float] = {}
        for victim, share, spell, looks in _victims(plan, record, index, each):
            quiet *= 1 - share
            for report, entered in odds.of_loan[victim.loan_id]:
                told = entered * odds.time(report, *spell) * odds.look(report, looks)
                if told > 1e-9:
                    touched[report] = touched.get(report, 0) + told * share / (1 - share)
        if quiet == 1.0:
            continue
        shown += each.weight * (1 - quiet)
        if not touched:
            continue
        number = len(start)
        if each.loan_id:
            quiet *= 1 - OWN_PICTURE_SHARE
            _add_own(record, odds, each.loan_id, number, beside)
        start.append(each.weight * quiet)
        for report, factor in touched.items():
            factors[report][number] = factor
    rate = plan.causes.get(kind, 0) / shown if shown else 0.0
    return Hidden(kind, [each * rate for each in start], factors, beside)


def _add_own(record: Record, odds: ToldOdds, loan_id: int, number: int, beside: list[dict[int, float]]) -> None:
    loan = record.loans[loan_id]
    spell = minutes(loan.out_at), minutes(min(loan.in_at, loan.out_at + OWN_PICTURE_WITHIN))
    for report, entered in odds.of_loan[loan_id]:
        told = entered * odds.time(report, *spell) * odds.look(report, _OWN_LOOK)
        if told > 1e-9:
            beside[report][number] = told * OWN_PICTURE_SHARE / (1 - OWN_PICTURE_SHARE)


def _victims(
    plan: MeetPlan, record: Record, index: "_ByMinute", each: _Possible
) -> Iterator[tuple[Loan, float, tuple[float, float], Mapping[tuple[str, str], float]]]:
    """Whose picture it may break in which stretch: how often it breaks and is told, and how it looks."""
    for start, end in each.spells:
        for victim in index.at_once(start, end):
            if victim.loan_id == each.loan_id or victim.override_reason:
                continue
            power = record.pilots[victim.pilot_id].power_mw
            offset = each.mhz - victim.setting.mhz
            share, looks = by_carrier(plan.physics, each.power_mw, power, offset, is_up=each.is_up)
            if share:
                stretch = max(start, minutes(victim.out_at)), min(end, minutes(victim.in_at))
                yield victim, min(0.99, share * plan.tells_share), stretch, looks


class _ByMinute:
    """The loans by the minutes in which they are out."""

    def __init__(self, record: Record) -> None:
        self._found: dict[int, list[Loan]] = {}
        for loan in record.loans.values():
            for minute in range(int(minutes(loan.out_at)), int(minutes(loan.in_at)) + 1):
                self._found.setdefault(minute, []).append(loan)

    def at_once(self, start: float, end: float) -> list[Loan]:
        """The loans that are out at some time between two minutes."""
        near = {
            loan.loan_id: loan for minute in range(int(start) - 1, int(end) + 1) for loan in self._found.get(minute, ())
        }
        return [loan for loan in near.values() if minutes(loan.out_at) < end and minutes(loan.in_at) > start]
