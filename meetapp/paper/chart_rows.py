"""The rows of a wall chart over one frequency axis: the set, the scale, plans, products, band and neighbours.

Every row says how high it is and draws itself at a given top. `Ruling.unit` is how large everything is: 1 on A4.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Protocol

from meetapp.drawings.axis import MHZ_STEPS, Axis
from meetapp.drawings.labels import lanes, spread
from meetapp.flows.printing.tags import TagToPrint
from meetapp.paper.pen import CAP_HEIGHT, MM_PER_PT, Face, Pen, Side
from meetapp.spectrum.carriers import Carrier
from meetapp.spectrum.channels import Channel, ChannelPlan

_PAD_MM = 0.5
_WHITE, _GREY = 1.0, 0.82


@dataclass(frozen=True, slots=True)
class Ruling:
    """What the rows are drawn with: the pen, the axis in mm, the left edge of their names, and the unit."""

    pen: Pen
    axis: Axis
    left: float
    unit: float

    def name(self, baseline: float, words: str, note: str = "") -> None:
        """Write a row's name, and a note below it."""
        wide = self.axis.start - self.left - 2 * self.unit
        self.pen.write_to_fit(self.left, baseline, words, 9 * self.unit, wide, Face.BOLD)
        if note:
            self.pen.write_to_fit(self.left, baseline + 2.8 * self.unit, note, 6 * self.unit, wide)

    def tick(self, mhz: float, top: float, length: float, width_mm: float = 0.25) -> None:
        """Draw a mark at a frequency."""
        x = self.axis.at(mhz)
        self.pen.line(x, top, x, top + length * self.unit, width_mm * self.unit)

    def label(self, middle: float, baseline: float, words: str, size: float, *, is_marked: bool = False) -> None:
        """Write a bold label on a ground of its own, so that no line runs through it; marked ones white on black."""
        size_pt = size * self.unit
        wide = self.pen.width(words, size_pt, Face.BOLD) + 2 * _PAD_MM * self.unit
        high = size_pt * MM_PER_PT * CAP_HEIGHT + 2 * _PAD_MM * self.unit
        top = baseline + _PAD_MM * self.unit - high
        self.pen.block(middle - wide / 2, top, wide, high, 0 if is_marked else _WHITE)
        self.pen.write(middle, baseline, words, size_pt, Face.BOLD, Side.MIDDLE, is_white=is_marked)

    def length(self, words: str, size: float) -> float:
        """How wide such a label is, in mm."""
        return self.pen.width(words, size * self.unit, Face.BOLD) + 2 * _PAD_MM * self.unit


class Row(Protocol):
    """A row of the chart."""

    def height(self, ruling: Ruling) -> float:
        """How high it is, in mm."""

    def draw(self, ruling: Ruling, top: float) -> None:
        """Draw it, its upper edge at `top`."""


@dataclass(frozen=True, slots=True)
class SetRow:
    """The day's set: a label for each frequency, led to its place, and how wide an analogue carrier is there."""

    tokens: Sequence[TagToPrint]

    def height(self, ruling: Ruling) -> float:
        return 17 * ruling.unit

    def draw(self, ruling: Ruling, top: float) -> None:
        unit, axis, pen = ruling.unit, ruling.axis, ruling.pen
        ruling.name(top + 4.5 * unit, "The set")
        named = [
            (mhz, " ".join(token.label for token in tokens))
            for mhz, tokens in groupby(self.tokens, key=lambda token: token.mhz)
        ]
        lengths, part = self._lengths(ruling, [label for _mhz, label in named])
        middles = spread([axis.at(mhz) for mhz, _label in named], lengths, axis.start, axis.end, unit * part)
        for (mhz, label), middle in zip(named, middles, strict=True):
            at = axis.at(mhz)
            low, high = Carrier(mhz).edges_mhz
            begin, end = axis.span(low, high)
            pen.block(begin, top + 13 * unit, end - begin, 3.5 * unit, _GREY)
            ruling.label(middle, top + 4.5 * unit, label, 12 * part, is_marked=True)
            pen.write(middle, top + 7.9 * unit, str(mhz), 6.5 * unit * part, side=Side.MIDDLE)
            pen.line(middle, top + 8.6 * unit, at, top + 12 * unit, 0.35 * unit)
            pen.line(at, top + 12 * unit, at, top + 17 * unit, 0.35 * unit)

    @staticmethod
    def _lengths(ruling: Ruling, labels: Sequence[str]) -> tuple[list[float], float]:
        """How wide the labels are, and the part of their full size at which all of them stand side by side."""
        full = [max(ruling.length(label, 12), ruling.length("5880", 6.5)) for label in labels]
        room = ruling.axis.end - ruling.axis.start
        part = min(1.0, 0.99 * room / (sum(full) + len(full) * ruling.unit)) if full else 1.0
        return [length * part for length in full], part


