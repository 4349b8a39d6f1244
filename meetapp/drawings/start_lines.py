"""A start line: its places from the left end, the channel at each, and how many MHz lie between neighbours."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import ceil

from meetapp.drawings.shapes import SMALL, TEXT, Box, Drawing, Layout, Picture, Shape, Words, line
from meetapp.drawings.text_width import text_width
from meetapp.spectrum.heats import StartLine

STEP, NARROW_STEP = 64, 44
"""From the middle of one place to that of the next; on a phone nearer, so that words keep their size."""
ROOM_ON_A_PHONE = 352
PAD_WIDTH, PAD_HEIGHT = 40, 12
GAP_Y, CHANNEL_Y, LINE_Y, NUMBER_Y, HEIGHT = 14, 40, 54, 78, 84
CHANNEL_SIZE = 22
"""A channel is written as large as this, or smaller where a long name would come too near to the next one."""
BETWEEN_CHANNELS, BETWEEN_CHANNELS_NARROW = 12, 4


def start_line_picture(start: StartLine, title: str) -> Picture:
    """The line, a solid pad with its channel where somebody stands, a dashed one where nobody does.

    A line too long for a phone has a narrow layout there, in rows under one another.

    >>> from meetapp.spectrum.heats import LinePlace
    >>> picture = start_line_picture(StartLine(3, (LinePlace(1, "R1"), LinePlace(3, "R8")), (259,)), "Heat 1")
    >>> [words.text for words in picture.drawings[0].words]
    ['1', 'R1', '2', '3', 'R8', '259']
    """
    told = "; ".join(f"pad {place.pad}: {place.channel}" for place in start.places)
    return Picture(
        f"Start line: {title}", f"{told or 'Nobody stands on it'}. The table says the same.", _layouts(start)
    )


def _layouts(start: StartLine) -> tuple[Drawing, ...]:
    if start.pads * STEP <= ROOM_ON_A_PHONE:
        return (_drawn(start, _Rows("only", STEP, BETWEEN_CHANNELS, start.pads)),)
    rows = ceil(start.pads * NARROW_STEP / ROOM_ON_A_PHONE)
    narrow = _Rows("narrow", NARROW_STEP, BETWEEN_CHANNELS_NARROW, ceil(start.pads / rows))
    return (_drawn(start, _Rows("wide", STEP, BETWEEN_CHANNELS, start.pads)), _drawn(start, narrow))


@dataclass(frozen=True, slots=True)
class _Rows:
    """Where the places of a layout are: so many pads a row, `step` apart, `between` free between their channels."""

    layout: Layout
    step: float
    between: float
    pads: int

    @property
    def width(self) -> float:
        """The length of a row."""
        return self.pads * self.step

    def row(self, pad: int) -> int:
        """The row in which a pad lies, from 0."""
        return (pad - 1) // self.pads if pad else 0

    def middle(self, pad: int) -> float:
        """Where it lies along its row."""
        return ((pad - 1) % self.pads + 0.5) * self.step

    def top(self, pad: int) -> float:
        """The upper edge of its row."""
        return self.row(pad) * HEIGHT


def _drawn(start: StartLine, rows: _Rows) -> Drawing:
    shapes = (*_pads(start, rows), *_gaps(start, rows))
    return Drawing(rows.layout, rows.width, rows.top(start.pads) + HEIGHT, shapes)


def _pads(start: StartLine, rows: _Rows) -> Iterator[Shape]:
    channels = {place.pad: place.channel for place in start.places}
    for pad in range(1, start.pads + 1):
        middle, line_y = rows.middle(pad), rows.top(pad) + LINE_Y
        kind = "solid" if pad in channels else "box dashed"
        width = min(PAD_WIDTH, rows.step - 8)
        yield line(middle - rows.step / 2, line_y, middle + rows.step / 2, line_y)
        yield Box(middle - width / 2, line_y - PAD_HEIGHT / 2, width, PAD_HEIGHT, kind)
        yield Words(middle, rows.top(pad) + NUMBER_Y, str(pad), TEXT, "middle", "text soft")
        if pad in channels:
            size = _size(channels[pad], rows.step - rows.between)
            yield Words(middle, rows.top(pad) + CHANNEL_Y, channels[pad], size, "middle", "text strong")


def _size(channel: str, room: float) -> float:
    return min(CHANNEL_SIZE, CHANNEL_SIZE * room / text_width(channel, CHANNEL_SIZE))


def _gaps(start: StartLine, rows: _Rows) -> Iterator[Shape]:
    for (left, right), gap in zip(pairwise(start.places), start.gaps, strict=True):
        baseline = rows.top(left.pad) + GAP_Y
        if rows.row(left.pad) == rows.row(right.pad):
            middle = (rows.middle(left.pad) + rows.middle(right.pad)) / 2
            yield Words(middle, baseline, f"{gap:g}", SMALL, "middle", "text soft")
        else:
            yield Words(rows.width, baseline, f"{gap:g}", SMALL, "end", "text soft")
