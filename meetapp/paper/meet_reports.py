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

_TEXT_PT, _HEAD_PT, _SMALL_PT = (9.0, 8.25, 7.5), 11.0, 8.0
"""The text is as large as lets everything stand on one page; where none does, the largest, and pages behind."""

_HEAD_GAP_MM, _ITEM_GAP_MM, _BESIDE_MM = 3.0, 0.6, 3.0
_HEAD_MM, _FOOT_MM = 21.0, 8.0
_NUMBERS_MM = 48.0
_REPORT_COLUMNS_MM = (13.0, 19.0, 38.0)
"""When, channel, look; the causes take what is left."""


@dataclass(frozen=True, slots=True)
class _Line:
    """Pieces of text on one baseline, each from so many mm right of the margin, with a gap above."""

    pieces: tuple[tuple[float, str], ...]
    size_pt: float
    face: Face = Face.PLAIN
    gap_mm: float = 0.0

    @property
    def height(self) -> float:
        """In mm."""
        return self.gap_mm + line_mm(self.size_pt)


@dataclass(frozen=True, slots=True)
class _Type:
    """What text is wrapped with: the pen, the width between the margins, and how large it is."""

    pen: Pen
    inner: float
    text_pt: float

    def wrapped(self, text: str, width_mm: float, face: Face = Face.PLAIN) -> Sequence[str]:
        """Its lines at this size."""
        return self.pen.wrapped(text, width_mm, self.text_pt, face)


def meet_report_page(view: MeetReport, paper: Paper, made_at: datetime) -> bytes:
    """The report as a PDF. The first page holds everything but the clash reports that find no room; these follow."""
    pen = Pen(f"Meet report, {view.day.meet_name}", made_at)
    pen.new_page(paper)
    room = paper.height_mm - 2 * MARGIN_MM - _HEAD_MM - _FOOT_MM
    for text_pt in (*_TEXT_PT, _TEXT_PT[0]):
        type_ = _Type(pen, paper.width_mm - 2 * MARGIN_MM, text_pt)
        lines, rest = _first_page(type_, view, room)
        if not rest:
            break
    top = MARGIN_MM + _HEAD_MM
    _head(pen, view, paper)
    _write(pen, lines, top)
    _foot(pen, view, paper)
    while rest:
        pen.new_page(paper)
        _head(pen, view, paper)
        head = _table_head(type_)
        taken, rest = _fitting(rest, room - _height(head))
        _write(pen, (*head, *(line for row in taken for line in row)), top)
        _foot(pen, view, paper)
    return pen.finished()


def _first_page(type_: _Type, view: MeetReport, room_mm: float) -> tuple[list[_Line], Sequence["_Row"]]:
    """Everything but the reports that find no room, and those."""
    above, below = _above(type_, view), _below(type_, view)
    reports, rest = _reports(type_, view, room_mm - _height(above) - _height(below))
    return [*above, *reports, *below], rest


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


def _above(type_: _Type, view: MeetReport) -> list[_Line]:
    measures = view.measures
    lines = [_heading("The set"), *_text(type_, _tokens(view))]
    if measures.spacing_mhz is not None:
        clearance = "none" if measures.clearance_mhz is None else f"{measures.clearance_mhz:g} MHz"
        sums = f"Spacing {measures.spacing_mhz:g} MHz, clearance {clearance}, all of them on air."
        lines += _text(type_, f"{sums} By these sums; no promise of a clear picture.")
    lines.append(_heading("The day in numbers"))
    for name, figures in view.numbers:
        lines += _row(type_, (name, figures), (_NUMBERS_MM,))
    return lines


def _tokens(view: MeetReport) -> str:
    if not view.tokens:
        return "No token belongs to this meet."
    shown = view.tokens[:TOKENS_MAX]
    names = [f"{label}, {mhz} MHz" if label not in (f"{mhz}", f"{mhz} MHz") else f"{mhz} MHz" for label, mhz in shown]
    more = len(view.tokens) - len(shown)
    return "; ".join(names) + (f"; and {more} more" if more else "") + "."


