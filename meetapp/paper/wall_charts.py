"""The wall chart: every plan against a true frequency axis, the day's set through all of them, the list by token."""

from collections.abc import Sequence
from datetime import datetime

from meetapp.drawings.axis import Axis
from meetapp.flows.printing.tags import TagToPrint
from meetapp.flows.printing.wall_chart import WallChart
from meetapp.paper.chart_rows import (
    PlanRow,
    ProductsRow,
    Row,
    Ruling,
    ScaleRow,
    SetRow,
    Stretch,
    StretchRow,
)
from meetapp.paper.pen import Face, Pen, Side
from meetapp.paper.sizes import PAPERS, Paper, PaperName
from meetapp.paper.tag_faces import near_words
from meetapp.spectrum.products import Hit, product_text

NO_PROMISE = "By these sums; no promise of a clear picture."

_MARGIN_MM, _NAMES_MM, _HEAD_MM, _FOOT_MM = 10.0, 25.0, 17.0, 5.0
_BESIDE_MHZ = 12
"""How far the axis goes on beyond the outermost channel."""

_SHRINK = 0.95
_LINE_MM = 4.4
_MOST_SPACE_MM = 3.0
"""How much the rows may be spread where the page has room."""


def wall_chart_page(view: WallChart, paper: Paper, made_at: datetime) -> bytes:
    """The wall chart as a PDF of one page, broadside. Everything grows with the paper and shrinks until it fits."""
    pen = Pen(f"Wall chart, {view.day.meet_name}", made_at)
    lying = paper.lying
    pen.new_page(lying)
    unit = lying.width_mm / PAPERS[PaperName.A4].lying.width_mm
    rows = _rows(view)
    while (spare := _spare(rows, view, _ruling(pen, view, lying, unit), lying)) < 0:
        unit *= _SHRINK
    ruling = _ruling(pen, view, lying, unit)
    _head(ruling, view, lying)
    _draw(rows, ruling, view, lying, min(spare / len(rows), _MOST_SPACE_MM * unit))
    return pen.finished()


def _ruling(pen: Pen, view: WallChart, paper: Paper, unit: float) -> Ruling:
    """The axis holds every channel and the set, with a little on either side."""
    mhz = [channel.mhz for plan in view.plans for channel in plan.channels] + [token.mhz for token in view.tokens]
    low, high = min(mhz) - _BESIDE_MHZ, max(mhz) + _BESIDE_MHZ
    axis = Axis(low, high, _MARGIN_MM + _NAMES_MM * unit, paper.width_mm - _MARGIN_MM)
    return Ruling(pen, axis, _MARGIN_MM, unit)


def _rows(view: WallChart) -> tuple[Row, ...]:
    set_mhz = frozenset(token.mhz for token in view.tokens)
    bands = [
        Stretch(each.low_mhz, each.high_mhz, f"{each.low_mhz} to {each.high_mhz}{_power(each.power_mw)}")
        for each in view.segments
    ]
    neighbours = [
        Stretch(*each.edges_mhz, f"{each.label}, {each.centre_mhz}, {each.width_mhz:g} wide")
        for each in view.neighbours
    ]
    return (
        SetRow(view.tokens),
        ScaleRow(),
        *(PlanRow(plan, set_mhz) for plan in view.plans),
        ProductsRow("2a − b", view.two_signal_mhz),
        ProductsRow("a + b − c", view.three_signal_mhz),
        StretchRow("Band", bands),
        StretchRow("Neighbours", neighbours, grey=0.82),
    )


def _power(power_mw: float | None) -> str:
    return "" if power_mw is None else f", {power_mw:g} mW"


def _spare(rows: Sequence[Row], view: WallChart, ruling: Ruling, paper: Paper) -> float:
    """How much of the page's height is left; below 0 where it doesn't fit."""
    high = sum(row.height(ruling) for row in rows) + _list_height(view) * ruling.unit
    return paper.height_mm - 2 * _MARGIN_MM - (_HEAD_MM + _FOOT_MM) * ruling.unit - high


def _head(ruling: Ruling, view: WallChart, paper: Paper) -> None:
    pen, unit, day = ruling.pen, ruling.unit, view.day
    left, right = _MARGIN_MM, paper.width_mm - _MARGIN_MM
    half = (right - left) / 2 - 2
    pen.write_to_fit(left, _MARGIN_MM + 6 * unit, day.meet_name, 20 * unit, half, Face.BOLD)
    pen.write_to_fit(left, _MARGIN_MM + 12 * unit, _measured(view), 9 * unit, 2 * half)
    where = f"{day.club_name}, {day.site_name}, {day.on_date.isoformat()}"
    pen.write_to_fit(right, _MARGIN_MM + 6 * unit, where, 11 * unit, half, side=Side.RIGHT)


