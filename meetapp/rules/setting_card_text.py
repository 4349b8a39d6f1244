"""A setting card as text: what is stored with a kind of transmitter and travels in a meet file.

The first line says which card it is, each further line is one channel:

    switches 3 up          three switches; with switch 1 on the left, ON is up (or 'down')
    F1 000                 1 for on, 0 for off, switch 1 first

    button red blue        a button with two lamps and their names
    plan a long press      how a press for the plan is made (the line may be missing), then 'channel ...'
    A1 0 2 1 x3            presses for the plan, for the channel ('-': not told), then a sign for each lamp or none

    menu channel           plan letter and number are chosen (or 'menu mhz')
"""

import re
from collections.abc import Callable
from typing import TypeVar

from meetapp.rules.setting_cards import PRESSES_MAX, BadCard, Button, Card, Menu, Presses, SwitchBank

TEXT_MAX = 4000
_NOT_TOLD = "-"
_ON = frozenset({"1", "ON", "I"})
_OFF = frozenset({"0", "OFF", "O"})
T = TypeVar("T")


def parse_card(text: str) -> Card:
    """Read a card back.

    Raises: BadCard: it says what is wrong.

    >>> parse_card("switches 2 up\\nF1 01").patterns
    {'F1': (False, True)}
    >>> parse_card("menu mhz")
    Menu(by_mhz=True)
    """
    if len(text) > TEXT_MAX:
        raise BadCard("This setting card is too long.")
    lines = [line.split() for line in text.splitlines() if line.strip()]
    match lines[0] if lines else []:
        case ["switches", levers, ("up" | "down") as end] if levers.isascii() and levers.isdecimal():
            return SwitchBank(int(levers[:4]), end == "up", _once(lines[1:], _pattern))
        case ["button", *lamps]:
            return _button(tuple(lamps), lines[1:])
        case ["menu", ("channel" | "mhz") as what] if len(lines) == 1:
            return Menu(what == "mhz")
        case _:
            raise BadCard("A setting card begins with 'switches 3 up', 'button' or 'menu channel'.")


def card_text(card: Card) -> str:
    """The text that `parse_card` reads back.

    >>> card_text(SwitchBank(2, False, {"F1": (True, False)}))
    'switches 2 down\\nF1 10'
    """
    match card:
        case SwitchBank():
            rows = [f"{channel} {pattern_text(pattern, '')}" for channel, pattern in card.patterns.items()]
            return "\n".join([f"switches {card.levers} {'up' if card.on_is_up else 'down'}", *rows])
        case Button():
            steps = [f"{name} {step}" for name, step in card.steps.items() if step]
            rows = [f"{channel} {presses_text(told)}" for channel, told in card.presses.items()]
            return "\n".join([" ".join(["button", *card.lamps]), *steps, *rows])
        case Menu():
            return f"menu {'mhz' if card.by_mhz else 'channel'}"


def read_pattern(text: str, channel: str) -> tuple[bool, ...]:
    """A pattern of switches as people write it: '0 1 1', '011', 'off on on'.

    Raises: BadCard: another word is among it.

    >>> read_pattern("011", "F1") == read_pattern("off on, on", "F1") == (False, True, True)
    True
    """
    words = [word for word in re.split(r"[\s,;]+", text.strip().upper()) if word]
    if len(words) == 1 and set(words[0]) <= {"0", "1"}:
        words = list(words[0])
    wrong = next((word for word in words if word not in _ON | _OFF), None)
    if wrong is not None:
        raise BadCard(f"{channel}: '{wrong.lower()[:20]}' is no place of a switch: write 1 or on, 0 or off.", channel)
    return tuple(word in _ON for word in words)


def pattern_text(pattern: tuple[bool, ...], between: str = " ") -> str:
    """A pattern of switches as `read_pattern` reads it.

    >>> pattern_text((False, True))
    '0 1'
    """
    return between.join("1" if lever else "0" for lever in pattern)


def _button(lamps: tuple[str, ...], lines: list[list[str]]) -> Button:
    steps = {line[0]: " ".join(line[1:]) for line in lines[:2] if line[0] in ("plan", "channel")}
    rows = _once(lines[len(steps) :], _presses)
    return Button(lamps, steps.get("plan", ""), steps.get("channel", ""), rows)


def _once(lines: list[list[str]], read: Callable[[str, list[str]], T]) -> dict[str, T]:
    rows: dict[str, T] = {}
    for channel, *words in lines:
        if channel in rows:
            raise BadCard(f"{channel} stands there twice.", channel)
        rows[channel] = read(channel, words)
    return rows


def _pattern(channel: str, words: list[str]) -> tuple[bool, ...]:
    return read_pattern(" ".join(words), channel)


def _presses(channel: str, words: list[str]) -> Presses:
    return read_presses(" ".join(words), channel)


def read_presses(text: str, channel: str) -> Presses:
    """Presses for plan and channel and the signs of the lamps, as people write them: '0 2 1 x3', '- 3'.

    Raises: BadCard: fewer than two numbers, or one that is no number from 0 to 99.

    >>> read_presses("- 2 1 x3", "A1")
    Presses(plan=None, channel=2, lamps=('1', 'x3'))
    """
    words = [word for word in re.split(r"[\s,;]+", text.strip().lower()) if word]
    if len(words) < 2:
        raise BadCard(f"{channel} needs two numbers of presses ('-' where one isn't told).", channel)
    plan, button = (_number(word, channel) for word in words[:2])
    return Presses(plan, button, tuple(words[2:]))


def _number(word: str, channel: str) -> int | None:
    if word == _NOT_TOLD:
        return None
    if not (word.isascii() and word.isdecimal() and len(word) <= len(str(PRESSES_MAX))):
        raise BadCard(f"{channel}: '{word[:20]}' is no number of presses: write 0 to {PRESSES_MAX}.", channel)
    return int(word)


def presses_text(told: Presses) -> str:
    """Presses and lamps as `read_presses` reads them.

    >>> presses_text(Presses(None, 2, ("1", "x3")))
    '- 2 1 x3'
    """
    presses = [_NOT_TOLD if number is None else str(number) for number in (told.plan, told.channel)]
    return " ".join([*presses, *told.lamps])
