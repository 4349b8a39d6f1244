"""The loan sheet of a day, to be filled in by hand; its rows are typed in at the desk afterwards, in the same order."""

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise

from meetapp.flows.desk.paper import ROWS_MAX
from meetapp.flows.printing.loan_sheet import LoanSheet
from meetapp.flows.snapshot import OnAir
from meetapp.paper.pen import Face, Pen, Side, line_mm
from meetapp.paper.sizes import Paper
from meetapp.paper.tag_faces import CAUTION

MARGIN_MM = 12.0
ROW_MIN_MM = 7.8
"""The least height of a row that is still written into by hand, standing in a field."""

BLANK_MIN = 8
"""A sheet with fewer free rows isn't worth carrying: another one is added."""

KNOWN_ROWS_MAX = 12
"""How many loans that are out already stand on a sheet before the free rows."""

_COLUMNS = (("", 9.0), ("Token", 22.0), ("Pilot", 0.0), ("Out", 20.0), ("In", 20.0), ("Set to, MHz", 36.0))
"""Heads and widths in mm, as the desk asks for them; 0 takes what is left."""

_CAUTION_SIZES_PT, _CAUTION_LINES_MAX = (8.5, 7.5, 6.5), 8


def loan_sheets(view: LoanSheet, paper: Paper, made_at: datetime) -> bytes:
    """The sheet as a PDF. Loans that are out now stand in its first rows, so they aren't entered again."""
    pen = Pen(f"Loan sheet, {view.day.meet_name}", made_at)
    parts = [view.on_air[at : at + KNOWN_ROWS_MAX] for at in range(0, len(view.on_air), KNOWN_ROWS_MAX)] or [()]
    for known in parts:
        pen.new_page(paper)
        top = _head(pen, view, paper)
        _table(pen, view, paper, top, known)
    return pen.finished()


def _head(pen: Pen, view: LoanSheet, paper: Paper) -> float:
    """Title, tokens and cautions; gives where the table may begin."""
    left, right, inner = MARGIN_MM, paper.width_mm - MARGIN_MM, paper.width_mm - 2 * MARGIN_MM
    day = view.day
    pen.write(left, 20, "Loan sheet", 20, Face.BOLD)
    half = inner - 50
    pen.write_to_fit(right, 16, f"{day.meet_name}, {day.site_name}", 11, half, Face.BOLD, Side.RIGHT)
    pen.write_to_fit(right, 21, f"{day.on_date.isoformat()} · times in {view.zone.key}", 10, half, side=Side.RIGHT)
    y = 24.0
    for line in pen.wrapped(f"Tokens: {_tokens(view)}", inner, 9):
        y += line_mm(9)
        pen.write(left, y, line, 9)
    y += 3
    words = day.safety_words or (CAUTION,)
    size, cautions = pen.wrapped_to_fit(words, inner - 6, _CAUTION_SIZES_PT, _are_few, Face.BOLD)
    lines = [line for caution in cautions for line in caution]
    height = line_mm(size)
    for number, line in enumerate(lines, start=1):
        pen.write(left + 3, y + number * height + 0.8, line, size, Face.BOLD)
    pen.box(left, y, inner, len(lines) * height + 3, 0.5)
    return y + len(lines) * height + 6


def _are_few(_size: float, cautions: list[list[str]]) -> bool:
    return sum(map(len, cautions)) <= _CAUTION_LINES_MAX


def _tokens(view: LoanSheet) -> str:
    named = (
        f"{token.label} {token.nominal_mhz}" if token.label != str(token.nominal_mhz) else token.label
        for token in view.tokens
    )
    return ", ".join(f"{name} ({token.code})" for name, token in zip(named, view.tokens, strict=True)) or "none yet"


def _table(pen: Pen, view: LoanSheet, paper: Paper, top: float, known: Sequence[OnAir]) -> None:
    bottom = paper.height_mm - MARGIN_MM - 5
    room = int((bottom - top) / ROW_MIN_MM) - 1
    blank = max(min(room - len(known), ROWS_MAX), BLANK_MIN)
    height = (bottom - top) / (len(known) + blank + 1)
    edges = _edges(paper)
    rows = [tuple(head for head, _width in _COLUMNS)]
    rows += [_known(view, loan) for loan in known]
    rows += [(str(number), "", "", "", "", "") for number in range(1, blank + 1)]
    for at, row in enumerate(rows):
        y = top + at * height
        face = Face.BOLD if at == 0 else Face.PLAIN
        for words, (left, right) in zip(row, pairwise(edges), strict=True):
            if words:
                pen.write_to_fit(left + 1.5, y + height / 2 + 1.3, words, 10, right - left - 3, face)
        pen.line(edges[0], y + height, edges[-1], y + height, 0.5 if at == 0 else 0.2)
    for edge in edges:
        pen.line(edge, top, edge, top + len(rows) * height, 0.2)
    pen.line(edges[0], top, edges[-1], top, 0.2)
    pen.write(edges[0], paper.height_mm - MARGIN_MM, _note(known), 8)


def _edges(paper: Paper) -> list[float]:
    left_over = paper.width_mm - 2 * MARGIN_MM - sum(width for _head, width in _COLUMNS)
    edges = [MARGIN_MM]
    for _head, width in _COLUMNS:
        edges.append(edges[-1] + (width or left_over))
    return edges


def _known(view: LoanSheet, loan: OnAir) -> tuple[str, ...]:
    channel = loan.label if str(loan.mhz) in loan.label else f"{loan.label}, {loan.mhz}"
    return "*", loan.token_label, loan.who, loan.out_at.astimezone(view.zone).strftime("%H:%M"), "", channel


def _note(known: Sequence[OnAir]) -> str:
    words = "Type the rows in at the desk afterwards: without MHz the pilot's nearest channel counts."
    return f"{words} * The tool knows this loan." if known else words
