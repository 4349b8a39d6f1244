"""A start line: its places from the left end, the channel at each, and how many MHz lie between neighbours."""

from collections.abc import Iterator
from itertools import pairwise

from meetapp.drawings.shapes import SMALL, TEXT, Box, Drawing, Picture, Shape, Words, line
from meetapp.drawings.text_width import text_width
from meetapp.spectrum.heats import StartLine

STEP = 64
"""From the middle of one place to that of the next: eight fit on a phone without getting too small to read."""
PAD_WIDTH, PAD_HEIGHT = 40, 12
GAP_Y, CHANNEL_Y, LINE_Y, NUMBER_Y, HEIGHT = 14, 40, 54, 78, 84
CHANNEL_SIZE, CHANNEL_ROOM = 22, STEP - 12
"""A channel is written as large as this, or smaller where a long name would come too near to the next one."""


def start_line_picture(start: StartLine, title: str) -> Picture:
    """The line as one drawing: a solid pad with its channel where somebody stands, a dashed one where nobody does.

    >>> from meetapp.drawings.text_width import text_width
from meetapp.spectrum.heats import LinePlace
    >>> picture = start_line_picture(StartLine(3, (LinePlace(1, "R1"), LinePlace(3, "R8")), (259,)), "Heat 1")
    >>> [words.text for words in picture.drawings[0].words]
    ['1', 'R1', '2', '3', 'R8', '259']
    """
    shapes = (*_pads(start), *_gaps(start))
    told = "; ".join(f"pad {place.pad}: {place.channel}" for place in start.places)
    drawing = Drawing("only", start.pads * STEP, HEIGHT, shapes)
    return Picture(f"Start line: {title}", f"{told or 'Nobody stands on it'}. The table says the same.", (drawing,))


def _pads(start: StartLine) -> Iterator[Shape]:
    channels = {place.pad: place.channel for place in start.places}
    yield line(0, LINE_Y, start.pads * STEP, LINE_Y)
    for pad in range(1, start.pads + 1):
        kind = "solid" if pad in channels else "box dashed"
        yield Box(_middle(pad) - PAD_WIDTH / 2, LINE_Y - PAD_HEIGHT / 2, PAD_WIDTH, PAD_HEIGHT, kind)
        yield Words(_middle(pad), NUMBER_Y, str(pad), TEXT, "middle", "text soft")
        if pad in channels:
            size = _size(channels[pad])
            yield Words(_middle(pad), CHANNEL_Y, channels[pad], size, "middle", "text strong")


def _size(channel: str) -> float:
    return min(CHANNEL_SIZE, CHANNEL_SIZE * CHANNEL_ROOM / text_width(channel, CHANNEL_SIZE))


def _gaps(start: StartLine) -> Iterator[Shape]:
    for (left, right), gap in zip(pairwise(start.places), start.gaps, strict=True):
        middle = (_middle(left.pad) + _middle(right.pad)) / 2
        yield Words(middle, GAP_Y, f"{gap:g}", SMALL, "middle", "text soft")


def _middle(pad: int) -> float:
    return (pad - 0.5) * STEP
