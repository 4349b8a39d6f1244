"""The day of a meet for its drawing: the review's facts put in rows."""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from meetapp.flows.review.review import ReviewFacts
from meetapp.flows.review.review_rows import ReviewLoan, ReviewReport, ReviewSpan
from meetapp.review.day import DayFacts, DayReport, DayRow, DayStretch, StretchKind

WITHOUT_TOKEN = "no token"
"""The row of reports by somebody who had no token out."""


def day_facts(facts: ReviewFacts) -> DayFacts | None:
    """The rows of the day: tokens by their MHz, then what was on air without one; None where nothing happened."""
    rows = tuple(row for row in _rows(facts) if row.moments)
    moments = [moment for row in rows for moment in row.moments]
    if not moments:
        return None
    return DayFacts(min(moments), max(moments), facts.zone, rows)


def _rows(facts: ReviewFacts) -> Iterator[DayRow]:
    yield DayRow("paused", tuple(_span("pause", "Paused", pause, facts) for pause in facts.pauses))
    yield DayRow("alarm", tuple(_span("alarm", alarm.name, alarm, facts) for alarm in facts.alarms))
    names = _names(facts.loans)
    by_row: dict[str, list[ReviewLoan]] = {}
    for loan in sorted(facts.loans, key=lambda loan: (not loan.token_label, loan.settings[0].mhz, names[loan.loan_id])):
        by_row.setdefault(names[loan.loan_id], []).append(loan)
    for name, loans in by_row.items():
        own = {loan.loan_id for loan in loans}
        yield DayRow(
            name,
            tuple(_loan(name, loan, facts) for loan in sorted(loans, key=lambda loan: (loan.out_at, loan.loan_id))),
            tuple(_report(report, facts) for report in facts.reports if report.loan_id in own),
        )
    known = {loan.loan_id for loan in facts.loans}
    others = [report for report in facts.reports if report.loan_id not in known]
    yield DayRow(WITHOUT_TOKEN, (), tuple(_report(report, facts) for report in others))


def _names(loans: Sequence[ReviewLoan]) -> dict[int, str]:
    """The row of each loan: its token's label, with the code where two tokens share it; without a token who had it."""
    codes: dict[str, set[str]] = {}
    for loan in loans:
        codes.setdefault(loan.token_label, set()).add(loan.token_code)

    def name(loan: ReviewLoan) -> str:
        if not loan.token_label:
            return loan.who
        is_shared = len(codes[loan.token_label]) > 1
        return f"{loan.token_label} {loan.token_code}" if is_shared else loan.token_label

    return {loan.loan_id: name(loan) for loan in loans}


def _loan(name: str, loan: ReviewLoan, facts: ReviewFacts) -> DayStretch:
    until = _clock(loan.in_at, facts) if loan.in_at else "still out"
    settings = "; then ".join(each.text for each in loan.settings)
    missing = ", ended missing" if loan.ended_missing else ""
    return DayStretch(
        kind="missing" if loan.ended_missing else "loan",
        start=loan.out_at,
        end=loan.in_at or facts.end,
        text=loan.who,
        hint=f"{name}, {loan.who}: {_clock(loan.out_at, facts)} to {until}, set to {settings}{missing}",
        href=f"?loans=open#loan-{loan.loan_id}",
        changes=tuple(each.since_at for each in loan.settings[1:]),
    )


def _span(kind: StretchKind, text: str, span: ReviewSpan, facts: ReviewFacts) -> DayStretch:
    until = _clock(span.ended_at, facts) if span.ended_at else "now"
    reason = f", {span.name}" if span.name and span.name != text else ""
    hint = f"{text}{reason}: {_clock(span.started_at, facts)} to {until}"
    return DayStretch(kind, span.started_at, span.ended_at or facts.end, text, hint, "#alarms")


def _report(report: ReviewReport, facts: ReviewFacts) -> DayReport:
    window = timedelta(seconds=report.window_s)
    at = report.happened_at
    hint = f"Clash report, {_clock(at, facts)}, {report.who}: {report.look}, {report.place}"
    return DayReport(at, at - window, at + window, hint, facts.address_at(at))


def _clock(when: datetime, facts: ReviewFacts) -> str:
    return when.astimezone(facts.zone).strftime("%H:%M")
