"""Odds as a drawing: a bar for each cause, as long as it is likely, on one scale that ends at the whole."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from meetapp.drawings.axis import Axis
from meetapp.drawings.shapes import SMALL, TEXT, Box, Drawing, Picture, Shape, Words, line
from meetapp.drawings.text_width import shorten, text_width

_WIDE, _NARROW = 860.0, 350.0
_NAMES = 380.0
_BAR = 16.0
_ROW, _TALL_ROW = 30.0, 48.0
_GAP, _PAD = 10.0, 6.0


@dataclass(frozen=True, slots=True)
class Odds:
    """One bar: what it stands for, how long it is, and its figure in words ('37 %')."""

    name: str
    value: float
    text: str


def odds_picture(odds: Sequence[Odds], title: str, whole: float = 1.0) -> Picture | None:
    """The bars from the first down, on a scale from nothing to `whole`; None without a bar.

    On a wide page the names stand before the bars, on a phone above them. Values beyond the whole lengthen the scale.

    >>> picture = odds_picture([Odds("a product", 0.6, "60 %"), Odds("neither", 0.4, "40 %")], "Causes")
    >>> picture and [(drawing.layout, drawing.height) for drawing in picture.drawings]
    [('wide', 72.0), ('narrow', 108.0)]
    """
    if not odds:
        return None
    end = max([whole, *(each.value for each in odds)])
    figures = max(text_width(each.text, TEXT) for each in odds) + _GAP
    drawings = (
        Drawing("wide", _WIDE, len(odds) * _ROW + 2 * _PAD, tuple(_wide(odds, end, figures))),
        Drawing("narrow", _NARROW, len(odds) * _TALL_ROW + 2 * _PAD, tuple(_narrow(odds, end, figures))),
    )
    return Picture(title, f"{'; '.join(f'{each.name}: {each.text}' for each in odds)}.", drawings)


def _wide(odds: Sequence[Odds], end: float, figures: float) -> Iterator[Shape]:
    axis = Axis(0, end, _NAMES, _WIDE - figures)
    for place, each in enumerate(odds):
        top = _PAD + place * _ROW
        yield Words(_NAMES - _GAP, top + 20, shorten(each.name, TEXT, _NAMES - _GAP), TEXT, "end")
        yield from _bar(each, axis, top + (_ROW - _BAR) / 2)
    yield line(_NAMES, _PAD, _NAMES, _PAD + len(odds) * _ROW)


def _narrow(odds: Sequence[Odds], end: float, figures: float) -> Iterator[Shape]:
    axis = Axis(0, end, 1, _NARROW - figures)
    for place, each in enumerate(odds):
        top = _PAD + place * _TALL_ROW
        yield Words(1, top + 16, shorten(each.name, SMALL, _NARROW - 1), SMALL)
        yield from _bar(each, axis, top + 24)
        yield line(1, top + 21, 1, top + 27 + _BAR)


def _bar(each: Odds, axis: Axis, top: float) -> Iterator[Shape]:
    """The rest of the scale stays in sight as a fine line, so that a bar is seen as a part of a whole."""
    end = axis.at(each.value)
    yield line(end, top + _BAR / 2, axis.end, top + _BAR / 2, "hair")
    yield Box(axis.start, top, end - axis.start, _BAR, "solid")
    yield Words(axis.end + _GAP, top + 13, each.text, TEXT, kind="text strong")
