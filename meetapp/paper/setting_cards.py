"""Setting cards: how each channel of one kind is set, small enough for a pocket or the lid of a box."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from meetapp.flows.printing.setting_card import CardToPrint, ChannelToPrint
from meetapp.paper.card_places import CARDS, CardFormat, CardSize
from meetapp.paper.pen import MM_PER_PT, Face, Pen, Side
from meetapp.paper.sizes import Paper
from meetapp.rules.setting_cards import (
    BLINKS,
    DARK,
    LIT,
    Button,
    Card,
    LeversToSet,
    MenuEntry,
    PressesToMake,
    SwitchBank,
)

CAUTION = "No power before you hold the token."
EDGE_MM = {CardSize.ID1: 3.0, CardSize.QUARTER: 6.0}
"""No word comes nearer to the cut line; a quarter of a page has the printer's blank rim on two sides."""

_NAME_PT, _WORDS_PT, _SMALL_PT = 10.0, 6.2, 5.4
_LINE_HEIGHT = 1.25
_HEAD_SIZES_PT, _HEAD_PART = (_WORDS_PT, 5.4, 4.6, 4.0, 3.4), 0.4
_FOOT_MM, _BELOW_HEAD_MM, _DESCENT_MM = 3.2, 1.2, 0.6
_LABEL_MM, _CELL_MM, _BETWEEN_MM = 10.5, 8.4, 2.5
_LEVER_MM, _SLOT_MM, _SLOT_HEIGHT_MM, _ON_MM = 3.4, 2.0, 5.2, 4.6
_LAMP_MM, _LAMP_RADIUS_MM = 4.0, 1.3
_MENU_CELL_MM, _MENU_WIDTH_MM = 5.2, 13.0


@dataclass(frozen=True, slots=True)
class _Area:
    """The inside of a card."""

    left: float
    top: float
    width: float
    bottom: float

    @property
    def right(self) -> float:
        return self.left + self.width


def setting_card_sheets(view: CardToPrint, size: CardSize, paper: Paper, made_at: datetime) -> bytes:
    """A kind's setting card as a PDF, exact in millimetres; channels that don't fit go on further cards."""
    pen = Pen(f"Setting card, {view.kind_name}", made_at)
    form, edge = CARDS[size], EDGE_MM[size]
    parts = _parts(pen, view, form, edge)
    for number, channels in enumerate(parts):
        on_sheet = number % form.on_sheet(paper)
        if on_sheet == 0:
            pen.new_page(paper)
        x, y = form.place(paper, on_sheet)
        pen.box(x, y, form.width_mm, form.height_mm)
        area = _Area(x + edge, y + edge, form.width_mm - 2 * edge, y + form.height_mm - edge)
        _draw_card(pen, view, channels, area, f"card {number + 1} of {len(parts)}" if len(parts) > 1 else "")
    return pen.finished()


