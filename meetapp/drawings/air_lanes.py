"""The lanes of an air picture: carriers, products, neighbours, band, each drawn alike along either axis.

A carrier is a block as wide as it occupies; where two overlap, the piece is hatched, as a neighbour is. A product is a
short stroke where it falls. For each carrier a thick stroke leads to the product that is nearest to it.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations

from meetapp.drawings.axis import Axis
from meetapp.drawings.shapes import Shape
from meetapp.drawings.sheet import Sheet, Span
from meetapp.spectrum.air import AirFacts
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Neighbour

_END_MARK = 4


def carrier_blocks(sheet: Sheet, axis: Axis, facts: AirFacts, across: Span) -> Iterator[Shape]:
    """Every carrier's block, overlaps hatched, edges on top so that none hides another."""
    spans = [axis.span(*each.carrier.edges_mhz) for each in facts.carriers]
    for span in spans:
        yield sheet.box(span, across, "fill")
    for span in shared(spans):
        yield sheet.hatch(span, across)
    for span in spans:
        yield sheet.box(span, across, "line")


def shared(spans: Sequence[Span]) -> list[Span]:
    """Every stretch that two or more of the spans cover, in order, joined where they touch.

    >>> shared([(0, 10), (5, 20), (8, 12), (30, 40)])
    [(5, 12)]
    """
    pieces = sorted(
        (max(one[0], other[0]), min(one[1], other[1]))
        for one, other in combinations(spans, 2)
        if max(one[0], other[0]) < min(one[1], other[1])
    )
    joined: list[Span] = []
    for low, high in pieces:
        if joined and low <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(high, joined[-1][1]))
        else:
            joined.append((low, high))
    return joined


def centre_lines(sheet: Sheet, axis: Axis, facts: AirFacts, across: Span) -> Shape:
    """A fine line through each carrier's centre, past its products."""
    return sheet.strokes((axis.at(each.carrier.mhz) for each in facts.carriers), across, "thin dashed")


def product_lane(sheet: Sheet, axis: Axis, facts: AirFacts, signals: int, across: Span) -> Iterator[Shape]:
    """Where the products of so many signals fall, and the thick strokes to those that are a carrier's nearest."""
    middle = (across[0] + across[1]) / 2
    yield sheet.strokes((axis.at(product.mhz) for product in facts.products_of(signals)), across)
    nearest = [
        (axis.at(each.carrier.mhz), axis.at(hit.product.mhz))
        for each in facts.carriers
        if (hit := each.nearest) is not None and hit.product.signals == signals and axis.holds(hit.product.mhz)
    ]
    if nearest:
        yield sheet.lines([((at, middle), (product, middle)) for at, product in nearest], "mark")
        yield sheet.strokes((product for _at, product in nearest), (across[0] - 2, across[1] + 2), "mark")


def neighbour_block(sheet: Sheet, axis: Axis, neighbour: Neighbour, across: Span) -> Iterator[Shape]:
    """A neighbour: hatched."""
    span = axis.span(*neighbour.edges_mhz)
    yield sheet.hatch(span, across)
    yield sheet.box(span, across, "line")


def segment_line(sheet: Sheet, axis: Axis, segment: Segment, across: float) -> Iterator[Shape]:
    """A piece of band: a line with a mark at each edge; without a mark it goes on beyond the drawing."""
    edges = (segment.low_mhz, segment.high_mhz)
    yield sheet.lines([[(at, across) for at in axis.span(*edges)]])
    marks = [axis.at(mhz) for mhz in edges if axis.holds(mhz)]
    if marks:
        yield sheet.strokes(marks, (across - _END_MARK, across + _END_MARK))


def grid(sheet: Sheet, axis: Axis, ticks: Sequence[float], spans: Sequence[Span]) -> Shape:
    """Fine lines at the ticks, only where no words stand."""
    places = [axis.at(tick) for tick in ticks]
    return sheet.lines([[(at, span[0]), (at, span[1])] for span in spans for at in places], "hair")
