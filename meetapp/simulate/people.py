"""How people tell of a broken picture: late, at a remembered minute, with a look that may be wrong."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random

from meetapp.simulate.day import Day, Loan
from meetapp.simulate.mishaps import Broken, Cause
from meetapp.simulate.plan import MeetPlan

WINDOW_S = 120
ROUNDED_WINDOW_S = 320
LOOKS = ("lines", "other_picture", "gone", "colour", "unsure")
NAMES_NOBODY = 0.03
MEAN_S_TO_THE_DESK = 300


@dataclass(frozen=True, slots=True)
class Told:
    """A report as it stands in the record."""

    pilot_id: int | None
    loan_id: int | None
    happened_at: datetime
    entered_at: datetime
    window_s: int
    look: str
    place: str
    lasted_s: int | None


@dataclass(frozen=True, slots=True)
class Report:
    """A report with its truth. `cause`: the number of the cause behind it, `broken`: what really happened."""

    cause: int
    broken: Broken
    told: Told


def in_order(reports: Iterable[Report]) -> tuple[Report, ...]:
    """Reports in the order in which they were entered."""
    return tuple(sorted(reports, key=lambda each: (each.told.entered_at, each.cause, each.broken.loan_id)))


def tell(
    plan: MeetPlan, day: Day, loans: Mapping[int, Loan], causes: Sequence[Cause], rng: Random
) -> tuple[Report, ...]:
    """All reports of the day in the order in which they were entered."""
    return in_order(
        Report(number, broken, _told(plan, day, loans, broken, rng))
        for number, cause in enumerate(causes)
        for broken in cause.broken
    )


def _told(plan: MeetPlan, day: Day, loans: Mapping[int, Loan], broken: Broken, rng: Random) -> Told:
    is_rounded = rng.random() < plan.round_share
    off_min = rng.gauss(0, plan.time_error_min) + plan.clock_shift_min
    walk_s = round(rng.expovariate(1 / MEAN_S_TO_THE_DESK))
    entered_at = min(day.closed_at, loans[broken.loan_id].in_at + timedelta(seconds=walk_s))
    entered_at = max(entered_at, broken.at)
    minute = to_minutes(broken.at + timedelta(minutes=off_min), 5 if is_rounded else 1)
    happened_at = max(min(minute, entered_at), min(loan.out_at for loan in loans.values()))
    pilot_id = loans[broken.loan_id].pilot_id
    window_s = ROUNDED_WINDOW_S if is_rounded else WINDOW_S
    look = broken.look if rng.random() >= plan.wrong_look_share else rng.choice(LOOKS)
    lasted_s = rng.choice((2, 10, 10, 60, None))
    if rng.random() < NAMES_NOBODY:
        return Told(None, None, happened_at, entered_at, window_s, look, "unsure", lasted_s)
    loan_id = loan_then(loans, pilot_id, happened_at)
    return Told(pilot_id, loan_id, happened_at, entered_at, window_s, look, broken.place, lasted_s)


def to_minutes(when: datetime, step: int) -> datetime:
    """The nearest minute that is a multiple of the step."""
    seconds = when.minute * 60 + when.second
    start = when.replace(minute=0, second=0, microsecond=0)
    return start + timedelta(minutes=step * round(seconds / (60 * step)))


def loan_then(loans: Mapping[int, Loan], pilot_id: int, at: datetime) -> int | None:
    """As the desk ties a report: the loan that the pilot had at that minute, if any."""
    return next((n for n, loan in loans.items() if loan.pilot_id == pilot_id and loan.out_at <= at <= loan.in_at), None)