def _parts(pen: Pen, view: CardToPrint, form: CardFormat, edge: float) -> list[Sequence[ChannelToPrint]]:
    """The channels card by card."""
    area = _Area(edge, edge, form.width_mm - 2 * edge, form.height_mm - edge)
    top = area.top + _head_height(pen, view, area)
    rows = max(1, int((area.bottom - _FOOT_MM - top) // _cell_height(view.card)))
    on_card = rows * _columns(pen, view, area)
    every = view.channels
    return [every[first : first + on_card] for first in range(0, len(every), on_card)] or [()]


def _columns(pen: Pen, view: CardToPrint, area: _Area) -> int:
    widest = max((_cell_width(pen, channel) for channel in view.channels), default=area.width)
    return max(1, int((area.width + _BETWEEN_MM) // (widest + _BETWEEN_MM)))


def _cell_height(card: Card) -> float:
    return _CELL_MM if isinstance(card, SwitchBank | Button) else _MENU_CELL_MM


def _cell_width(pen: Pen, channel: ChannelToPrint) -> float:
    match channel.to_do:
        case LeversToSet(levers=levers):
            return _LABEL_MM + _ON_MM + _LEVER_MM * len(levers)
        case PressesToMake() as told:
            return _LABEL_MM + max(_LAMP_MM * len(told.lamps), pen.width(_presses_text(told), _WORDS_PT))
        case _:
            return _LABEL_MM + _MENU_WIDTH_MM


def _draw_card(pen: Pen, view: CardToPrint, channels: Sequence[ChannelToPrint], area: _Area, number: str) -> None:
    top = area.top + _head_height(pen, view, area)
    _head(pen, view, area, number)
    columns, height = _columns(pen, view, area), _cell_height(view.card)
    across = (area.width + _BETWEEN_MM) / columns
    for place, channel in enumerate(channels):
        row, column = divmod(place, columns)
        _cell(pen, channel, area.left + across * column, top + height * row)
    baseline = area.bottom - _DESCENT_MM
    pen.write(area.left, baseline, CAUTION, _WORDS_PT, Face.BOLD)
    left_over = area.width - pen.width(CAUTION, _WORDS_PT, Face.BOLD) - 3
    pen.write_to_fit(area.right, baseline, view.club_name, _SMALL_PT, left_over, side=Side.RIGHT)


def _head(pen: Pen, view: CardToPrint, area: _Area, number: str) -> None:
    beside = pen.width(number, _SMALL_PT) + 2 if number else 0
    y = area.top + _NAME_PT * MM_PER_PT * 0.8
    pen.write_to_fit(area.left, y, view.kind_name, _NAME_PT, area.width - beside, Face.BOLD)
    if number:
        pen.write(area.right, y, number, _SMALL_PT, side=Side.RIGHT)
    size, lines = _head_lines(pen, view, area)
    for line in lines:
        y += size * MM_PER_PT * _LINE_HEIGHT
        pen.write(area.left, y, line, size)


def _head_height(pen: Pen, view: CardToPrint, area: _Area) -> float:
    size, lines = _head_lines(pen, view, area)
    return _NAME_PT * MM_PER_PT + len(lines) * size * MM_PER_PT * _LINE_HEIGHT + _BELOW_HEAD_MM


def _head_lines(pen: Pen, view: CardToPrint, area: _Area) -> tuple[float, list[str]]:
    """What holds for the whole card, with the size in points: smaller where it would take the channels' room."""
    told = [*_how(view), view.hint, f"Channels of {view.meet_name}." if view.meet_name else ""]
    for size in _HEAD_SIZES_PT:
        lines = [line for text in told if text for line in pen.wrapped(text, area.width, size)]
        if len(lines) * size * MM_PER_PT * _LINE_HEIGHT <= _HEAD_PART * (area.bottom - area.top):
            break
    return size, lines


def _how(view: CardToPrint) -> Iterator[str]:
    """What holds for every channel of the card."""
    card = view.card
    if isinstance(card, SwitchBank):
        yield f"With switch 1 on the left, ON is {'up' if card.on_is_up else 'down'}."
    elif isinstance(card, Button):
        yield " ".join(f"Press for the {what}: {step}." for what, step in card.steps.items() if step)
        if card.lamps:
            signs = {sign for told in card.presses.values() for sign in told.lamps}
            counted = " Number: blinks so often." if signs - {DARK, LIT, BLINKS} else ""
            yield f"Lamps from left to right: {', '.join(card.lamps)}. Full: lit. Empty: dark. Spot: blinks.{counted}"
    else:
        yield f"In the menu: {'the frequency in MHz' if card.by_mhz else 'plan letter, then channel number'}."


def _cell(pen: Pen, channel: ChannelToPrint, left: float, top: float) -> None:
    pen.write_to_fit(left, top + 4.2, channel.name, 11, _LABEL_MM - 1, Face.BOLD)
    has_own_mhz = channel.name != str(channel.mhz)
    x = left + _LABEL_MM
    match channel.to_do:
        case LeversToSet() as told:
            _bank(pen, told, x, top)
        case PressesToMake() as told:
            pen.write(x, top + 2.6, _presses_text(told), _WORDS_PT)
            for place, (_name, sign) in enumerate(told.lamps):
                _lamp(pen, sign, x + _LAMP_MM * (place + 0.5) - 0.6, top + 5.4)
        case MenuEntry():
            pen.write(x, top + 4.2, f"{channel.mhz} MHz" if has_own_mhz else "MHz", 7.5)
            return
        case None:
            pen.write(x, top + 4.2, "not told", _WORDS_PT)
    pen.write(left, top + 7, f"{channel.mhz} MHz" if has_own_mhz else "MHz", _SMALL_PT)


def _bank(pen: Pen, told: LeversToSet, x: float, top: float) -> None:
    """The switches as they look: each slot with its lever as a black half, its number below."""
    on_y, off_y = (top + 2.2, top + 4.9) if told.on_is_up else (top + 4.9, top + 2.2)
    pen.write(x + _ON_MM - 0.8, on_y, "ON", _SMALL_PT, Face.BOLD, Side.RIGHT)
    pen.write(x + _ON_MM - 0.8, off_y, "off", _SMALL_PT, side=Side.RIGHT)
    for place, is_on in enumerate(told.levers):
        middle = x + _ON_MM + _LEVER_MM * (place + 0.5)
        half = _SLOT_HEIGHT_MM / 2
        pen.box(middle - _SLOT_MM / 2, top + 0.4, _SLOT_MM, _SLOT_HEIGHT_MM, 0.2)
        lever_top = top + 0.4 + (0 if is_on == told.on_is_up else half)
        pen.block(middle - _SLOT_MM / 2, lever_top, _SLOT_MM, half)
        pen.write(middle, top + 7.8, str(place + 1), _SMALL_PT, side=Side.MIDDLE)


def _lamp(pen: Pen, sign: str, x: float, y: float) -> None:
    if sign == LIT:
        pen.disc(x, y, _LAMP_RADIUS_MM)
        return
    pen.circle(x, y, _LAMP_RADIUS_MM, 0.25)
    if sign == BLINKS:
        pen.disc(x, y, _LAMP_RADIUS_MM / 2.2)
    elif sign != DARK:
        pen.write(x, y + 0.65, sign.removeprefix("x"), 5, Face.BOLD, Side.MIDDLE)


def _presses_text(told: PressesToMake) -> str:
    """The presses, as short as they can be.

    >>> _presses_text(PressesToMake(2, 3))
    'plan 2×, channel 3×'
    """
    return ", ".join(f"{what.lower()} {presses}×" for what, presses, _step in told.steps)
