"""The day's timeline: a row for each token on a true time axis, to be scrolled sideways, or in strips on paper.

A loan is a bar with the pilot's name, a change of setting a line in it; one that ended missing has a broken edge. A
report is a diamond above the bars at its minute, with a line as long as the time may be off. Pauses are hatched.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import ceil

from meetapp.drawings.axis import MINUTE_STEPS, Axis
from meetapp.drawings.labels import lanes
from meetapp.drawings.shapes import SMALL, TEXT, Box, Drawing, Part, Picture, Shape, Words, flat, hatch, line, lines
from meetapp.drawings.text_width import shorten
from meetapp.review.day import DayFacts, DayReport, DayRow, DayStretch

_PER_MINUTE = 6.0
_LONGEST, _SHORTEST = 8000.0, 1060.0
"""The length of the axis is kept between these, whatever the length of the day."""
_NAMES = 88.0
_MARGIN = 24.0
"""Beside the axis, so that the time at its very end has room."""
_HEAD = 24.0
_BAR, _REPORTS, _PAD = 28.0, 14.0, 5.0
_DIAMOND = 6.0
_TICK_ROOM = 66.0
_PAPER_WIDTH = 960.0
_PAPER_MINUTES = 120
_MOST_STRIPS = 12


@dataclass(frozen=True, slots=True)
class _Time:
    """The time axis: places of moments, counted in minutes from the midnight before the day begins."""

    facts: DayFacts
    axis: Axis

    @property
    def _midnight(self) -> datetime:
        return self.facts.start - timedelta(minutes=minute_of_day(self.facts, self.facts.start))

    def span(self, start: datetime, end: datetime) -> tuple[float, float] | None:
        """Where a stretch of time lies, cut to the axis; None: beside it."""
        low, high = minute_of_day(self.facts, start), minute_of_day(self.facts, end)
        if low > self.axis.high or high < self.axis.low:
            return None
        return self.axis.span(low, high)

    def ticks(self) -> list[tuple[float, str]]:
        """Places of round times with the times."""
        return [
            (self.axis.at(minute), f"{(self._midnight + timedelta(minutes=minute)).astimezone(self.facts.zone):%H:%M}")
            for minute in self.axis.ticks(_TICK_ROOM, MINUTE_STEPS)
        ]


def minute_of_day(facts: DayFacts, when: datetime) -> float:
    """Minutes from the local midnight before the day's first moment; even across a change of the clocks."""
    first = facts.start.astimezone(facts.zone)
    begun = first.hour * 60 + first.minute + (first.second + first.microsecond / 1e6) / 60
    return begun + (when - facts.start).total_seconds() / 60


def day_picture(facts: DayFacts) -> Picture:
    """The day: the rows' names beside a long axis for screens, and strips under one another for paper."""
    low, high = _ends(facts)
    scale = min(_PER_MINUTE, _LONGEST / (high - low))
    length = max(_SHORTEST, (high - low) * scale)
    time = _Time(facts, Axis(low, high, _MARGIN, _MARGIN + length))
    rows = list(_laid_out(time, facts.rows, _HEAD))
    height = rows[-1].bottom + 4
    width = length + 2 * _MARGIN
    names = Drawing("names", _NAMES, height, tuple(_name(row) for row in rows))
    shapes = (*_frame(time, rows, 0, width), *(shape for row in rows for shape in row.shapes))
    drawings = (names, Drawing("only", width, height, shapes), _on_paper(facts, low, high))
    return Picture("The day", _described(facts), drawings)


def _ends(facts: DayFacts) -> tuple[float, float]:
    low, high = minute_of_day(facts, facts.start), minute_of_day(facts, facts.end)
    return low, max(high, low + 1)


def _described(facts: DayFacts) -> str:
    loans = sum(each.kind in ("loan", "missing") for row in facts.rows for each in row.stretches)
    reports = sum(len(row.reports) for row in facts.rows)
    start, end = (when.astimezone(facts.zone).strftime("%H:%M") for when in (facts.start, facts.end))
    return f"Loans: {loans}. Clash reports: {reports}. From {start} to {end}. The tables below say the same."


@dataclass(frozen=True, slots=True)
class _LaidRow:
    name: str
    top: float
    bottom: float
    shapes: tuple[Shape, ...]

    @property
    def baseline(self) -> float:
        """Where its name stands: beside the first bar."""
        return self.top + _REPORTS + _BAR / 2 + 5


