"""A whole meet of the world by rule, with its truth."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random

from meetapp.simulate.by_rule.clashes import Transmitter, clashes, struck
from meetapp.simulate.by_rule.flying import fly
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
    WINDOW_S,
    WRONG_LOOK_SHARE,
    RulePlan,
)
from meetapp.simulate.day import OPENED, minutes
from meetapp.simulate.mishaps import Broken, Cause, Spell
from meetapp.simulate.observer.gathering import LoansByMinute, Looks, Strike
from meetapp.simulate.people import LOOKS as ALL_LOOKS
from meetapp.simulate.people import Report, Told, in_order, loan_then, to_minutes
from meetapp.simulate.plan import Kind
from meetapp.simulate.record import Record
from meetapp.simulate.simulating import SimulatedMeet, poisson, with_truth


def make_by_rule(plan: RulePlan) -> SimulatedMeet:
    """One meet; the same plan makes the same meet."""
    rng = Random(plan.seed)
    record = fly(plan, rng)
    planted = [] if plan.is_orderly else [*_shown(record, rng), *_wrong(record, rng), *_silent(record, rng)]
    everyday = list(_everyday(record, rng))
    reports = in_order(
        Report(number, broken, _told(record, broken, rng))
        for number, cause in enumerate([*planted, *everyday])
        for broken in cause.broken
    )
    record = replace(record, told=tuple(report.told for report in reports))
    counts: dict[Kind, int] = {}
    for cause in planted:
        counts[cause.kind] = counts.get(cause.kind, 0) + 1
    return with_truth(record, counts, [*planted, *everyday], reports, len(planted))


def _shown(record: Record, rng: Random) -> Iterator[Cause]:
    for clash in clashes(record):
        if broken := _break(clash.strike, rng):
            yield Cause(clash.kind, clash.mhz, clash.sources, broken)


def _wrong(record: Record, rng: Random) -> Iterator[Cause]:
    index = LoansByMinute(record)
    for loan in record.loans.values():
        shares = wrong_mhz(record, loan)
        if rng.random() >= wrong_share(record, loan) or not shares:
            continue
        mhz = rng.choices(list(shares), list(shares.values()))[0]
        start, end = minutes(loan.out_at), minutes(loan.in_at)
        if jumps(record, loan):
            start = rng.uniform(start, end)
        by = Transmitter("wrong_channel", mhz, start, end, loan.loan_id)
        broken = [each for strike in struck(record, index, by) for each in _break(strike, rng)]
        broken += _break(Strike(loan.loan_id, OWN_GONE_SHARE, start, min(end, start + 1), OWN_GONE), rng)
        if broken:
            yield Cause("wrong_channel", mhz, (loan.loan_id,), tuple(broken))


def _silent(record: Record, rng: Random) -> Iterator[Cause]:
    index = LoansByMinute(record)
    for _ in range(poisson(SILENT_MEETING, rng)):
        each = draw_silent(record, rng)
        broken = tuple(broken for strike in struck(record, index, each) for broken in _break(strike, rng))
        if broken:
            yield Cause("no_token", each.mhz, (), broken, (Spell(_at(each.start), _at(each.end)),))


def _everyday(record: Record, rng: Random) -> Iterator[Cause]:
    shares: Mapping[Kind, float] = {"own_receiver": OWN_SHARE, "unknown": UNKNOWN_SHARE}
    for loan in record.loans.values():
        for kind, share in shares.items():
            strike = Strike(loan.loan_id, share, minutes(loan.out_at), minutes(loan.in_at), LOOKS[kind])
            if broken := _break(strike, rng):
                yield Cause(kind, None, (), broken)


def _at(minute: float) -> datetime:
    return OPENED + timedelta(seconds=int(minute * 60))


def _break(strike: Strike, rng: Random) -> tuple[Broken, ...]:
    if rng.random() >= strike.share:
        return ()
    look, place = _drawn(strike.looks, rng)
    return (Broken(strike.loan_id, _at(rng.uniform(strike.start, strike.end)), look, place),)


def _drawn(looks: Looks, rng: Random) -> tuple[str, str]:
    return rng.choices(list(looks), list(looks.values()))[0]


def _told(record: Record, broken: Broken, rng: Random) -> Told:
    loan = record.loans[broken.loan_id]
    way = rng.random()
    if way < EXACT_SHARE:
        minute = to_minutes(broken.at + timedelta(minutes=rng.uniform(*EXACT_MIN)), 1)
    elif way < EXACT_SHARE + LANDING_SHARE:
        minute = loan.in_at.replace(second=0)
    else:
        minute = to_minutes(broken.at + timedelta(minutes=rng.uniform(*VAGUE_MIN)), 1)
    if rng.random() < SHEET_SHARE:
        entered_at = OPENED + SHEET_EVERY * ((loan.in_at - OPENED) // SHEET_EVERY + 1)
    else:
        entered_at = loan.in_at + timedelta(seconds=rng.randint(*DESK_S))
    entered_at = min(entered_at, record.closed_at)
    happened_at = max(min(minute, entered_at), min(each.out_at for each in record.loans.values()))
    look = broken.look if rng.random() >= WRONG_LOOK_SHARE else rng.choice(ALL_LOOKS)
    if rng.random() < NAMES_NOBODY:
        return Told(None, None, happened_at, entered_at, WINDOW_S, look, "unsure", None)
    loan_id = loan_then(record.loans, loan.pilot_id, happened_at)
    return Told(loan.pilot_id, loan_id, happened_at, entered_at, WINDOW_S, look, broken.place, None)
