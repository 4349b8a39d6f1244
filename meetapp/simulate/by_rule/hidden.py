"""What nobody wrote down in the world by rule: who is on another channel, who is on air without a token."""

from collections.abc import Mapping
from random import Random

from meetapp.simulate.by_rule.clashes import Transmitter
from meetapp.simulate.by_rule.tables import (
    LAST_CHANNEL_SHARE,
    MOVING_FACTOR,
    SILENT_FACTOR,
    SILENT_MIN,
    STRANGER_SHARE,
    WAKE_SHARE,
    WRONG_SHARE,
)
from meetapp.simulate.day import Loan, minutes
from meetapp.simulate.record import Record

_NEAR_MHZ = 10
_STRANGE_MHZ = range(5650, 5926)


def wrong_share(record: Record, loan: Loan) -> float:
    """How often this loan is on another channel than given."""
    kit = record.kits[record.pilots[loan.pilot_id].kit]
    factor = (SILENT_FACTOR if kit.sets_silently else 1) * (MOVING_FACTOR if kit.moves_by_itself else 1)
    return WRONG_SHARE * factor


def wrong_mhz(record: Record, loan: Loan) -> Mapping[int, float]:
    """The channels that a loan on a wrong one is on, with their shares (they sum to 1, or to 0: it has no other)."""
    makes = sorted(record.pilots[loan.pilot_id].tuning.all_mhz())
    far = [mhz for mhz in makes if abs(mhz - loan.setting.mhz) >= _NEAR_MHZ]
    wake = [mhz for mhz in (loan.wake_mhz,) if mhz is not None and abs(mhz - loan.setting.mhz) >= _NEAR_MHZ]
    shares: dict[int, float] = {}
    for mhz in wake:
        shares[mhz] = WAKE_SHARE
    for mhz in far:
        shares[mhz] = shares.get(mhz, 0) + (1 - WAKE_SHARE * bool(wake)) / len(far)
    return shares


def jumps(record: Record, loan: Loan) -> bool:
    """Whether its set moves by itself: then at any moment of the loan, else it is wrong from the hand-out."""
    return record.kits[record.pilots[loan.pilot_id].kit].moves_by_itself


def draw_silent(record: Record, rng: Random) -> Transmitter:
    """One of them: a pilot's between two flights, or a stranger's."""
    last = minutes(record.closed_at)
    while True:
        start = rng.uniform(5, last - 15)
        end = start + rng.uniform(*SILENT_MIN)
        if rng.random() < STRANGER_SHARE:
            return Transmitter("no_token", rng.choice(_STRANGE_MHZ), start, end)
        pilot = record.pilots[rng.choice(sorted(record.pilots))]
        own = [loan for loan in record.loans.values() if loan.pilot_id == pilot.pilot_id]
        if any(minutes(loan.out_at) < end and minutes(loan.in_at) > start for loan in own):
            continue
        before = [loan for loan in own if minutes(loan.in_at) <= start]
        if before and rng.random() < LAST_CHANNEL_SHARE:
            return Transmitter("no_token", max(before, key=lambda loan: loan.in_at).setting.mhz, start, end)
        return Transmitter("no_token", rng.choice(sorted(pilot.tuning.all_mhz())), start, end)
