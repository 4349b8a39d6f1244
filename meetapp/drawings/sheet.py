"""One way to draw along an axis that runs across the page (wide) or down it (narrow)."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from meetapp.drawings import shapes
from meetapp.drawings.shapes import Box, Stroke

Span = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Sheet:
    """Places are given as (along the axis, across it); `upright`: the axis runs down the page."""

    upright: bool

    def point(self, along: float, across: float) -> tuple[float, float]:
        """The same place as x and y."""
        return (across, along) if self.upright else (along, across)

    def box(self, along: Span, across: Span, kind: str = "box") -> Box:
        """A rectangle from edge to edge both ways."""
        x, y = self.point(along[0], across[0])
        width, height = self.point(along[1] - along[0], across[1] - across[0])
        return Box(x, y, width, height, kind)

    def lines(self, segments: Iterable[Sequence[tuple[float, float]]], kind: str = "line") -> Stroke:
        """Lines, each through its places."""
        return shapes.lines(([self.point(*place) for place in places] for places in segments), kind)

    def strokes(self, places: Iterable[float], across: Span, kind: str = "line") -> Stroke:
        """Short straight strokes over the axis, one at each place."""
        return self.lines((((at, across[0]), (at, across[1])) for at in places), kind)

    def hatch(self, along: Span, across: Span) -> Stroke:
        """A rectangle filled with slanting lines."""
        area = self.box(along, across)
        return shapes.hatch(area.x, area.y, area.width, area.height)
