"""The trade-off as a drawing: clearance up, spacing across, a falling step for the wanted count, a ring for each other.

The step says: at this spacing, this much clearance is the most. Filled marks are sets that can be picked.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import spread
from meetapp.drawings.shapes import SMALL, Box, Drawing, Layout, Part, Picture, Shape, Stroke, Words, line, lines, short
from meetapp.drawings.text_width import text_width

_WIDTHS: tuple[tuple[Layout, float], ...] = (("wide", 860), ("narrow", 350))
_HEIGHT = 330
_LEFT, _RIGHT, _TOP, _BOTTOM = 46, 16, 34, 52
_MARK, _RING = 5, 6
_TICK_ROOM = 46
_FURTHER = 1
"""A ring further right of the step than so many times its length isn't drawn; it stands in the table."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """A set: its count, the spacings that it is the best for (from, to), its clearance as far as it counts; MHz.

    `hint` says all of it in words, `href` leads to the question that gets it. `is_proven` False: there may be more.
    """

    count: int
    from_mhz: float
    spacing_mhz: float
    clearance_mhz: float
    hint: str
    href: str
    is_proven: bool
    is_asked: bool


@dataclass(frozen=True, slots=True)
class Curve:
    """The wanted count by ascending spacing, one point for each other count, and the most that clearance counts."""

    count: int
    wanted: tuple[CurvePoint, ...]
    others: tuple[CurvePoint, ...]
    useful_mhz: float


def trade_off_picture(curve: Curve) -> Picture | None:
    """The drawing in both layouts; None while there is no point to draw."""
    if not curve.wanted and not curve.others:
        return None
    return Picture(
        "Spacing against clearance",
        f"A step for {curve.count} channels and a ring for the best set of each other number; all figures are in the "
        "table below.",
        tuple(_drawing(curve, layout, width) for layout, width in _WIDTHS),
    )


def _drawing(curve: Curve, layout: Layout, width: float) -> Drawing:
    others = _in_sight(curve)
    points = (*curve.wanted, *others)
    lowest = min(point.from_mhz for point in points)
    highest = max(point.spacing_mhz for point in points)
    across = Axis(lowest - 2, max(highest, lowest + 8) + 4, _LEFT, width - _RIGHT)
    least = min(0.0, min(point.clearance_mhz for point in points))
    up = Axis(least, max(curve.useful_mhz, 1) + 1, _HEIGHT - _BOTTOM, _TOP)
    shapes = (
        *_frame(across, up, width),
        *_step(curve.wanted, across, up),
        *(_ring(point, across, up) for point in others),
        *_names(others, across, up, width),
        *(_dot(point, across, up) for point in curve.wanted),
    )
    return Drawing(layout, width, _HEIGHT, shapes)


def _in_sight(curve: Curve) -> tuple[CurvePoint, ...]:
    """The other numbers without those so far apart that the step would shrink to nothing."""
    if not curve.wanted:
        return curve.others
    low, high = curve.wanted[0].from_mhz, curve.wanted[-1].spacing_mhz
    return tuple(point for point in curve.others if point.spacing_mhz <= high + _FURTHER * (high - low))


def _frame(across: Axis, up: Axis, width: float) -> Iterator[Shape]:
    yield Words(4, 16, "Clearance, MHz", SMALL, kind="text soft")
    yield Words(width - _RIGHT, _HEIGHT - 8, "Spacing, MHz", SMALL, "end", "text soft")
    for value in up.ticks(40, MHZ_STEPS):
        yield line(_LEFT, up.at(value), width - _RIGHT, up.at(value), "hair")
        yield Words(_LEFT - 8, up.at(value) + 4.5, str(value), SMALL, "end", "text soft")
    yield line(_LEFT, up.at(up.low), width - _RIGHT, up.at(up.low))
    for value in across.ticks(_TICK_ROOM, MHZ_STEPS):
        yield line(across.at(value), up.at(up.low), across.at(value), up.at(up.low) + 6)
        yield Words(across.at(value), up.at(up.low) + 22, str(value), SMALL, "middle", "text soft")


def _step(wanted: Sequence[CurvePoint], across: Axis, up: Axis) -> Iterator[Shape]:
    """Level as long as a set is the best, down where the next one takes over; dashed where a level isn't proven."""
    from_mhz = wanted[0].from_mhz if wanted else 0
    for point in wanted:
        level = [(across.at(at), up.at(point.clearance_mhz)) for at in (from_mhz, point.spacing_mhz)]
        yield lines([level], "mark" if point.is_proven else "mark dashed")
        from_mhz = point.spacing_mhz
    down = [
        [(across.at(a.spacing_mhz), up.at(each.clearance_mhz)) for each in (a, b)] for a, b in pairwise(wanted)
    ]
    if down:
        yield lines(down, "mark")


def _dot(point: CurvePoint, across: Axis, up: Axis) -> Part:
    """A set of the wanted count: a filled square, with a second frame around the one that is asked for."""
    x, y = across.at(point.spacing_mhz), up.at(point.clearance_mhz)
    shapes: list[Shape] = [Box(x - 12, y - 12, 24, 24, "touch")]
    if point.is_asked:
        shapes.append(Box(x - 10, y - 10, 20, 20, "line"))
    kind = "solid" if point.is_proven else "inside line"
    shapes.append(Box(x - _MARK, y - _MARK, 2 * _MARK, 2 * _MARK, kind))
    return Part(tuple(shapes), point.hint, point.href)


def _ring(point: CurvePoint, across: Axis, up: Axis) -> Part:
    x, y = across.at(point.spacing_mhz), up.at(point.clearance_mhz)
    ring = Stroke(
        f"M{short(x - _RING)} {short(y)}a{_RING} {_RING} 0 1 0 {2 * _RING} 0a{_RING} {_RING} 0 1 0 {-2 * _RING} 0z",
        "inside line" if point.is_proven else "inside line dashed",
    )
    return Part((Box(x - 12, y - 12, 24, 24, "touch"), ring), point.hint, point.href)


def _names(others: Sequence[CurvePoint], across: Axis, up: Axis, width: float) -> Iterator[Shape]:
    """How many channels each ring stands for, above it; those at one height keep apart."""
    by_height: dict[float, list[CurvePoint]] = {}
    for point in others:
        by_height.setdefault(round(up.at(point.clearance_mhz) / 18), []).append(point)
    for level in by_height.values():
        level.sort(key=lambda point: point.spacing_mhz)
        texts = [str(point.count) for point in level]
        lengths = [text_width(text, SMALL) for text in texts]
        middles = spread([across.at(point.spacing_mhz) for point in level], lengths, _LEFT, width, gap=3)
        height = min(up.at(point.clearance_mhz) for point in level)
        for text, middle in zip(texts, middles, strict=True):
            yield Words(middle, height - 10, text, SMALL, "middle", "text strong")
