"""A meet's loans, journal and reports as CSV for a spreadsheet: times in the site's zone, one row each."""

from collections.abc import Sequence
from datetime import datetime

from meetapp.flows.csv_cells import csv_text
from meetapp.flows.review.review import ReviewFacts
from meetapp.flows.review.review_rows import ReviewLoan, ReviewReport

_LOAN_HEAD = (
    "out",
    "in",
    "minutes",
    "token",
    "code",
    "who",
    "transmitter",
    "set to",
    "MHz",
    "width MHz",
    "power mW",
    "set at",
    "seen on own goggles",
    "ended missing",
    "below a floor because",
    "entered",
)
_REPORT_HEAD = ("when", "give or take s", "who", "look", "where", "how long", "set to", "MHz", "note", "entered")
_JOURNAL_HEAD = ("line", "happened", "entered", "who", "role", "what", "undone", "undoes line")


def loans_csv(facts: ReviewFacts) -> str:
    """Every loan; one that was set anew has a row for each setting."""
    rows = [_loan_row(facts, loan, number) for loan in facts.loans for number in range(max(1, len(loan.settings)))]
    return csv_text([_LOAN_HEAD, *rows])


def _loan_row(facts: ReviewFacts, loan: ReviewLoan, number: int) -> Sequence[str]:
    setting = loan.settings[number] if loan.settings else None
    minutes = "" if loan.lasted is None else f"{loan.lasted.total_seconds() / 60:.1f}"
    return (
        _when(facts, loan.out_at),
        _when(facts, loan.in_at),
        minutes,
        loan.token_label,
        loan.token_code,
        loan.who,
        loan.transmitter,
        setting.label if setting else "",
        str(setting.mhz) if setting else "",
        f"{setting.width_mhz:g}" if setting else "",
        _figure(setting.power_mw if setting else None),
        _when(facts, setting.since_at if setting else None),
        _yes(loan.was_seen),
        _yes(loan.ended_missing),
        loan.override_reason,
        _when(facts, loan.entered_at),
    )


def reports_csv(facts: ReviewFacts) -> str:
    """Every clash report."""
    return csv_text([_REPORT_HEAD, *(_report_row(facts, report) for report in facts.reports)])


def _report_row(facts: ReviewFacts, report: ReviewReport) -> Sequence[str]:
    return (
        _when(facts, report.happened_at),
        str(report.window_s),
        report.who,
        report.look,
        report.place,
        report.lasted,
        report.setting.label if report.setting else "",
        str(report.setting.mhz) if report.setting else "",
        report.note,
        _when(facts, report.entered_at),
    )


def journal_csv(facts: ReviewFacts) -> str:
    """Every line of the journal, undone ones too; lines are numbered from 1."""
    numbers = {line.line_id: str(number) for number, line in enumerate(facts.journal, start=1)}
    rows = (
        (
            numbers[line.line_id],
            _when(facts, line.happened_at),
            _when(facts, line.entered_at),
            line.who,
            line.role,
            line.sentence,
            _yes(line.is_undone),
            numbers.get(line.undoes_id or 0, ""),
        )
        for line in facts.journal
    )
    return csv_text([_JOURNAL_HEAD, *rows])


def _when(facts: ReviewFacts, when: datetime | None) -> str:
    return when.astimezone(facts.zone).strftime("%Y-%m-%d %H:%M:%S") if when else ""


def _yes(value: bool) -> str:
    return "yes" if value else ""


def _figure(value: float | None) -> str:
    return "" if value is None else f"{value:g}"
