"""The review of a meet: its facts and figures.

The page, the export's test and the tests of a re-import read the same facts, so they can't say different numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from meetapp.flows import journal
from meetapp.flows.journal import JournalEntry
from meetapp.flows.planning.meet_rows import find_meet, floors_of, zone_of
from meetapp.flows.review import review_rows
from meetapp.flows.review.heats_flown import ReviewHeat, read_review_heats
from meetapp.flows.review.review_rows import ReviewLoan, ReviewReport, ReviewSpan, ReviewWait, air_record
from meetapp.review.on_air import below, stretches
from meetapp.spectrum.floors import Floors
from meetapp.store import tables as t
from meetapp.store.engine import Store

OVERRIDE = "override"


@dataclass(frozen=True, slots=True)
class ReviewNumbers:
    """A meet in numbers: equal for a meet and its re-import. Times in minutes, rounded to one decimal.

    `flights` are loans of pilots (the tool doesn't see a take-off). Waits have the pauses taken out; None: nobody was
    served from the line. Spacing and clearance are the smallest that were on air, widths counted.
    """

    loans: int
    flights: int
    pilots_flown: int
    on_air_min: float
    most_on_air: int
    served: int
    left_line: int
    mean_wait_min: float | None
    longest_wait_min: float | None
    pauses: int
    paused_min: float
    alarms: int
    reports: int
    overrides: int
    missing: int
    smallest_spacing_mhz: float | None
    smallest_clearance_mhz: float | None
    below_floors_min: float
    journal_lines: int


@dataclass(frozen=True, slots=True)
class ReviewFacts:
    """Everything that the review page shows. `end`: when the meet closed, or now. `floors` None: never set."""

    meet_id: int
    name: str
    on_date: date
    site_name: str
    state: str
    zone: ZoneInfo
    opened_at: datetime | None
    closed_at: datetime | None
    end: datetime
    floors: Floors | None
    lower_floors_reason: str
    numbers: ReviewNumbers
    loans: tuple[ReviewLoan, ...]
    reports: tuple[ReviewReport, ...]
    overrides: tuple[JournalEntry, ...]
    alarms: tuple[ReviewSpan, ...]
    pauses: tuple[ReviewSpan, ...]
    heats: tuple[ReviewHeat, ...]
    journal: tuple[JournalEntry, ...]

    @property
    def closed_same_day(self) -> bool:
        """Whether it closed on the day it opened, at the site."""
        days = {when.astimezone(self.zone).date() for when in (self.opened_at, self.closed_at) if when is not None}
        return len(days) == 1

    @property
    def days(self) -> tuple[date, ...]:
        """The days at the site from the first thing that happened to the last, usually one."""
        moments = [self.opened_at, self.end, *(loan.out_at for loan in self.loans)]
        known = sorted(when.astimezone(self.zone).date() for when in moments if when is not None)
        return tuple(known[0] + timedelta(days=number) for number in range((known[-1] - known[0]).days + 1))

    def address_at(self, when: datetime) -> str:
        """The page that says who was on air at that minute."""
        return minute_address(self.meet_id, when, self.zone)


def minute_address(meet_id: int, when: datetime, zone: ZoneInfo) -> str:
    """The page that says who was on air at a moment."""
    there = when.astimezone(zone)
    return f"/organiser/meets/{meet_id}/review/at?minute={there:%H:%M}&day={there:%Y-%m-%d}"


def review_facts(store: Store, meet_id: int, now: datetime) -> ReviewFacts:
    """Read the review of a meet; for one that is still open, up to now."""
    with store.read() as session:
        meet = find_meet(session, meet_id)
        names = review_rows.read_names(session)
        loans = review_rows.read_loans(session, meet_id, names)
        reports = review_rows.read_reports(session, meet_id, loans, names)
        alarms = review_rows.read_alarms(session, meet_id)
        pauses = review_rows.read_pauses(session, meet_id)
        waits = review_rows.read_waits(session, meet_id, pauses)
        heats = read_review_heats(session, meet_id, names)
        lines = journal.lines_in(session, meet_id)
        site_name = session.get_one(t.Site, meet.site_id).name
        zone = zone_of(session, meet)
    overrides = tuple(line for line in lines if line.kind == OVERRIDE and not line.is_undone)
    end = meet.closed_at or now
    counted: dict[str, Any] = {
        "alarms": len(alarms),
        "reports": len(reports),
        "overrides": len(overrides),
        "journal_lines": len(lines),
        "pauses": len(pauses),
        "paused_min": _minutes(sum((_lasted(pause, end) for pause in pauses), timedelta())),
    }
    return ReviewFacts(
        meet_id=meet.id,
        name=meet.name,
        on_date=meet.on_date,
        site_name=site_name,
        state=meet.state,
        zone=zone,
        opened_at=meet.opened_at,
        closed_at=meet.closed_at,
        end=end,
        floors=floors_of(meet),
        lower_floors_reason=meet.lower_floors_reason,
        numbers=ReviewNumbers(
            **counted, **_loan_numbers(loans, end), **_wait_numbers(waits), **_air_numbers(loans, floors_of(meet), end)
        ),
        loans=loans,
        reports=reports,
        overrides=overrides,
        alarms=alarms,
        pauses=pauses,
        heats=heats,
        journal=lines,
    )


def _lasted(span: ReviewSpan, end: datetime) -> timedelta:
    return (span.ended_at or end) - span.started_at


def _minutes(span: timedelta) -> float:
    return round(span.total_seconds() / 60, 1)


def _loan_numbers(loans: Sequence[ReviewLoan], end: datetime) -> dict[str, Any]:
    flown = [loan for loan in loans if loan.pilot_id is not None]
    lasted = sum(((loan.in_at or end) - loan.out_at for loan in loans), timedelta())
    return {
        "loans": len(loans),
        "flights": len(flown),
        "pilots_flown": len({loan.pilot_id for loan in flown}),
        "on_air_min": _minutes(lasted),
        "missing": sum(loan.ended_missing for loan in loans),
    }


def _wait_numbers(waits: Sequence[ReviewWait]) -> dict[str, Any]:
    served = [wait.waited for wait in waits if wait.was_served]
    return {
        "served": len(served),
        "left_line": len(waits) - len(served),
        "mean_wait_min": _minutes(sum(served, timedelta()) / len(served)) if served else None,
        "longest_wait_min": _minutes(max(served)) if served else None,
    }


def _air_numbers(loans: Sequence[ReviewLoan], floors: Floors | None, end: datetime) -> dict[str, Any]:
    start = min((loan.out_at for loan in loans), default=end)
    parts = stretches(air_record(loans), start, end)
    spacings = [part.measures.spacing_mhz for part in parts]
    clearances = [part.measures.clearance_mhz for part in parts]
    under = [part.lasted for part in parts if floors is not None and below(part.measures, floors)]
    return {
        "most_on_air": max((len(part.aired) for part in parts), default=0),
        "smallest_spacing_mhz": min((each for each in spacings if each is not None), default=None),
        "smallest_clearance_mhz": min((each for each in clearances if each is not None), default=None),
        "below_floors_min": _minutes(sum(under, timedelta())),
    }
