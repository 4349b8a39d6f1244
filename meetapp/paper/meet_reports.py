"""The report of a meet: the set, the day in numbers, the clash reports without names, what to change.

One page where the clash reports find room on it; the others go on pages behind it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate, zip_longest

from meetapp.flows.printing.meet_report import MeetReport
from meetapp.paper.pen import Face, Pen, Side, line_mm
from meetapp.paper.sizes import Paper

MARGIN_MM = 15.0
TOKENS_MAX, SILENT_MAX, ADVICE_MAX = 24, 3, 5
"""So many stand on the page; the others are counted."""

_REPORTS = "Clash reports and what each may have been"

_TEXT_PT, _HEAD_PT, _SMALL_PT = 9.0, 11.0, 8.0
_HEAD_GAP_MM, _ITEM_GAP_MM, _BESIDE_MM = 4.0, 0.8, 3.0
_HEAD_MM, _FOOT_MM = 21.0, 8.0
_NUMBERS_MM = 48.0
_REPORT_COLUMNS_MM = (13.0, 20.0, 46.0)
"""When, channel, look; the causes take what is left."""


@dataclass(frozen=True, slots=True)
class _Line:
    """Pieces of text on one baseline, each from so many mm right of the margin, with a gap above."""

    pieces: tuple[tuple[float, str], ...]
    size_pt: float = _TEXT_PT
    face: Face = Face.PLAIN
    gap_mm: float = 0.0

    @property
    def height(self) -> float:
        """In mm."""
        return self.gap_mm + line_mm(self.size_pt)


def meet_report_page(view: MeetReport, paper: Paper, made_at: datetime) -> bytes:
    """The report as a PDF. The first page holds everything but the clash reports that find no room; these follow."""
    pen = Pen(f"Meet report, {view.day.meet_name}", made_at)
    pen.new_page(paper)
    inner = paper.width_mm - 2 * MARGIN_MM
    _head(pen, view, paper)
    above, below = _above(pen, view, inner), _below(pen, view, inner)
    top = MARGIN_MM + _HEAD_MM
    room = paper.height_mm - MARGIN_MM - _FOOT_MM - top - _height(above) - _height(below)
    reports, rest = _reports(pen, view, inner, room)
    _write(pen, (*above, *reports, *below), top)
    _foot(pen, view, paper)
    while rest:
        pen.new_page(paper)
        _head(pen, view, paper)
        taken, rest = _fitting(rest, paper.height_mm - MARGIN_MM - _FOOT_MM - top - _height(_table_head(pen, inner)))
        _write(pen, (*_table_head(pen, inner), *(line for row in taken for line in row)), top)
        _foot(pen, view, paper)
    return pen.finished()


def _write(pen: Pen, lines: Iterable[_Line], top: float) -> None:
    for line in lines:
        top += line.height
        for x, text in line.pieces:
            pen.write(MARGIN_MM + x, top - 0.25 * line_mm(line.size_pt), text, line.size_pt, line.face)


def _foot(pen: Pen, view: MeetReport, paper: Paper) -> None:
    foot = f"In full, with names, for the organiser: {view.address}"
    pen.write_to_fit(MARGIN_MM, paper.height_mm - MARGIN_MM, foot, _SMALL_PT, paper.width_mm - 2 * MARGIN_MM)


def _height(lines: Sequence[_Line]) -> float:
    return sum(line.height for line in lines)


def _head(pen: Pen, view: MeetReport, paper: Paper) -> None:
    day, inner = view.day, paper.width_mm - 2 * MARGIN_MM
    right = paper.width_mm - MARGIN_MM
    pen.write_to_fit(MARGIN_MM, MARGIN_MM + 6, day.meet_name, 20, inner * 0.6, Face.BOLD)
    pen.write_to_fit(right, MARGIN_MM + 6, day.club_name, 11, inner * 0.38, side=Side.RIGHT)
    so_far = ", so far: the meet isn't closed" if view.is_so_far else ""
    pen.write_to_fit(
        MARGIN_MM, MARGIN_MM + 13, f"Report of {day.on_date.isoformat()}, {day.site_name}{so_far}", 11, inner
    )
    pen.line(MARGIN_MM, MARGIN_MM + 17, right, MARGIN_MM + 17, 0.6)


def _above(pen: Pen, view: MeetReport, inner: float) -> list[_Line]:
    measures = view.measures
    lines = [_heading("The set"), *_text(pen, _tokens(view), inner)]
    if measures.spacing_mhz is not None:
        clearance = "none" if measures.clearance_mhz is None else f"{measures.clearance_mhz:g} MHz"
        sums = f"Spacing {measures.spacing_mhz:g} MHz, clearance {clearance}, all of them on air."
        lines += _text(pen, f"{sums} By these sums; no promise of a clear picture.", inner)
    lines.append(_heading("The day in numbers"))
    for name, figures in view.numbers:
        lines += _row(pen, (name, figures), (_NUMBERS_MM,), inner)
    return lines


def _tokens(view: MeetReport) -> str:
    if not view.tokens:
        return "No token belongs to this meet."
    shown = view.tokens[:TOKENS_MAX]
    names = [f"{label}, {mhz} MHz" if label not in (f"{mhz}", f"{mhz} MHz") else f"{mhz} MHz" for label, mhz in shown]
    more = len(view.tokens) - len(shown)
    return "; ".join(names) + (f"; and {more} more" if more else "") + "."


_Row = Sequence[_Line]


def _reports(pen: Pen, view: MeetReport, inner: float, room_mm: float) -> tuple[list[_Line], Sequence[_Row]]:
    """What they come to and as many as the room holds; and those left over."""
    if not view.reports:
        return [_heading(_REPORTS), *_text(pen, "Nobody reported a clash.", inner)], ()
    added_up = f"Added up over all reports, of about so many each kind would be the cause: {view.kinds}."
    together = [_heading("Was it the channel set?"), *_text(pen, view.blame, inner), *_text(pen, added_up, inner)]
    head = _table_head(pen, inner)
    rows = [
        _row(pen, (each.when, each.channel, each.look, each.causes), _REPORT_COLUMNS_MM, inner)
        for each in view.reports
    ]
    room_mm -= _height(together) + _height(head)
    taken, rest = _fitting(rows, room_mm)
    if not rest:
        return [*together, *head, *(line for row in taken for line in row)], ()
    more = _text(pen, f"and {len(rows)} more on the next page", inner, _ITEM_GAP_MM)
    taken, rest = _fitting(rows, room_mm - _height(more))
    more = _text(pen, f"and {len(rest)} more on the next page", inner, _ITEM_GAP_MM)
    return [*together, *head, *(line for row in taken for line in row), *more], rest


def _table_head(pen: Pen, inner: float) -> list[_Line]:
    head = _row(pen, ("When", "Set to", "Look", "Possibly"), _REPORT_COLUMNS_MM, inner, Face.BOLD)
    return [_heading(_REPORTS), *head]


def _fitting(rows: Sequence[_Row], room_mm: float) -> tuple[Sequence[_Row], Sequence[_Row]]:
    """As many of these rows as the room holds, from the first on, and the others."""
    filled = accumulate(map(_height, rows))
    fit = sum(height <= room_mm for height in filled)
    return rows[:fit], rows[fit:]


def _below(pen: Pen, view: MeetReport, inner: float) -> list[_Line]:
    lines = []
    if view.silent:
        lines += [_heading("On air without a token, possibly"), *_items(pen, view.silent, SILENT_MAX, inner)]
    lines += [_heading("What to change"), *_items(pen, view.advice, ADVICE_MAX, inner)]
    return [*lines, _heading("What these figures can't do"), *_text(pen, view.limits, inner)]


def _items(pen: Pen, texts: Sequence[str], most: int, inner: float) -> list[_Line]:
    lines = [line for text in texts[:most] for line in _text(pen, text, inner, _ITEM_GAP_MM)]
    if len(texts) > most:
        lines += _text(pen, f"and {len(texts) - most} more", inner, _ITEM_GAP_MM)
    return lines


def _heading(text: str) -> _Line:
    return _Line(((0.0, text),), _HEAD_PT, Face.BOLD, _HEAD_GAP_MM)


def _text(pen: Pen, text: str, width_mm: float, gap_mm: float = 0.0) -> list[_Line]:
    wrapped = pen.wrapped(text, width_mm, _TEXT_PT)
    return [_Line(((0.0, piece),), gap_mm=0.0 if number else gap_mm) for number, piece in enumerate(wrapped)]


def _row(
    pen: Pen, cells: Sequence[str], columns_mm: Sequence[float], inner: float, face: Face = Face.PLAIN
) -> list[_Line]:
    """Cells side by side, each wrapped inside its column; the last one has the width that is left."""
    lefts = [sum(columns_mm[:at]) for at in range(len(cells))]
    widths = [*columns_mm, inner - sum(columns_mm) + _BESIDE_MM]
    wrapped = [
        pen.wrapped(cell, width - _BESIDE_MM, _TEXT_PT, face) for cell, width in zip(cells, widths, strict=True)
    ]
    return [
        _Line(
            tuple((left, piece) for left, piece in zip(lefts, pieces, strict=True) if piece),
            face=face,
            gap_mm=0.0 if number else _ITEM_GAP_MM,
        )
        for number, pieces in enumerate(zip_longest(*wrapped, fillvalue=""))
    ]