def _laid_out(time: _Time, rows: Sequence[DayRow], top: float) -> Iterator[_LaidRow]:
    """The rows that have something on this axis, from the top down."""
    for row in rows:
        spans = [
            (each, span)
            for each in row.stretches
            if (span := time.span(each.start, each.end)) and (span[0] < span[1] or each.start == each.end)
        ]
        marks = [(each, span) for each in row.reports if (span := time.span(each.early, each.late))]
        if not spans and not marks:
            continue
        chosen = lanes([span for _each, span in spans])
        first = top + _REPORTS
        shapes = [
            Part(tuple(_bar(time, each, span, first + lane * (_BAR + 2))), each.hint, each.href)
            for lane, (each, span) in zip(chosen, spans, strict=True)
        ]
        shapes += [
            Part(tuple(_mark(time, each, span, top + _REPORTS / 2)), each.hint, each.href) for each, span in marks
        ]
        bottom = first + (max(chosen, default=0) + 1) * (_BAR + 2) + _PAD
        yield _LaidRow(row.name, top, bottom, tuple(shapes))
        top = bottom


def _bar(time: _Time, each: DayStretch, span: tuple[float, float], top: float) -> Iterator[Shape]:
    left, width = span[0], span[1] - span[0]
    match each.kind:
        case "loan":
            yield Box(left, top, width, _BAR, "box")
        case "missing":
            yield Box(left, top, width, _BAR, "box dashed")
        case "pause":
            yield hatch(left, top, width, _BAR)
            yield Box(left, top, width, _BAR, "line")
        case "alarm":
            yield Box(left, top, width, _BAR, "box solid")
    changes = [at for when in each.changes if (at := time.span(when, when))]
    if changes:
        yield lines([[(at, top), (at, top + _BAR)] for at, _same in changes], "line")
    text = shorten(each.text, SMALL, width - 8)
    if text and each.kind != "pause":
        yield Words(left + 5, top + _BAR / 2 + 5, text, SMALL, kind="inside" if each.kind == "alarm" else "text")


def _mark(time: _Time, each: DayReport, span: tuple[float, float], middle: float) -> Iterator[Shape]:
    at = time.span(each.at, each.at)
    yield line(span[0], middle, span[1], middle, "line")
    if at is not None:
        x = at[0]
        corners = [(x - _DIAMOND, middle), (x, middle - _DIAMOND), (x + _DIAMOND, middle), (x, middle + _DIAMOND)]
        yield replace(lines([[*corners, corners[0]]]), kind="box solid")


def _name(row: _LaidRow) -> Shape:
    return Words(0, row.baseline, shorten(row.name, TEXT, _NAMES - 8), TEXT, kind="text strong")


def _frame(time: _Time, rows: Sequence[_LaidRow], left: float, right: float) -> Iterator[Shape]:
    """Times at the top, fine lines down from them and under each row."""
    top, bottom = rows[0].top, rows[-1].bottom
    ticks = time.ticks()
    yield lines([[(at, top), (at, bottom)] for at, _text in ticks], "hair")
    yield lines([[(left, row.bottom), (right, row.bottom)] for row in rows], "hair")
    yield line(left, top, right, top)
    for at, text in ticks:
        yield Words(at, top - 8, text, SMALL, "middle", "soft")


def _on_paper(facts: DayFacts, low: float, high: float) -> Drawing:
    """Strips of equal length under one another, those left out in which nothing happened."""
    step = max(min(_PAPER_MINUTES, high - low), (high - low) / _MOST_STRIPS)
    shapes: list[Shape] = []
    top = 0.0
    for number in range(ceil((high - low) / step)):
        begin = low + number * step
        time = _Time(facts, Axis(begin, begin + step, _NAMES + _MARGIN, _PAPER_WIDTH - _MARGIN))
        rows = list(_laid_out(time, facts.rows, top + _HEAD))
        if rows:
            shapes += _frame(time, rows, 0, _PAPER_WIDTH)
            shapes += map(_name, rows)
            shapes += flat(shape for row in rows for shape in row.shapes)
            top = rows[-1].bottom + _HEAD / 2
    return Drawing("paper", _PAPER_WIDTH, top, tuple(shapes))
