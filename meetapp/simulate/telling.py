"""Which causes the record can tell apart at all: from the truth and plain distances, never from an explanation.

The definition stands in DEVELOPERS.md, 'Explanations, measured'.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

from meetapp.simulate.day import NEIGHBOUR, Loan
from meetapp.simulate.mishaps import Cause, Mishaps
from meetapp.simulate.plan import Kind
from meetapp.spectrum.carriers import Carrier, neighbour_gap
from meetapp.spectrum.products import hits

CLOSE_MHZ = 20
PRODUCT_MHZ = 8
WAKE_MHZ = 15
JUST_SWITCHED_ON = timedelta(minutes=6)
_AGREE = 2
_NEVER: frozenset[Kind] = frozenset({"own_receiver", "unknown"})


def traces(mishaps: Mishaps, victim: Loan, at: datetime) -> set[Kind]:
    """The kinds of cause that the record shows near this loan at this minute: it explains them physically."""
    others = [
        loan for loan in mishaps.loans.values() if loan.out_at <= at < loan.in_at and loan.loan_id != victim.loan_id
    ]
    found: set[Kind] = set()
    if any(abs(loan.setting.mhz - victim.setting.mhz) < CLOSE_MHZ for loan in others):
        found.add("too_close")
    own = Carrier(victim.setting.mhz)
    if any(
        hit.victim_mhz == own.mhz for hit in hits([own, *(Carrier(loan.setting.mhz) for loan in others)], PRODUCT_MHZ)
    ):
        found.add("product")
    if neighbour_gap(own, NEIGHBOUR) < 0:
        found.add("neighbour")
    if any(_woke_near(loan, victim, at) for loan in others):
        found.add("wrong_channel")
    return found


def can_be_told(mishaps: Mishaps, cause: Cause, reported: Sequence[tuple[int, datetime]]) -> bool:
    """Whether this cause's reports (victim's loan, minute of the record) leave one explanation only.

    It holds for all reports of a cause alike, since they are read together.
    """
    if cause.kind in _NEVER:
        return False
    shown = [traces(mishaps, mishaps.loans[loan_id], at) for loan_id, at in reported]
    rivals = set.intersection(*shown) - {cause.kind}
    if rivals:
        return False
    has_trace = all(cause.kind in each for each in shown)
    return has_trace or (len(reported) >= _AGREE and cause.kind in ("no_token", "wrong_channel"))


def _woke_near(loan: Loan, victim: Loan, at: datetime) -> bool:
    if loan.wake_mhz is None or abs(loan.wake_mhz - loan.setting.mhz) < WAKE_MHZ:
        return False
    return abs(loan.wake_mhz - victim.setting.mhz) < WAKE_MHZ and at - loan.out_at < JUST_SWITCHED_ON
