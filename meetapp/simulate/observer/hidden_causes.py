"""What a transmitter on air without a token, or on another channel than given, may have been in a simulated meet."""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from meetapp.simulate.day import minutes
from meetapp.simulate.mishaps import OWN_PICTURE_SHARE, OWN_PICTURE_WITHIN, PITS_WINDOW_MIN
from meetapp.simulate.observer.blocks import Hidden
from meetapp.simulate.observer.breaking import by_carrier
from meetapp.simulate.observer.gathering import LoansByMinute, Strike, gather
from meetapp.simulate.observer.told_odds import ToldOdds
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
    closed = minutes(record.closed_at)
    for loan in record.loans.values():
        pilot = record.pilots[loan.pilot_id]
        came = minutes(pilot.came_at)
        own = [odds.spans[each.loan_id] for each in record.loans.values() if each.pilot_id == loan.pilot_id]
        makes = sorted(pilot.tuning.all_mhz())
        for draw in range(draws):
            is_after = draw % 2 == 0
            gap = rng.uniform(1, PITS_WINDOW_MIN)
            start = odds.spans[loan.loan_id][1] + gap if is_after else odds.spans[loan.loan_id][0] - gap
            spells = []
            for _ in range(rng.choice((1, 1, 2, 3, 4))):
                end = start + rng.uniform(1, 6)
                if _is_free(own, came, closed, start, end):
                    spells.append((start, end))
                start = end + rng.uniform(1, 8)
            woke = loan.wake_mhz if loan.wake_mhz is not None else rng.choice(makes)
            mhz = loan.setting.mhz if is_after else woke
            weight = 1 / (draws * len(record.loans))
            found.append(_Possible(weight, mhz, pilot.power_mw, spells, 0, is_up=False))
    return _hidden("no_token", plan, record, odds, found)


def _is_free(own: Sequence[tuple[float, float]], came: float, closed: float, start: float, end: float) -> bool:
    is_out = any(out < end and back > start for out, back in own)
    return came < start and end < closed and not is_out


def _struck(
    plan: MeetPlan, record: Record, odds: ToldOdds, index: LoansByMinute, each: _Possible
) -> tuple[list[Strike], Strike | None]:
    """Whose pictures it may break in which stretch, and its own where another's is broken."""
    strikes = []
    for start, end in each.spells:
        for out, back, victim in index.at_once(start, end):
            if victim.loan_id == each.loan_id or victim.override_reason:
                continue
            power = record.pilots[victim.pilot_id].power_mw
            offset = each.mhz - victim.setting.mhz
            share, looks = by_carrier(plan.physics, each.power_mw, power, offset, is_up=each.is_up)
            if share:
                share = min(0.99, share * plan.tells_share)
                strikes.append(Strike(victim.loan_id, share, max(start, out), min(end, back), looks))
    if not each.loan_id:
        return strikes, None
    out, back = odds.spans[each.loan_id]
    until = min(back, out + OWN_PICTURE_WITHIN.total_seconds() / 60)
    return strikes, Strike(each.loan_id, OWN_PICTURE_SHARE, out, until, _OWN_LOOK)


def _hidden(kind: Kind, plan: MeetPlan, record: Record, odds: ToldOdds, possible: Sequence[_Possible]) -> Hidden:
    """Scaled so that as many break a picture as are planted: a cause that breaks none is drawn again."""
    index = LoansByMinute(record)
    gathered = gather(
        kind, odds, len(record.told), ((e.weight, *_struck(plan, record, odds, index, e)) for e in possible)
    )
    rate = plan.causes.get(kind, 0) / gathered.shown if gathered.shown else 0.0
    hidden = gathered.hidden
    return Hidden(kind, [each * rate for each in hidden.start], hidden.factors, hidden.beside)
