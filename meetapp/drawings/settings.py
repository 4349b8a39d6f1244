"""How one channel is set, drawn: a bank of switches as it looks, a button with its lamps, or a menu.

Everything is told by where a thing stands, by its shape and by a word beside it, so it reads in sun and on paper.
"""

from collections.abc import Iterator, Sequence
from math import cos, pi, sin

from meetapp.drawings.shapes import LARGE, TEXT, Box, Drawing, Picture, Shape, Stroke, Words, lines
from meetapp.drawings.text_width import shorten, text_width
from meetapp.rules.setting_cards import (
    DARK,
    LIT,
    LeversToSet,
    MenuEntry,
    PressesToMake,
    ToDo,
    lamp_words,
    presses_words,
)

WIDEST = 344
"""No drawing of a setting is wider, so that it stands on a phone at its own size."""
_EDGE = 2
"""Room for the strokes at the rim."""

# The bank of switches: the word at its ON end, then a slot for each lever with its number inside and its state below.
_SIDE, _PITCH = 48, 64
_SLOT_TOP, _SLOT_WIDTH, _SLOT_HEIGHT = 14, 32, 74
_BANK_HEIGHT = 118

# The button: a row for the plan and one for the channel; each press is a dot while they can be counted at a glance.
_ROW, _DOTS_FROM, _DOT = 34, 84, 20
_DOTS_MAX = 7

# The lamps: circles in rows, the name above and what the lamp does below.
_LAMP, _LAMP_ROW, _BETWEEN_LAMPS = 15, 84, 10
_RAYS, _RAY_FROM, _RAY_TO = 8, 18, 22

# The menu: a screen with a line for each thing that is chosen.
_MARGIN, _LINE, _VALUE = 16, 44, 26


def setting_picture(to_do: ToDo, channel: str) -> Picture:
    """How a channel is set, in one drawing; its description is the sentence that stands below it."""
    match to_do:
        case LeversToSet():
            title, drawing = "Switches", _levers(to_do)
        case PressesToMake():
            title, drawing = "Button", _presses(to_do)
        case MenuEntry():
            title, drawing = "Menu", _menu(to_do)
    return Picture(f"{title} for {channel}", to_do.words, (drawing,))


def _levers(to_do: LeversToSet) -> Drawing:
    count = len(to_do.levers)
    pitch = min(_PITCH, (WIDEST - _SIDE - _EDGE) / count)
    slot = min(_SLOT_WIDTH, pitch * 0.6)
    shapes: list[Shape] = [Box(_SIDE, _EDGE, pitch * count, _BANK_HEIGHT, "box", 6)]
    upper, lower = (_SLOT_TOP + _SLOT_HEIGHT * part + 5 for part in (0.25, 0.75))
    shapes += [
        Words(_SIDE - 8, upper if to_do.on_is_up else lower, "ON", LARGE, "end", "text strong"),
        Words(_SIDE - 8, lower if to_do.on_is_up else upper, "off", TEXT, "end", "soft"),
    ]
    for place, is_on in enumerate(to_do.levers):
        middle = _SIDE + pitch * (place + 0.5)
        top = _SLOT_TOP if is_on == to_do.on_is_up else _SLOT_TOP + _SLOT_HEIGHT / 2
        word, look = ("on", "text strong") if is_on else ("off", "text")
        shapes += [
            Box(middle - slot / 2, _SLOT_TOP, slot, _SLOT_HEIGHT, "inside line", 3),
            Box(middle - slot / 2 + 4, top + 4, slot - 8, _SLOT_HEIGHT / 2 - 8, "solid", 2),
            Words(middle, _BANK_HEIGHT - 9, str(place + 1), LARGE, "middle", "text strong"),
            Words(middle, _BANK_HEIGHT + 21, word, TEXT, "middle", look),
        ]
    return Drawing("only", _SIDE + pitch * count + _EDGE, _BANK_HEIGHT + 28, tuple(shapes))