@dataclass(frozen=True, slots=True)
class ScaleRow:
    """The axis itself, in MHz."""

    def height(self, ruling: Ruling) -> float:
        return 6 * ruling.unit

    def draw(self, ruling: Ruling, top: float) -> None:
        unit, axis, pen = ruling.unit, ruling.axis, ruling.pen
        pen.line(axis.start, top, axis.end, top, 0.4 * unit)
        for mhz in axis.ticks(2 * unit, MHZ_STEPS):
            ruling.tick(mhz, top, 1.0, 0.15)
        for mhz in axis.ticks(14 * unit, MHZ_STEPS):
            ruling.tick(mhz, top, 2.0)
            if axis.start + 4 * unit < axis.at(mhz) < axis.end - 4 * unit:
                ruling.label(axis.at(mhz), top + 4.8 * unit, str(mhz), 7)
        ruling.name(top + 3.5 * unit, "MHz")


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A channel plan: a mark and a label at each of its channels. Labels that would touch go one below the other."""

    plan: ChannelPlan
    set_mhz: frozenset[int]

    def height(self, ruling: Ruling) -> float:
        return (2.6 + 5.6 * (max(self._lanes(ruling)) + 1)) * ruling.unit

    def draw(self, ruling: Ruling, top: float) -> None:
        unit, pen = ruling.unit, ruling.pen
        ruling.name(top + 4.6 * unit, f"Plan {self.plan.letter}")
        pen.line(ruling.axis.start, top, ruling.axis.end, top, 0.15 * unit)
        placed = list(zip(self._channels, self._lanes(ruling), strict=True))
        for channel, lane in placed:
            ruling.tick(channel.mhz, top, 1.4 + 5.6 * lane)
        for channel, lane in placed:
            x, y = ruling.axis.at(channel.mhz), top + (1.4 + 5.6 * lane) * unit
            pen.block(x - self._wide(ruling, channel.label) / 2, y, self._wide(ruling, channel.label), 6 * unit, _WHITE)
            ruling.label(x, y + 3.1 * unit, channel.label, 8, is_marked=channel.mhz in self.set_mhz)
            pen.write(x, y + 5.6 * unit, str(channel.mhz), 5.5 * unit, side=Side.MIDDLE)

    @property
    def _channels(self) -> list[Channel]:
        return sorted(self.plan.channels, key=lambda channel: channel.mhz)

    def _lanes(self, ruling: Ruling) -> tuple[int, ...]:
        halves = [(ruling.axis.at(each.mhz), self._wide(ruling, each.label) / 2) for each in self._channels]
        return lanes([(at - half, at + half) for at, half in halves], 0.4 * ruling.unit)

    @staticmethod
    def _wide(ruling: Ruling, label: str) -> float:
        return max(ruling.length(label, 8), ruling.pen.width("5880", 5.5 * ruling.unit))


@dataclass(frozen=True, slots=True)
class ProductsRow:
    """Where products of one kind fall: a mark each; how many fall beside the axis is told in words."""

    name: str
    mhz: Sequence[int]

    def height(self, ruling: Ruling) -> float:
        return 7 * ruling.unit

    def draw(self, ruling: Ruling, top: float) -> None:
        axis = ruling.axis
        below, above = sum(at < axis.low for at in self.mhz), sum(at > axis.high for at in self.mhz)
        beside = " and ".join(f"{count} {words}" for count, words in ((below, "below"), (above, "above")) if count)
        ruling.name(top + 3 * ruling.unit, self.name, f"products; {beside} the axis" if beside else "products")
        ruling.pen.line(axis.start, top, axis.end, top, 0.15 * ruling.unit)
        for at in self.mhz:
            if axis.holds(at):
                ruling.tick(at, top + 1.2 * ruling.unit, 3.6, 0.55)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A piece of the band from edge to edge in MHz, with its words."""

    low_mhz: float
    high_mhz: float
    words: str


