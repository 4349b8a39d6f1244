"""Sheets of tags: fronts, and backs in mirrored order where both sides are printed."""

from datetime import datetime

from meetapp.flows.printing.tags import TagsToPrint
from meetapp.paper.pen import Face, Pen, Side
from meetapp.paper.sizes import Paper
from meetapp.paper.tag_faces import draw_back, draw_front
from meetapp.paper.tag_places import (
    COLUMNS,
    PITCH_X_MM,
    PITCH_Y_MM,
    TOP_MM,
    left_of,
    place,
    tags_on,
)

RULER_MM = 100.0
"""The line that shows whether the printer kept the scale."""

_DIRECTIONS = (
    "Cut each tag out along the full line, laminate it with the rim around it, then cut the film along the dashes.",
    "Punch the hole last: 6 mm, for a cable tie.",
)


def tag_sheets(view: TagsToPrint, paper: Paper, base: str, made_at: datetime, *, is_double_sided: bool) -> bytes:
    """The tags as a PDF, exact in millimetres. `base`: the address at the field, for the codes to scan.

    Double-sided: each sheet of fronts is followed by its backs, to be turned over the long edge.
    """
    pen = Pen(f"Tags, {view.club_name}", made_at, is_double_sided=is_double_sided)
    on_sheet = tags_on(paper)
    sheets = [view.tags[first : first + on_sheet] for first in range(0, len(view.tags), on_sheet)]
    for number, tags in enumerate(sheets, start=1):
        pen.new_page(paper)
        _film_lines(pen, paper, len(tags))
        for at, tag in enumerate(tags):
            draw_front(pen, tag, place(paper, at), base, view.near_mhz)
        _foot(pen, paper, f"{view.club_name} · sheet {number} of {len(sheets)}")
        if is_double_sided:
            pen.new_page(paper)
            for at, tag in enumerate(tags):
                draw_back(pen, view, tag, place(paper, at, is_back=True))
    return pen.finished()


def _film_lines(pen: Pen, paper: Paper, count: int) -> None:
    """Where the film is cut: around the rims of these tags, each line once."""
    left = left_of(paper)
    rows = -(-count // COLUMNS)
    for row in range(rows + 1):
        columns = min(COLUMNS, count if row == 0 else count - (row - 1) * COLUMNS)
        y = TOP_MM + row * PITCH_Y_MM
        pen.line(left, y, left + columns * PITCH_X_MM, y, 0.15, is_dashed=True)
    for column in range(COLUMNS + 1):
        deep = rows if column < COLUMNS or count % COLUMNS == 0 else rows - 1
        x = left + column * PITCH_X_MM
        pen.line(x, TOP_MM, x, TOP_MM + deep * PITCH_Y_MM, 0.15, is_dashed=True)


def _foot(pen: Pen, paper: Paper, words: str) -> None:
    left, right = left_of(paper), paper.width_mm - left_of(paper)
    y = paper.height_mm - 8
    pen.line(left, y, left + RULER_MM, y, 0.3)
    for end in (left, left + RULER_MM):
        pen.line(end, y - 1.5, end, y + 1.5, 0.3)
    pen.write(left + 1.5, y - 1.2, "Print at 100 %, without scaling: this line is 100 mm long.", 7.5)
    pen.write(right, y, words, 7.5, side=Side.RIGHT)
    pen.write(left, y - 8.2, _DIRECTIONS[0], 7.5, Face.BOLD)
    pen.write(left, y - 5, _DIRECTIONS[1], 7.5, Face.BOLD)
