"""The wide layout of an air picture: the axis runs across the page, labels stand above their carriers."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from meetapp.drawings import air_lanes
from meetapp.drawings.air_strips import Strip, distance_text, neighbour_text, segment_text
from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import lanes, spread
from meetapp.drawings.shapes import LARGE, SMALL, TEXT, Drawing, Shape, Words
from meetapp.drawings.sheet import Sheet, Span
from meetapp.drawings.text_width import shorten, text_width
from meetapp.spectrum.air import AirCarrier, AirFacts

WIDTH = 960.0
_CAPTIONS = 146.0
_MARGIN = 24.0
_LABEL_GAP = 6.0
_LABEL_LENGTH = 52.0
"""The least length of a label with its four digits."""
_HEADING, _ROW, _LEADERS, _BLOCKS, _LANE, _GAP = 34.0, 19.0, 18.0, 52.0, 16.0, 10.0
_TICK_ROOM, _TICK = 60.0, 5.0
_SHEET = Sheet(upright=False)


@dataclass(frozen=True, slots=True)
class _Row:
    """One line of every label, with its caption on the left."""

    caption: str
    text: Callable[[AirCarrier], str]
    size: float = TEXT
    kind: str = "text"


_MHZ = _Row("centre, MHz", lambda each: str(each.carrier.mhz), LARGE, "text strong")
_NAME = _Row("channel", lambda each: each.named.name)
_WHO = _Row("who", lambda each: each.named.who)
_DISTANCE = _Row("MHz to a product", distance_text)


@dataclass(slots=True)
class _Page:
    """A drawing that grows downwards: `below` is where the next thing begins, `clear` where the grid may run."""

    width: float
    axis: Axis
    shapes: list[Shape]
    clear: list[Span]
    below: float = 0

    def caption(self, text: str, baseline: float) -> None:
        """A word at the left that says what a row is."""
        self.shapes.append(Words(0, baseline, text, SMALL, kind="soft"))


def drawn(strips: Sequence[Strip]) -> Drawing:
    """The strips one over the other, below them what they share: neighbours, the band, the axis."""
    facts = strips[0].facts
    most = max(len(strip.facts.carriers) for strip in strips)
    width = max(WIDTH, _CAPTIONS + most * (_LABEL_LENGTH + _LABEL_GAP))
    page = _Page(width, Axis(facts.low_mhz, facts.high_mhz, _CAPTIONS, width - _MARGIN), [], [])
    for strip in strips:
        _strip(page, strip)
    _neighbours(page, facts)
    _band(page, facts)
    _axis(page)
    return Drawing("wide", width, page.below, tuple(page.shapes))


def _strip(page: _Page, strip: Strip) -> None:
    if strip.heading:
        text = shorten(strip.heading, LARGE, page.width)
        page.shapes.append(Words(0, page.below + _HEADING - 11, text, LARGE, kind="text strong"))
        page.below += _HEADING
    carriers = strip.facts.carriers
    places = _labels(page, strip)
    blocks = page.below + _LEADERS
    two = blocks + _BLOCKS + _GAP
    three = two + _LANE + _GAP
    end = three + _LANE + _GAP
    leaders = [
        [(at, page.below), (page.axis.at(each.carrier.mhz), blocks)] for each, at in zip(carriers, places, strict=True)
    ]
    page.shapes.append(_SHEET.lines(leaders, "thin"))
    page.shapes += air_lanes.carrier_blocks(_SHEET, page.axis, strip.facts, (blocks, blocks + _BLOCKS))
    page.shapes.append(air_lanes.centre_lines(_SHEET, page.axis, strip.facts, (blocks, end)))
    page.caption("occupied width", blocks + _BLOCKS / 2 + 5)
    for signals, caption, at in ((2, "two-signal", two), (3, "three-signal", three)):
        page.shapes += air_lanes.product_lane(_SHEET, page.axis, strip.facts, signals, (at, at + _LANE))
        page.caption(caption, at + _LANE - 3)
    page.clear.append((blocks, end))
    page.below = end


def _labels(page: _Page, strip: Strip) -> tuple[float, ...]:
    """Write the labels; the answer is where each of them stands."""
    rows = [
        _MHZ,
        *([_NAME] if strip.has_names else []),
        *([_WHO] if strip.has_holders else []),
        *([_DISTANCE] if strip.has_distances else []),
    ]
    carriers = strip.facts.carriers
    room = (page.width - _CAPTIONS) / len(carriers) - _LABEL_GAP
    texts = [[shorten(row.text(each), row.size, room) for row in rows] for each in carriers]
    lengths = [max(text_width(text, row.size) for text, row in zip(label, rows, strict=True)) for label in texts]
    anchors = [page.axis.at(each.carrier.mhz) for each in carriers]
    places = spread(anchors, lengths, _CAPTIONS, page.width, _LABEL_GAP)
    for number, row in enumerate(rows):
        baseline = page.below + (number + 1) * _ROW - 4
        page.caption(row.caption, baseline)
        page.shapes += (
            Words(at, baseline, label[number], row.size, "middle", row.kind)
            for at, label in zip(places, texts, strict=True)
            if label[number]
        )
    page.below += len(rows) * _ROW
    return places


def _beside(page: _Page, spans: Sequence[Span], texts: Sequence[str], step: float) -> Iterator[tuple[float, Words]]:
    """For each bar the top of its lane and its words, which stand above it; no words of two bars touch."""
    room = page.width - _CAPTIONS
    words = []
    for span, text in zip(spans, texts, strict=True):
        shown = shorten(text, SMALL, room)
        words.append(Words(min(span[0], page.width - text_width(shown, SMALL)), 0, shown, SMALL))
    taken = [
        (min(span[0], each.extent.left), max(span[1], each.extent.right))
        for span, each in zip(spans, words, strict=True)
    ]
    chosen = lanes(taken, _LABEL_GAP)
    for lane, each in zip(chosen, words, strict=True):
        top = page.below + lane * step
        yield top, Words(each.x, top + SMALL, each.text, SMALL)
    page.below += step * (max(chosen) + 1)


def _neighbours(page: _Page, facts: AirFacts) -> None:
    if not facts.neighbours:
        return
    page.caption("neighbours", page.below + SMALL)
    spans = [page.axis.span(*each.edges_mhz) for each in facts.neighbours]
    texts = [neighbour_text(each) for each in facts.neighbours]
    for (top, words), neighbour in zip(_beside(page, spans, texts, 36), facts.neighbours, strict=True):
        page.shapes += air_lanes.neighbour_block(_SHEET, page.axis, neighbour, (top + 18, top + 30))
        page.shapes.append(words)


def _band(page: _Page, facts: AirFacts) -> None:
    if not facts.segments:
        return
    page.caption("band", page.below + SMALL)
    spans = [page.axis.span(each.low_mhz, each.high_mhz) for each in facts.segments]
    texts = [segment_text(each) for each in facts.segments]
    for (top, words), segment in zip(_beside(page, spans, texts, 30), facts.segments, strict=True):
        page.shapes += air_lanes.segment_line(_SHEET, page.axis, segment, top + 22)
        page.shapes.append(words)


def _axis(page: _Page) -> None:
    axis, top = page.axis, page.below
    ticks = axis.ticks(_TICK_ROOM, MHZ_STEPS)
    page.shapes.insert(0, air_lanes.grid(_SHEET, axis, ticks, page.clear))
    page.shapes.append(_SHEET.lines([[(axis.start, top), (axis.end, top)]]))
    page.shapes.append(_SHEET.strokes((axis.at(tick) for tick in ticks), (top, top + _TICK)))
    page.shapes += (Words(axis.at(tick), top + 21, str(tick), SMALL, "middle", "soft") for tick in ticks)
    page.caption("MHz", top + 21)
    page.below += 26