@dataclass(frozen=True, slots=True)
class StretchRow:
    """Pieces of the band as bars with their edges; those that overlap go one below the other. `grey`: how they look."""

    name: str
    stretches: Sequence[Stretch]
    grey: float | None = None

    def height(self, ruling: Ruling) -> float:
        return (1.5 + 5.5 * (max(self._lanes(ruling), default=0) + 1)) * ruling.unit

    def draw(self, ruling: Ruling, top: float) -> None:
        unit, axis, pen = ruling.unit, ruling.axis, ruling.pen
        beside = len(self.stretches) - len(self._shown(ruling))
        ruling.name(top + 4 * unit, self.name, f"{beside} beside the axis" if beside else "")
        pen.line(axis.start, top, axis.end, top, 0.15 * unit)
        for stretch, lane in zip(self._shown(ruling), self._lanes(ruling), strict=True):
            begin, end, words_from = self._places(ruling, stretch)
            y = top + (1.2 + 5.5 * lane) * unit
            if self.grey is not None:
                pen.block(begin, y, end - begin, 4.4 * unit, self.grey)
            for mhz, x in ((stretch.low_mhz, begin), (stretch.high_mhz, end)):
                if axis.holds(mhz):
                    pen.line(x, y - 0.4 * unit, x, y + 4.8 * unit, 0.8 * unit)
            for edge in (y, y + 4.4 * unit):
                pen.line(begin, edge, end, edge, 0.2 * unit)
            wide = pen.width(stretch.words, 7 * unit)
            pen.block(words_from - 0.4 * unit, y + 0.7 * unit, wide + 0.8 * unit, 3.1 * unit, _WHITE)
            pen.write(words_from, y + 3.2 * unit, stretch.words, 7 * unit)

    def _shown(self, ruling: Ruling) -> list[Stretch]:
        axis = ruling.axis
        return [each for each in self.stretches if each.low_mhz < axis.high and each.high_mhz > axis.low]

    def _places(self, ruling: Ruling, stretch: Stretch) -> tuple[float, float, float]:
        """Where the bar begins and ends, and where its words begin: inside where they fit, else beside it."""
        axis, unit = ruling.axis, ruling.unit
        begin, end = axis.span(stretch.low_mhz, stretch.high_mhz)
        wide = ruling.pen.width(stretch.words, 7 * unit)
        if wide + 3 * unit <= end - begin:
            return begin, end, begin + 1.5 * unit
        if end + wide + 1.5 * unit <= axis.end:
            return begin, end, end + 1.2 * unit
        return begin, end, begin - 1.2 * unit - wide

    def _lanes(self, ruling: Ruling) -> tuple[int, ...]:
        places = [self._places(ruling, stretch) for stretch in self._shown(ruling)]
        wides = [ruling.pen.width(stretch.words, 7 * ruling.unit) for stretch in self._shown(ruling)]
        spans = [
            (min(begin, words_from), max(end, words_from + wide))
            for (begin, end, words_from), wide in zip(places, wides, strict=True)
        ]
        return lanes(spans, 0.8 * ruling.unit)
