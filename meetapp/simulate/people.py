"""How people tell of a broken picture: late, at a remembered minute, with a look that may be wrong."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from meetapp.simulate.day import Day, Loan
from meetapp.simulate.mishaps import Broken, Cause
from meetapp.simulate.plan import MeetPlan

WINDOW_S = 120
ROUNDED_WINDOW_S = 320
_LOOKS = ("lines", "other_picture", "gone", "colour", "unsure")
_NAMES_NOBODY = 0.03


@dataclass(frozen=True, slots=True)
class Report:
    """What stands in the record. `cause`: the number of the cause behind it, `broken` what really happened."""

    cause: int
    broken: Broken
    pilot_id: int | None
    loan_id: int | None
    happened_at: datetime
    entered_at: datetime
    window_s: int
    look: str
    place: str
    lasted_s: int | None


def tell(
    plan: MeetPlan, day: Day, loans: Mapping[int, Loan], causes: Sequence[Cause], rng: Random
) -> tuple[Report, ...]:
    """All reports of the day in the order in which they were entered."""
    found = [
        _told(plan, day, loans, number, broken, rng) for number, cause in enumerate(causes) for broken in cause.broken
    ]
    return tuple(sorted(found, key=lambda report: (report.entered_at, report.cause, report.broken.loan_id)))


def _told(plan: MeetPlan, day: Day, loans: Mapping[int, Loan], cause: int, broken: Broken, rng: Random) -> Report:
    is_rounded = rng.random() < plan.round_share
    off_min = rng.gauss(0, plan.time_error_min) + plan.clock_shift_min
    entered_at = min(day.closed_at, loans[broken.loan_id].in_at + timedelta(seconds=round(rng.expovariate(1 / 300))))
    entered_at = max(entered_at, broken.at)
    minute = _to_minutes(broken.at + timedelta(minutes=off_min), 5 if is_rounded else 1)
    happened_at = max(min(minute, entered_at), min(loan.out_at for loan in loans.values()))
    pilot_id = loans[broken.loan_id].pilot_id
    window_s = ROUNDED_WINDOW_S if is_rounded else WINDOW_S
    look = broken.look if rng.random() >= plan.wrong_look_share else rng.choice(_LOOKS)
    lasted_s = rng.choice((2, 10, 10, 60, None))
    if rng.random() < _NAMES_NOBODY:
        return Report(cause, broken, None, None, happened_at, entered_at, window_s, look, "unsure", lasted_s)
    loan_id = _loan_then(loans, pilot_id, happened_at)
    return Report(cause, broken, pilot_id, loan_id, happened_at, entered_at, window_s, look, broken.place, lasted_s)


def _to_minutes(when: datetime, step: int) -> datetime:
    """The nearest minute that is a multiple of the step."""
    seconds = when.minute * 60 + when.second
    start = when.replace(minute=0, second=0, microsecond=0)
    return start + timedelta(minutes=step * round(seconds / (60 * step)))


def _loan_then(loans: Mapping[int, Loan], pilot_id: int, at: datetime) -> int | None:
    """As the desk ties a report: the loan that the pilot had at that minute, if any."""
    return next((n for n, loan in loans.items() if loan.pilot_id == pilot_id and loan.out_at <= at <= loan.in_at), None)
