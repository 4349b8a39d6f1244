"""Patterns by rule: binary counting on switches or lamps, one lamp of a row, presses counted along plan and channel."""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.rules.setting_cards import DARK, LIT, BadCard, Presses


@dataclass(frozen=True, slots=True)
class Counting:
    """How a row of on-off places counts: `first_is_ones`: place 1 is the ones, else the last one is; `inverted`: a one
    is off; `start`: the number of the first channel (0 or 1).
    """

    first_is_ones: bool = True
    inverted: bool = False
    start: int = 0


def pattern_of(number: int, places: int, counting: Counting) -> tuple[bool, ...]:
    """A number as a row of on-off places, place 1 first.

    Raises: BadCard: the number needs more places.

    >>> pattern_of(1, 3, Counting()), pattern_of(1, 3, Counting(first_is_ones=False, inverted=True))
    ((True, False, False), (True, True, False))
    """
    if not 0 <= number < 2**places:
        raise BadCard(f"{_places(places)} count to {2**places - 1} only, and {number} is needed.")
    from_the_ones = tuple(bool(number >> place & 1) != counting.inverted for place in range(places))
    return from_the_ones if counting.first_is_ones else from_the_ones[::-1]


def number_of(pattern: Sequence[bool], counting: Counting) -> int:
    """The number that a row of places shows: the inverse of `pattern_of`.

    >>> number_of((True, True, False), Counting())
    3
    """
    from_the_ones = pattern if counting.first_is_ones else pattern[::-1]
    return sum(1 << place for place, is_on in enumerate(from_the_ones) if is_on != counting.inverted)


def patterns_by_counting(channels: Sequence[str], places: int, counting: Counting) -> dict[str, tuple[bool, ...]]:
    """A pattern for each channel, counted in their order.

    Raises: BadCard: there are more channels than the places can count.

    >>> patterns_by_counting(["F1", "F2"], 2, Counting(start=1))
    {'F1': (True, False), 'F2': (False, True)}
    """
    if counting.start + len(channels) > 2**places:
        beginning = f" from {counting.start}" if counting.start else ""
        raise BadCard(f"{_places(places)} can't count {len(channels)} channels{beginning}.")
    return {
        channel: pattern_of(number, places, counting) for number, channel in enumerate(channels, start=counting.start)
    }


def presses_by_counting(plans: Sequence[tuple[str, Sequence[tuple[str, int]]]], start: int) -> dict[str, Presses]:
    """Presses for each channel: for the plan by its place, for the channel by its number, both counted from `start`.

    `plans`: (letter, its (channel, number) pairs). With a single plan none is pressed for it.

    >>> presses_by_counting([("A", [("A1", 1), ("A2", 2)])], 0)["A2"]
    Presses(plan=None, channel=1, lamps=())
    """
    return {
        channel: Presses(place if len(plans) > 1 else None, number - 1 + start)
        for place, (_letter, channels) in enumerate(plans, start=start)
        for channel, number in channels
    }


def one_lamp(number: int, lamps: int) -> tuple[str, ...]:
    """The signs of a row of lamps of which only the one with this number is lit; counts from 1.

    Raises: BadCard: there is no such lamp.

    >>> one_lamp(2, 3)
    ('0', '1', '0')
    """
    if not 1 <= number <= lamps:
        raise BadCard(f"There is no lamp number {number}: {lamps} are named.")
    return tuple(LIT if place == number else DARK for place in range(1, lamps + 1))


def lamps_of(pattern: Sequence[bool]) -> tuple[str, ...]:
    """A row of on-off places as signs of lamps.

    >>> lamps_of((True, False))
    ('1', '0')
    """
    return tuple(LIT if is_on else DARK for is_on in pattern)


def _places(count: int) -> str:
    return "One on-off place" if count == 1 else f"{count} on-off places"
