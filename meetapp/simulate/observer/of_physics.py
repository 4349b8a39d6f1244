"""The odds of a meet that was made by `Mishaps`, for one who knows the plan and sees the record."""

from random import Random

from meetapp.simulate.day import minutes
from meetapp.simulate.mishaps import OWN_LOOKS, UNKNOWN_LOOKS
from meetapp.simulate.observer.blocks import Odds
from meetapp.simulate.observer.gathering import Looks
from meetapp.simulate.observer.hidden_causes import without_tokens, wrong_channels
from meetapp.simulate.observer.overrides import OverrideOdds
from meetapp.simulate.observer.told_odds import ToldOdds
from meetapp.simulate.plan import Kind, MeetPlan
from meetapp.simulate.record import Record

_DRAWS_PER_LOAN = 100
_OWN = {
    (look, "line" if look == "other_picture" else "flight"): OWN_LOOKS.count(look) / len(OWN_LOOKS)
    for look in OWN_LOOKS
}
_UNKNOWN = {(look, "flight"): 1 / len(UNKNOWN_LOOKS) for look in UNKNOWN_LOOKS}


def odds_by_physics(plan: MeetPlan, record: Record) -> Odds:
    """What may stand behind each report. `plan` gives rates and physics, never what was drawn with them."""
    rng = Random(0)
    told = ToldOdds(plan, record)
    everyday = plan.everyday_per_hour * plan.hours / 2
    singles: list[dict[Kind, float]] = [{"own_receiver": 0.0, "unknown": 0.0} for _ in record.told]
    looks: dict[Kind, Looks] = {"own_receiver": _OWN, "unknown": _UNKNOWN}
    for loan in record.loans.values():
        for report, entered in told.of_loan[loan.loan_id]:
            when = entered * told.time(report, minutes(loan.out_at), minutes(loan.in_at)) / len(record.loans)
            for kind, look in looks.items():
                rate = plan.causes.get(kind, 0) + everyday
                singles[report][kind] += rate * when * told.look(report, look)
    hidden = [
        wrong_channels(plan, record, told),
        without_tokens(plan, record, told, rng, _DRAWS_PER_LOAN),
    ]
    return Odds(singles, hidden, OverrideOdds(plan, record, told).all(rng))