def _measured(view: WallChart) -> str:
    if not view.tokens:
        return "No token belongs to this meet yet."
    spacing, clearance = view.measures.spacing_mhz, view.measures.clearance_mhz
    words = [f"{len(view.tokens)} tokens" if len(view.tokens) != 1 else "1 token"]
    words += [f"spacing {spacing:g} MHz"] if spacing is not None else []
    words += [f"clearance {clearance:g} MHz"] if clearance is not None else []
    return f"{', '.join(words)}, all of them on air at their own frequencies. {NO_PROMISE}"


def _draw(rows: Sequence[Row], ruling: Ruling, view: WallChart, paper: Paper, space: float) -> None:
    first = _MARGIN_MM + _HEAD_MM * ruling.unit
    tops = [first]
    for row in rows:
        tops.append(tops[-1] + row.height(ruling) + space)
    for mhz in sorted({token.mhz for token in view.tokens}):
        ruling.pen.line(ruling.axis.at(mhz), tops[1], ruling.axis.at(mhz), tops[-1] - space, 0.25 * ruling.unit)
    for row, top in zip(rows, tops, strict=False):
        row.draw(ruling, top)
    ruling.pen.line(_MARGIN_MM, tops[-1], ruling.axis.end, tops[-1], 0.5 * ruling.unit)
    _lists(ruling, view, paper, tops[-1])
    legend = (
        f"White on black: the set; the grey bar is as wide as an analogue carrier. Products of the third order of the "
        f"whole set as marks. Band profile: {view.band_name}."
    )
    wide = paper.width_mm - 2 * _MARGIN_MM
    ruling.pen.write_to_fit(_MARGIN_MM, paper.height_mm - _MARGIN_MM, legend, 7 * ruling.unit, wide)


def _columns(view: WallChart) -> int:
    return 2 if len(view.tokens) <= 16 else 3


def _list_height(view: WallChart) -> float:
    """Heads and lines, on A4."""
    return 7 + _LINE_MM * max(-(-len(view.tokens) // _columns(view)), len(view.nearest), 1)


def _lists(ruling: Ruling, view: WallChart, paper: Paper, top: float) -> None:
    """By token on the left; on the right the products that fall nearest to a carrier."""
    pen, unit = ruling.pen, ruling.unit
    inner = paper.width_mm - 2 * _MARGIN_MM
    nearest_wide = 62 * unit if view.nearest else 0
    columns = _columns(view)
    wide = (inner - nearest_wide) / columns
    pen.write(_MARGIN_MM, top + 5.2 * unit, "By token", 9 * unit, Face.BOLD)
    per_column = -(-len(view.tokens) // columns)
    for at, token in enumerate(view.tokens):
        column, line = divmod(at, per_column)
        baseline = top + (10 + _LINE_MM * line) * unit
        _token_line(ruling, token, _MARGIN_MM + column * wide, baseline, wide - 2 * unit)
    if view.nearest:
        left = _MARGIN_MM + inner - nearest_wide
        pen.write(left, top + 5.2 * unit, "Products nearest to a carrier", 9 * unit, Face.BOLD)
        for line, hit in enumerate(view.nearest):
            baseline = top + (10 + _LINE_MM * line) * unit
            pen.write_to_fit(left, baseline, hit_words(hit), 8 * unit, nearest_wide)


def _token_line(ruling: Ruling, token: TagToPrint, left: float, baseline: float, wide: float) -> None:
    pen, unit = ruling.pen, ruling.unit
    label, mhz, code = wide * 0.2, wide * 0.17, wide * 0.22
    pen.write_to_fit(left, baseline, token.label, 9.5 * unit, label - unit, Face.BOLD)
    pen.write_to_fit(left + label, baseline, str(token.mhz), 8.5 * unit, mhz - unit)
    pen.write_to_fit(left + label + mhz, baseline, token.code, 8.5 * unit, code - unit, Face.CODE)
    same = f"= {', '.join(token.also_called)}" if token.also_called else ""
    near = f"near {', '.join(map(near_words, token.near))}" if token.near else ""
    if beside := "; ".join(filter(None, (same, near))):
        pen.write_to_fit(left + label + mhz + code, baseline, beside, 8 * unit, wide - label - mhz - code)


def hit_words(hit: Hit) -> str:
    """A product and what it falls near to.

    >>> from meetapp.spectrum.products import Product
    >>> hit_words(Hit(Product(5732, "2a-b", (5695, 5658), 60), 5740, 8))
    '2 x 5695 - 5658 falls 8 MHz from 5740'
    """
    where = f"{hit.distance_mhz:g} MHz from" if hit.distance_mhz else "right on"
    return f"{product_text(hit.product.kind, hit.product.sources)} falls {where} {hit.victim_mhz}"
