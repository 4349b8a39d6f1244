"""Where a transmitter without a token may have been: a curve over the band, its 90 % interval, the channels in use.

The height at a frequency says how likely it was within a few MHz of there, so that the curve can be read by itself.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import lanes
from meetapp.drawings.shapes import SMALL, Box, Drawing, Layout, Picture, Shape, Words, hatch, line, lines
from meetapp.drawings.text_width import text_width

WITHIN_MHZ = 4
"""How far from a frequency still counts as there."""

_WIDTHS: tuple[tuple[Layout, float], ...] = (("wide", 860), ("narrow", 350))
_LEFT, _RIGHT, _TOP = 52.0, 18.0, 34.0
_CURVE = 150.0
_BESIDE_MHZ = 12
_TICK_ROOM = 50.0
_LANE = 19.0


@dataclass(frozen=True, slots=True)
class SilentAir:
    """`curve`: (MHz, share) ascending, shares sum to 1; the interval; the channels in use meanwhile, ascending."""

    curve: tuple[tuple[int, float], ...]
    from_mhz: int
    to_mhz: int
    in_use_mhz: tuple[int, ...]


def within(curve: Sequence[tuple[int, float]], mhz: float) -> float:
    """How likely it was within a few MHz of a frequency.

    >>> within([(5700, 0.25), (5704, 0.5), (5740, 0.25)], 5702)
    0.75
    """
    return sum(share for at, share in curve if abs(at - mhz) <= WITHIN_MHZ)


def silent_picture(air: SilentAir) -> Picture:
    """The curve in both layouts."""
    return Picture(
        "Where a transmitter without a token may have been",
        f"In nine of ten cases between {air.from_mhz} and {air.to_mhz} MHz. All figures are in the table below.",
        tuple(_drawing(air, layout, width) for layout, width in _WIDTHS),
    )


def _drawing(air: SilentAir, layout: Layout, width: float) -> Drawing:
    known = [*(mhz for mhz, _share in air.curve), *air.in_use_mhz, air.from_mhz, air.to_mhz]
    axis = Axis(min(known) - _BESIDE_MHZ, max(known) + _BESIDE_MHZ, _LEFT, width - _RIGHT)
    steps = list(_steps(air, axis))
    up = Axis(0, max(0.1, *(share for _mhz, share in steps)), _TOP + _CURVE, _TOP)
    chosen = lanes([_span(mhz, axis) for mhz in air.in_use_mhz], gap=6)
    foot = up.start + 62
    height = foot + (max(chosen, default=0) + 1) * _LANE + 10
    shapes = (
        *_interval(air, axis, up),
        *_frame(axis, up, width, foot),
        _curve(steps, axis, up),
        *_channels(air, axis, up, chosen, foot),
    )
    return Drawing(layout, width, height, shapes)


def _steps(air: SilentAir, axis: Axis) -> Iterator[tuple[float, float]]:
    """(MHz, share) wherever the curve changes, from the axis' beginning on."""
    last = -1.0
    for mhz in range(int(axis.low), int(axis.high) + 1):
        share = within(air.curve, mhz)
        if share != last:
            yield mhz, share
        last = share


def _curve(steps: Sequence[tuple[float, float]], axis: Axis, up: Axis) -> Shape:
    points = []
    for place, (mhz, share) in enumerate(steps):
        end = steps[place + 1][0] if place + 1 < len(steps) else axis.high
        points += [(axis.at(mhz), up.at(share)), (axis.at(end), up.at(share))]
    return lines([points], "mark")


def _interval(air: SilentAir, axis: Axis, up: Axis) -> Iterator[Shape]:
    left, right = axis.span(air.from_mhz, air.to_mhz)
    yield hatch(left, up.end, right - left, up.start - up.end)
    yield lines([[(at, up.end - 6), (at, up.start)] for at in (left, right)], "line dashed")
    text = f"9 of 10 cases: {air.from_mhz} to {air.to_mhz}"
    half = text_width(text, SMALL) / 2
    middle = min(max((left + right) / 2, axis.start + half), axis.end + _RIGHT - half)
    yield Words(middle, _TOP - 14, text, SMALL, "middle", "text strong")


def _frame(axis: Axis, up: Axis, width: float, foot: float) -> Iterator[Shape]:
    for part in (0.0, 0.5, 1.0):
        value = part * up.high
        yield line(_LEFT, up.at(value), width - _RIGHT, up.at(value), "line" if part == 0 else "hair")
        yield Words(_LEFT - 6, up.at(value) + 4.5, f"{100 * value:.0f} %", SMALL, "end", "text soft")
    for mhz in axis.ticks(_TICK_ROOM, MHZ_STEPS):
        yield line(axis.at(mhz), up.start, axis.at(mhz), up.start + 6)
        yield Words(axis.at(mhz), up.start + 22, str(mhz), SMALL, "middle", "text soft")
    yield Words(_LEFT, up.start + 42, "In use meanwhile, MHz", SMALL, kind="text soft")
    yield line(_LEFT, foot - 12, width - _RIGHT, foot - 12, "hair")


def _span(mhz: int, axis: Axis) -> tuple[float, float]:
    """Where the label of a channel stands, from edge to edge."""
    half = text_width(str(mhz), SMALL) / 2
    return axis.at(mhz) - half, axis.at(mhz) + half


def _channels(air: SilentAir, axis: Axis, up: Axis, chosen: Sequence[int], foot: float) -> Iterator[Shape]:
    for lane, mhz in zip(chosen, air.in_use_mhz, strict=True):
        yield line(axis.at(mhz), up.end, axis.at(mhz), up.start, "thin dashed")
        yield Box(axis.at(mhz) - 2, foot - 16, 4, 8, "solid")
        yield Words(axis.at(mhz), foot + 5 + lane * _LANE, str(mhz), SMALL, "middle", "text strong")