def _presses(to_do: PressesToMake) -> Drawing:
    shapes: list[Shape] = []
    top = 0.0
    for name, presses, _step in to_do.steps:
        shapes += _press_row(name, presses, top)
        top += _ROW
    right = max((word.extent.right for word in shapes if isinstance(word, Words)), default=0.0)
    if to_do.lamps:
        rows = list(_lamp_rows(to_do.lamps, top))
        shapes += [shape for row in rows for shape in row]
        right = max(right, max(_right_of(shape) for row in rows for shape in row))
        top += _LAMP_ROW * len(rows)
    return Drawing("only", right + _EDGE, top, tuple(shapes))


def _press_row(name: str, presses: int, top: float) -> Iterator[Shape]:
    middle = top + _ROW / 2
    dots = presses if presses <= _DOTS_MAX else 0
    yield Words(0, middle + 5, name, LARGE, kind="text strong")
    for dot in range(dots):
        x = _DOTS_FROM + _DOT * dot
        yield _circle(x + 8, middle, 8, "inside line")
        yield _circle(x + 8, middle, 4, "solid")
    yield Words(_DOTS_FROM + _DOT * dots + (6 if dots else 0), middle + 5, presses_words(presses), TEXT)


def _lamp_rows(lamps: Sequence[tuple[str, str]], top: float) -> Iterator[list[Shape]]:
    """Rows of lamps, as many in each as fit beside one another with the longest of their words."""
    longest = max(text_width(word, TEXT) for name, sign in lamps for word in (name, lamp_words(sign)))
    cell = min(max(longest, 2 * _RAY_TO) + _BETWEEN_LAMPS, WIDEST / 2)
    across = int(WIDEST // cell)
    for first in range(0, len(lamps), across):
        row: list[Shape] = []
        y = top + _LAMP_ROW * (first // across)
        for place, (name, sign) in enumerate(lamps[first : first + across]):
            row += _lamp(name, sign, cell * (place + 0.5), y, cell - _BETWEEN_LAMPS / 2)
        yield row


def _lamp(name: str, sign: str, x: float, top: float, room: float) -> Iterator[Shape]:
    """A dark lamp is an empty ring, a lit one full with rays, a blinking one a spot in a broken ring."""
    y = top + 41
    yield Words(x, top + 14, shorten(name, TEXT, room), TEXT, "middle", "soft")
    if sign == DARK:
        yield _circle(x, y, _LAMP, "inside line")
    elif sign == LIT:
        yield _circle(x, y, _LAMP, "solid")
        yield _rays(x, y)
    else:
        yield _circle(x, y, _LAMP, "inside line dashed")
        yield _circle(x, y, _LAMP / 2, "solid")
    yield Words(x, top + 77, shorten(lamp_words(sign), TEXT, room), TEXT, "middle", "text strong")


def _rays(x: float, y: float) -> Stroke:
    angles = [2 * pi * ray / _RAYS for ray in range(_RAYS)]
    return lines(
        [
            ((x + _RAY_FROM * cos(a), y + _RAY_FROM * sin(a)), (x + _RAY_TO * cos(a), y + _RAY_TO * sin(a)))
            for a in angles
        ]
    )


def _menu(to_do: MenuEntry) -> Drawing:
    height = _LINE * len(to_do.lines) + 8
    terms = max(text_width(what, LARGE) for what, _value in to_do.lines)
    width = terms + max(text_width(value, _VALUE) for _what, value in to_do.lines) + 4 * _MARGIN
    shapes: list[Shape] = [Box(_EDGE, _EDGE, width, height, "box", 8)]
    for place, (what, value) in enumerate(to_do.lines):
        baseline = _EDGE + _LINE * (place + 1) - 10
        shapes += [
            Words(_EDGE + _MARGIN, baseline, what, LARGE, kind="soft"),
            Words(_EDGE + width - _MARGIN, baseline, value, _VALUE, "end", "text strong"),
        ]
    return Drawing("only", width + 2 * _EDGE, height + 2 * _EDGE, tuple(shapes))


def _circle(x: float, y: float, radius: float, kind: str) -> Box:
    return Box(x - radius, y - radius, 2 * radius, 2 * radius, kind, radius)


def _right_of(shape: Shape) -> float:
    if isinstance(shape, Words):
        return shape.extent.right
    return shape.x + shape.width if isinstance(shape, Box) else 0
