"""The narrow layout of an air picture: the axis runs down the page, labels stand beside their carriers."""

from collections.abc import Sequence
from itertools import pairwise

from meetapp.drawings import air_lanes
from meetapp.drawings.air_strips import Strip, distance_text, neighbour_text, segment_text
from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import lanes, spread
from meetapp.drawings.shapes import LARGE, SMALL, TEXT, Box, Drawing, Shape, Words, hatch, lines
from meetapp.drawings.sheet import Sheet, Span
from meetapp.drawings.text_width import shorten, text_width
from meetapp.spectrum.air import AirCarrier, AirFacts

WIDTH = 360.0
_HEADING, _HEADS = 24.0, 22.0
_ROW, _WHO_ROW = 22.0, 18.0
_LENGTH = 400.0
"""The least length of the axis."""
_TICKS_END, _AXIS_AT, _TICK = 37.0, 43.0, 4.0
_BAR, _LANE, _LEADERS = 11.0, 14.0, 12.0
_BLOCKS, _BLOCKS_OF_TWO = 40.0, 24.0
_MHZ_LENGTH = 50.0
_TICK_ROOM, _LEGEND_ROW = 24.0, 19.0
_SAMPLE = (2.0, 34.0)
_SHEET = Sheet(upright=True)


def drawn(strips: Sequence[Strip], least_length: float = _LENGTH) -> Drawing:
    """The strips beside each other, to the left what they share: the axis, the band, neighbours; a legend below.

    The axis gets at least that long, and longer where the labels need it.
    """
    facts = strips[0].facts
    top = _HEADS + (_HEADING if any(strip.heading for strip in strips) else 0)
    length = max(least_length, *(sum(_heights(strip)) for strip in strips))
    axis = Axis(facts.low_mhz, facts.high_mhz, top, top + length)
    shapes, left = _shared(axis, facts)
    clear = [(_AXIS_AT, left)]
    edges = [left + (WIDTH - left) * number / len(strips) for number in range(len(strips) + 1)]
    for strip, across in zip(strips, pairwise(edges), strict=True):
        more, end = _strip(axis, strip, across, is_alone=len(strips) == 1)
        shapes += more
        clear.append((across[0], end))
    ticks = axis.ticks(_TICK_ROOM, MHZ_STEPS)
    legend, bottom = _legend(facts, top + length + 8)
    grid = air_lanes.grid(_SHEET, axis, ticks, clear)
    return Drawing("narrow", WIDTH, bottom, (grid, *shapes, *_axis(axis, ticks), *legend))


def _heights(strip: Strip) -> list[float]:
    return [_ROW + (_WHO_ROW if strip.has_holders else 0)] * len(strip.facts.carriers)


def _axis(axis: Axis, ticks: Sequence[int]) -> list[Shape]:
    return [
        _SHEET.lines([[(axis.start, _AXIS_AT), (axis.end, _AXIS_AT)]]),
        _SHEET.strokes((axis.at(tick) for tick in ticks), (_AXIS_AT - _TICK, _AXIS_AT)),
        *(Words(_TICKS_END, axis.at(tick) + 4.5, str(tick), SMALL, "end", "soft") for tick in ticks),
    ]


def _shared(axis: Axis, facts: AirFacts) -> tuple[list[Shape], float]:
    """The band's lines and the neighbours' blocks; the answer also says where they end."""
    shapes: list[Shape] = []
    band = [axis.span(each.low_mhz, each.high_mhz) for each in facts.segments]
    beside = [axis.span(*each.edges_mhz) for each in facts.neighbours]
    left = _AXIS_AT + _BAR / 2
    for segment, lane in zip(facts.segments, in_band := lanes(band), strict=True):
        shapes += air_lanes.segment_line(_SHEET, axis, segment, left + (lane + 0.5) * _BAR)
    left += _BAR * (max(in_band, default=-1) + 1)
    for neighbour, lane in zip(facts.neighbours, taken := lanes(beside), strict=True):
        at = left + lane * _BAR
        shapes += air_lanes.neighbour_block(_SHEET, axis, neighbour, (at + 2, at + _BAR))
    return shapes, left + _BAR * (max(taken, default=-1) + 1) + 6


