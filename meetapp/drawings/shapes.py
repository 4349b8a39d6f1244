"""What a drawing is made of: frozen shapes that `templates/_drawings.html` writes down as SVG.

`kind` names the look, a class of the style sheet without its 'd-' in front (several with spaces between); the colours
come from there, so that the same shapes work in light, in dark and on paper. Nothing is told by colour alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from meetapp.drawings.text_width import text_width

Anchor = Literal["start", "middle", "end"]
Layout = Literal["wide", "narrow", "only", "names", "paper"]

SMALL, TEXT, LARGE = 13, 14, 16
"""Font sizes in units of the drawing."""
_ABOVE_BASELINE, _BELOW_BASELINE = 0.95, 0.25
"""How far the box of a line of text reaches, in font sizes."""


@dataclass(frozen=True, slots=True)
class Extent:
    """The box around a shape."""

    left: float
    top: float
    right: float
    bottom: float

    def covers(self, other: "Extent") -> bool:
        """Whether the two boxes share more than an edge."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom


@dataclass(frozen=True, slots=True)
class Words:
    """One line of text; `y` is its baseline."""

    x: float
    y: float
    text: str
    size: float = TEXT
    anchor: Anchor = "start"
    kind: str = "text"

    @property
    def extent(self) -> Extent:
        """The room it takes at most."""
        width = text_width(self.text, self.size)
        left = self.x - {"start": 0.0, "middle": width / 2, "end": width}[self.anchor]
        return Extent(
            left, self.y - _ABOVE_BASELINE * self.size, left + width, self.y + _BELOW_BASELINE * self.size
        )


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle; `round` is the radius of its corners."""

    x: float
    y: float
    width: float
    height: float
    kind: str = "box"
    round: float = 0


@dataclass(frozen=True, slots=True)
class Stroke:
    """Lines as the data of an SVG path."""

    path: str
    kind: str = "line"


@dataclass(frozen=True, slots=True)
class Part:
    """Shapes that belong together: `hint` shows under the pointer, `href` makes a link of them with `hint` as name."""

    shapes: tuple["Shape", ...]
    hint: str
    href: str = ""


Shape = Words | Box | Stroke | Part


@dataclass(frozen=True, slots=True)
class Drawing:
    """One layout. A page shows 'wide' where there is room and 'narrow' on a phone.

    'only' stands alone; where it is scrolled sideways, 'names' stays in sight at its left and 'paper' takes its place
    in print.
    """

    layout: Layout
    width: float
    height: float
    shapes: tuple[Shape, ...]

    @property
    def words(self) -> tuple[Words, ...]:
        """Every line of text in it."""
        return tuple(shape for shape in flat(self.shapes) if isinstance(shape, Words))

    @property
    def has_links(self) -> bool:
        """Whether something in it can be followed (it is then more than an image)."""
        return any(isinstance(shape, Part) and shape.href for shape in self.shapes)


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing in its layouts, with what it is called and what it says to those who can't see it."""

    title: str
    description: str
    drawings: tuple[Drawing, ...]


def flat(shapes: Iterable[Shape]) -> Iterator[Shape]:
    """The shapes with those inside of parts, parts themselves left out."""
    for shape in shapes:
        if isinstance(shape, Part):
            yield from flat(shape.shapes)
        else:
            yield shape


def line(x1: float, y1: float, x2: float, y2: float, kind: str = "line") -> Stroke:
    """A straight line.

    >>> line(0, 1.26, 10, 1.26).path
    'M0 1.3L10 1.3'
    """
    return lines([((x1, y1), (x2, y2))], kind)


def lines(segments: Iterable[Sequence[tuple[float, float]]], kind: str = "line") -> Stroke:
    """Several lines at once, each through its points."""
    return Stroke("".join("M" + "L".join(f"{short(x)} {short(y)}" for x, y in points) for points in segments), kind)


def short(number: float) -> str:
    """A coordinate to a tenth, as short as it can be written.

    >>> short(3.0), short(3.14), short(-0.04)
    ('3', '3.1', '0')
    """
    rounded = round(number, 1)
    return f"{rounded:g}" if rounded else "0"


def hatch(x: float, y: float, width: float, height: float, step: float = 6, kind: str = "thin") -> Stroke:
    """Slanting lines that fill a rectangle: they say 'not ours' without a colour, also in print."""
    segments = []
    at = step - height
    while at < width:
        # A line rises from (at, bottom) to (at + height, top), cut to the rectangle.
        low, high = max(0.0, at), min(width, at + height)
        segments.append([(x + low, y + height - (low - at)), (x + high, y + height - (high - at))])
        at += step
    return lines(segments, kind)
