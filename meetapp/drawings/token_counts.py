"""How many tokens: time in the air against clearance, a bar for each number of tokens."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.drawings.axis import Axis
from meetapp.drawings.shapes import TEXT, Box, Drawing, Picture, Shape, Words, line

PANEL_HEIGHT = 110
TITLE_Y, TOP, FOOT = 16, 44, 44 + PANEL_HEIGHT
BELOW = 26
"""From the foot of the bars to the baseline of the numbers of tokens."""
BAR_SHARE = 0.62
"""How much of its column a bar fills."""
LINE_WIDTH, LINE_BEYOND = 4, 4
WIDE, NARROW, BETWEEN = 320, 340, 40


@dataclass(frozen=True, slots=True)
class CountColumn:
    """One number of tokens. `with_kit` and `worst_mhz` are the second values, None where there is nothing to show.

    Shares are from 0 to 1; `clearance_mhz` None: so few make no product that could meet another.
    """

    tokens: int
    air_share: float
    with_kit: float | None
    clearance_mhz: float | None
    worst_mhz: float | None
    is_planned: bool


@dataclass(frozen=True, slots=True)
class _Value:
    """A bar to be, its words, and a second value."""

    value: float | None
    text: str
    second: float | None
    is_planned: bool


def counts_picture(columns: Sequence[CountColumn]) -> Picture:
    """Two rows of bars over the same numbers of tokens: side by side, and one below the other on a phone.

    A bar that is planned has a thick frame; a heavy line across a bar is the second value.

    >>> picture = counts_picture([CountColumn(5, 0.19, 0.18, 10, 0, False), CountColumn(6, 0.22, 0.21, 3, -9, True)])
    >>> [(drawing.layout, drawing.width) for drawing in picture.drawings]
    [('wide', 680), ('narrow', 340)]
    """
    tokens = [str(column.tokens) for column in columns]
    air = [
        _Value(column.air_share, f"{100 * column.air_share:.0f}", column.with_kit, column.is_planned)
        for column in columns
    ]
    clearance = [
        _Value(column.clearance_mhz, _mhz(column.clearance_mhz), column.worst_mhz, column.is_planned)
        for column in columns
    ]
    panels = (("Time in the air (%) by tokens", air), ("Clearance (MHz) by tokens", clearance))
    height = FOOT + BELOW + 10
    wide, narrow = (
        tuple(
            shape
            for place, (title, values) in enumerate(panels)
            for shape in _panel(title, tokens, values, *where(place))
        )
        for where in (
            lambda place: (place * (WIDE + BETWEEN), 0, WIDE),
            lambda place: (0, place * height, NARROW),
        )
    )
    return Picture(
        "Time in the air and clearance by number of tokens",
        "More tokens give more time in the air and less clearance; the table below has the same figures.",
        (
            Drawing("wide", 2 * WIDE + BETWEEN, height, wide),
            Drawing("narrow", NARROW, len(panels) * height, narrow),
        ),
    )


def _mhz(clearance_mhz: float | None) -> str:
    return "–" if clearance_mhz is None else f"{clearance_mhz:g}"


def _panel(
    title: str, tokens: Sequence[str], values: Sequence[_Value], left: float, top: float, width: float
) -> Iterator[Shape]:
    most = max((each for value in values for each in (value.value, value.second) if each is not None), default=0)
    least = min((each for value in values for each in (value.value, value.second) if each is not None), default=0)
    axis = Axis(min(0, least), max(most, 1e-9), top + FOOT, top + TOP)
    zero = axis.at(0)
    column = width / max(1, len(values))
    yield Words(left, top + TITLE_Y, title, kind="soft")
    for place, (count, value) in enumerate(zip(tokens, values, strict=True)):
        middle = left + column * (place + 0.5)
        yield from _bar(value, axis, middle, column * BAR_SHARE)
        yield Words(middle, top + FOOT + BELOW, count, anchor="middle", kind="text strong")
    yield line(left, zero, left + width, zero)


def _bar(value: _Value, axis: Axis, middle: float, width: float) -> Iterator[Shape]:
    """A bar from 0 (down from it for a value below 0), its second value, and its words above both."""
    zero = axis.at(0)
    heads = [axis.at(each) for each in (value.value, value.second) if each is not None]
    left = middle - width / 2
    if value.value is not None:
        box = left, min(zero, heads[0]), width, abs(zero - heads[0])
        yield Box(*box)
        if value.is_planned:
            yield Box(*box, kind="mark")
    if value.second is not None:
        yield Box(left - LINE_BEYOND, heads[-1] - LINE_WIDTH / 2, width + 2 * LINE_BEYOND, LINE_WIDTH, kind="solid")
    above = min([zero, *heads]) - TEXT / 2
    yield Words(middle, above, value.text, anchor="middle", kind="text strong")
