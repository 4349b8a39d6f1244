"""The small form of the air picture, for a page where it stands beside something that matters more.

It tells the same as the large one with fewer lines and words: one lane of products for two and three signals,
neighbours hatched among the carriers, the band as a bar along the axis. The narrow layout is the large one, shorter.
"""

from collections.abc import Iterator, Sequence

from meetapp.drawings import air_lanes, air_narrow
from meetapp.drawings.air import air_picture
from meetapp.drawings.air_strips import Strip, distance_text
from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import spread
from meetapp.drawings.shapes import LARGE, SMALL, TEXT, Drawing, Picture, Shape, Words
from meetapp.drawings.sheet import Sheet, Span
from meetapp.drawings.text_width import shorten, text_width
from meetapp.spectrum.air import AirCarrier, AirFacts

WIDTH = 760.0
_CAPTIONS, _MARGIN, _LABEL_GAP = 84.0, 20.0, 6.0
_LABEL_LENGTH = 48.0
"""The least length of a label with its four digits."""
_ROW, _LEADERS, _BLOCKS, _LANE, _GAP = 19.0, 10.0, 24.0, 12.0, 5.0
_BAND, _BAND_ABOVE, _TICK, _FIGURES = 12.0, 7.0, 4.0, 22.0
_TICK_ROOM = 60.0
_NARROW_LENGTH = 220.0
_SHEET = Sheet(upright=False)


def small_air_picture(facts: AirFacts) -> Picture:
    """What is on air, told as `air_picture` tells it and drawn smaller."""
    told = air_picture(facts)
    narrow = air_narrow.drawn([Strip("", facts)], _NARROW_LENGTH)
    return Picture(told.title, told.description, (_wide(facts), narrow))


def _wide(facts: AirFacts) -> Drawing:
    carriers = facts.carriers
    width = max(WIDTH, _CAPTIONS + len(carriers) * (_LABEL_LENGTH + _LABEL_GAP))
    axis = Axis(facts.low_mhz, facts.high_mhz, _CAPTIONS + _MARGIN, width - _MARGIN)
    rows = [[each.named.name or str(each.carrier.mhz) for each in carriers]]
    captions = ["on air"]
    if Strip("", facts).has_distances:
        rows.append([distance_text(each) for each in carriers])
        captions.append("to product")
    labels, places = _labels(rows, _anchors(axis, carriers), width)
    top = len(rows) * _ROW
    blocks: Span = (top + _LEADERS, top + _LEADERS + _BLOCKS)
    products: Span = (blocks[1] + _GAP, blocks[1] + _GAP + _LANE)
    foot = products[1] + _GAP + (_BAND if facts.segments else 0)
    leaders = [[(at, top), (anchor, blocks[0])] for at, anchor in zip(places, _anchors(axis, carriers), strict=True)]
    captions_at = [(number + 1) * _ROW - 4 for number in range(len(rows))]
    shapes: list[Shape] = [
        *labels,
        *(Words(0, at, text, SMALL, kind="soft") for at, text in zip(captions_at, captions, strict=True)),
        Words(0, blocks[0] + _BLOCKS / 2 + 5, "width", SMALL, kind="soft"),
        Words(0, products[1], "products", SMALL, kind="soft"),
        _SHEET.lines(leaders, "thin"),
        *_lanes(axis, facts, blocks, products),
        *_foot(axis, facts, foot),
    ]
    return Drawing("wide", width, foot + _FIGURES, tuple(shapes))


def _anchors(axis: Axis, carriers: Sequence[AirCarrier]) -> list[float]:
    return [axis.at(each.carrier.mhz) for each in carriers]


def _labels(
    rows: Sequence[Sequence[str]], anchors: Sequence[float], width: float
) -> tuple[list[Words], tuple[float, ...]]:
    """The words of each row, and where their labels stand."""
    sizes = (LARGE, TEXT)
    room = (width - _CAPTIONS) / len(anchors) - _LABEL_GAP
    texts = [[shorten(text, size, room) for text in row] for row, size in zip(rows, sizes, strict=False)]
    lengths = [
        max(text_width(text, size) for text, size in zip(label, sizes, strict=False))
        for label in zip(*texts, strict=True)
    ]
    places = spread(anchors, lengths, _CAPTIONS, width, _LABEL_GAP)
    words = [
        Words(at, (number + 1) * _ROW - 4, text, sizes[number], "middle", "text" if number else "text strong")
        for number, row in enumerate(texts)
        for at, text in zip(places, row, strict=True)
        if text
    ]
    return words, places


def _lanes(axis: Axis, facts: AirFacts, blocks: Span, products: Span) -> Iterator[Shape]:
    for neighbour in facts.neighbours:
        yield from air_lanes.neighbour_block(_SHEET, axis, neighbour, blocks)
    yield from air_lanes.carrier_blocks(_SHEET, axis, facts, blocks)
    yield air_lanes.centre_lines(_SHEET, axis, facts, (blocks[0], products[1]))
    for signals in (3, 2):
        yield from air_lanes.product_lane(_SHEET, axis, facts, signals, products)


def _foot(axis: Axis, facts: AirFacts, top: float) -> Iterator[Shape]:
    """The axis with its figures, above it the pieces of band with a mark at each edge."""
    for segment in facts.segments:
        yield from air_lanes.segment_line(_SHEET, axis, segment, top - _BAND_ABOVE)
    ticks = axis.ticks(_TICK_ROOM, MHZ_STEPS)
    yield _SHEET.lines([[(axis.start, top), (axis.end, top)]], "thin")
    yield _SHEET.strokes((axis.at(tick) for tick in ticks), (top, top + _TICK), "thin")
    yield Words(0, top + 17, "MHz", SMALL, kind="soft")
    for tick in ticks:
        yield Words(axis.at(tick), top + 17, str(tick), SMALL, "middle", "soft")