_Row = Sequence[_Line]


def _reports(type_: _Type, view: MeetReport, room_mm: float) -> tuple[list[_Line], Sequence[_Row]]:
    """What they come to and as many as the room holds; and those left over."""
    if not view.reports:
        return [_heading(_REPORTS), *_text(type_, "Nobody reported a clash.")], ()
    added_up = f"Added up over all reports, of about so many each kind would be the cause: {view.kinds}."
    together = [_heading("Was it the channel set?"), *_text(type_, view.blame), *_text(type_, added_up)]
    head = _table_head(type_)
    rows = [_row(type_, (each.when, each.channel, each.look, each.causes), _REPORT_COLUMNS_MM) for each in view.reports]
    room_mm -= _height(together) + _height(head)
    taken, rest = _fitting(rows, room_mm)
    if not rest:
        return [*together, *head, *(line for row in taken for line in row)], ()
    more = _text(type_, f"and {len(rows)} more on the next page", _ITEM_GAP_MM)
    taken, rest = _fitting(rows, room_mm - _height(more))
    more = _text(type_, f"and {len(rest)} more on the next page", _ITEM_GAP_MM)
    return [*together, *head, *(line for row in taken for line in row), *more], rest


def _table_head(type_: _Type) -> list[_Line]:
    head = _row(type_, ("When", "Set to", "Look", "Possibly"), _REPORT_COLUMNS_MM, Face.BOLD)
    return [_heading(_REPORTS), *head]


def _fitting(rows: Sequence[_Row], room_mm: float) -> tuple[Sequence[_Row], Sequence[_Row]]:
    """As many of these rows as the room holds, from the first on, and the others."""
    filled = accumulate(map(_height, rows))
    fit = sum(height <= room_mm for height in filled)
    return rows[:fit], rows[fit:]


def _below(type_: _Type, view: MeetReport) -> list[_Line]:
    lines = []
    if view.silent:
        lines += [_heading("On air without a token, possibly"), *_items(type_, view.silent, SILENT_MAX)]
    lines += [_heading("What to change"), *_items(type_, view.advice, ADVICE_MAX)]
    return [*lines, _heading("What these figures can't do"), *_text(type_, view.limits)]


def _items(type_: _Type, texts: Sequence[str], most: int) -> list[_Line]:
    lines = [line for text in texts[:most] for line in _text(type_, text, _ITEM_GAP_MM)]
    if len(texts) > most:
        lines += _text(type_, f"and {len(texts) - most} more", _ITEM_GAP_MM)
    return lines


def _heading(text: str) -> _Line:
    return _Line(((0.0, text),), _HEAD_PT, Face.BOLD, _HEAD_GAP_MM)


def _text(type_: _Type, text: str, gap_mm: float = 0.0) -> list[_Line]:
    wrapped = type_.wrapped(text, type_.inner)
    return [
        _Line(((0.0, piece),), type_.text_pt, gap_mm=0.0 if number else gap_mm) for number, piece in enumerate(wrapped)
    ]


def _row(type_: _Type, cells: Sequence[str], columns_mm: Sequence[float], face: Face = Face.PLAIN) -> list[_Line]:
    """Cells side by side, each wrapped inside its column; the last one has the width that is left."""
    lefts = [sum(columns_mm[:at]) for at in range(len(cells))]
    widths = [*columns_mm, type_.inner - sum(columns_mm) + _BESIDE_MM]
    wrapped = [type_.wrapped(cell, width - _BESIDE_MM, face) for cell, width in zip(cells, widths, strict=True)]
    return [
        _Line(
            tuple((left, piece) for left, piece in zip(lefts, pieces, strict=True) if piece),
            type_.text_pt,
            face=face,
            gap_mm=0.0 if number else _ITEM_GAP_MM,
        )
        for number, pieces in enumerate(zip_longest(*wrapped, fillvalue=""))
    ]