def _strip(axis: Axis, strip: Strip, across: Span, *, is_alone: bool) -> tuple[list[Shape], float]:
    """One set between two edges; the answer also says where its lanes end and its labels begin."""
    three, two = across[0], across[0] + _LANE + 4
    block = two + _LANE + 4
    leaders = block + (_BLOCKS if is_alone else _BLOCKS_OF_TWO)
    labels = (leaders + _LEADERS + 3, across[1] - (8 if across[1] < WIDTH else 0))
    shapes: list[Shape] = [air_lanes.centre_lines(_SHEET, axis, strip.facts, (three - 2, leaders))]
    for signals, at in ((3, three), (2, two)):
        shapes += air_lanes.product_lane(_SHEET, axis, strip.facts, signals, (at, at + _LANE))
        shapes.append(Words(at + _LANE / 2, axis.start - 8, str(signals), SMALL, "middle", "soft"))
    shapes += air_lanes.carrier_blocks(_SHEET, axis, strip.facts, (block, leaders))
    # Two strips beside each other leave no room for distances: there the tables say how far products are.
    shows_distances = strip.has_distances and is_alone
    carriers = strip.facts.carriers
    heights = _heights(strip)
    places = spread([axis.at(each.carrier.mhz) for each in carriers], heights, axis.start, axis.end)
    to_labels = [
        [(axis.at(each.carrier.mhz), leaders), (at, leaders + _LEADERS)]
        for each, at in zip(carriers, places, strict=True)
    ]
    shapes.append(_SHEET.lines(to_labels, "thin"))
    shapes += _heads(strip, across[0], labels, axis.start, shows_distances)
    for each, at, height in zip(carriers, places, heights, strict=True):
        shapes += _label(each, labels, at - height / 2, shows_distances)
    return shapes, leaders


def _heads(strip: Strip, left: float, labels: Span, top: float, shows_distances: bool) -> list[Shape]:
    heads: list[Shape] = [Words(labels[0], top - 8, "MHz", SMALL, kind="soft")]
    if shows_distances:
        heads.append(Words(labels[1], top - 8, "MHz to a product", SMALL, "end", "soft"))
    if strip.heading:
        heading = shorten(strip.heading, TEXT, labels[1] - left)
        heads.append(Words(left, top - _HEADS - 6, heading, TEXT, kind="text strong"))
    return heads


def _label(each: AirCarrier, across: Span, top: float, shows_distance: bool) -> list[Shape]:
    left, right = across
    baseline = top + _ROW - 6
    distance = distance_text(each) if shows_distance else ""
    name = shorten(each.named.name, TEXT, right - text_width(distance, TEXT) - 6 - left - _MHZ_LENGTH)
    who = shorten(each.named.who, TEXT, right - left)
    words = [
        Words(left, baseline, str(each.carrier.mhz), LARGE, kind="text strong"),
        Words(left + _MHZ_LENGTH, baseline, name),
        Words(right, baseline, distance, anchor="end"),
        Words(left, baseline + _WHO_ROW, who),
    ]
    return [word for word in words if word.text]


def _legend(facts: AirFacts, top: float) -> tuple[list[Shape], float]:
    """What the letters and bars mean, a line each; the answer also says where it ends."""
    entries: list[tuple[list[Shape], str]] = [([], "2, 3: products of two, of three signals")]
    row = top
    for segment in facts.segments:
        row += _LEGEND_ROW
        marks = [[(at, row + 5), (at, row + 13)] for at in _SAMPLE]
        sample = lines([[(at, row + 9) for at in _SAMPLE], *marks])
        entries.append(([sample], f"band {segment_text(segment)}"))
    for neighbour in facts.neighbours:
        row += _LEGEND_ROW
        area = (_SAMPLE[0], row + 4, _SAMPLE[1] - _SAMPLE[0], 10.0)
        entries.append(([hatch(*area), Box(*area, "line")], f"neighbour {neighbour_text(neighbour)}"))
    shapes: list[Shape] = []
    for number, (samples, text) in enumerate(entries):
        left = _SAMPLE[1] + 8 if samples else _SAMPLE[0]
        baseline = top + number * _LEGEND_ROW + SMALL
        shapes += [*samples, Words(left, baseline, shorten(text, SMALL, WIDTH - left), SMALL, kind="soft")]
    return shapes, row + _LEGEND_ROW + 2
