"""How the channels of one kind of transmitter are set, and what that means for one channel.

A card is one of three: a bank of small switches, a button with lamps, or a menu. It lies with the rules and not with
the sums: nothing here is a frequency that anybody reckons with. A channel goes by its name on the transmitter ('R1'),
or by its MHz as digits ('5740') where it has none.
"""

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

LEVERS_MAX = 10
LAMPS_MAX = 16
PRESSES_MAX = 99
CHANNELS_MAX = 64
"""More channels than this are not listed one by one on a card; a menu needs no list."""

DARK, LIT, BLINKS = "0", "1", "b"
_TIMES = re.compile(r"x([1-9][0-9]?)")
_LETTER_AND_NUMBER = re.compile(r"([A-Z]+)(\d+)")


class BadCard(ValueError):
    """A card that can't be. `channel`: the one it is about ('' for the card as a whole); `reason`: a plain sentence."""

    def __init__(self, reason: str, channel: str = "") -> None:
        super().__init__(reason)
        self.reason = reason
        self.channel = channel


@dataclass(frozen=True, slots=True)
class LeversToSet:
    """Where the levers of a switch bank must stand, switch 1 first, which is on the left as the card shows it."""

    levers: tuple[bool, ...]
    on_is_up: bool

    @property
    def words(self) -> str:
        """The same in a sentence.

        >>> LeversToSet((True, False, True), True).words
        'Switches 1 and 3 on, switch 2 off. With switch 1 on the left, ON is up.'
        """
        on = [number for number, lever in enumerate(self.levers, start=1) if lever]
        off = [number for number, lever in enumerate(self.levers, start=1) if not lever]
        if on and off:
            told = f"{_switches(on)} on, {_switches(off).lower()} off"
        else:
            told = f"{'All switches' if len(self.levers) > 1 else 'The switch'} {'on' if on else 'off'}"
        return f"{told}. With switch 1 on the left, ON is {'up' if self.on_is_up else 'down'}."


@dataclass(frozen=True, slots=True)
class PressesToMake:
    """How often the button is pressed for the plan and for the channel, and what its lamps show then.

    `plan` and `channel` None: not told; `lamps`: (name, sign) pairs, see `lamp_words`; the steps: how a press is made.
    """

    plan: int | None
    channel: int | None
    lamps: tuple[tuple[str, str], ...] = ()
    plan_step: str = ""
    channel_step: str = ""

    @property
    def words(self) -> str:
        """The same in sentences.

        >>> PressesToMake(None, 2, (("red", "1"), ("blue", "x3")), channel_step="a short press").words
        'Channel: press 2 times (a short press). Then the lamps: red lit, blue blinks 3 times.'
        """
        told = [
            f"{name}: {presses_words(presses)}{f' ({step})' if step else ''}." for name, presses, step in self.steps
        ]
        if self.lamps:
            lamps = ", ".join(f"{name} {lamp_words(sign)}" for name, sign in self.lamps)
            told.append(f"{'Then the lamps' if told else 'The lamps'}: {lamps}.")
        return " ".join(told)

    @property
    def steps(self) -> tuple[tuple[str, int, str], ...]:
        """What is pressed, in order: (for what, how often, how a press is made)."""
        both = (("Plan", self.plan, self.plan_step), ("Channel", self.channel, self.channel_step))
        return tuple((name, presses, step) for name, presses, step in both if presses is not None)


@dataclass(frozen=True, slots=True)
class MenuEntry:
    """What is chosen in the transmitter's menu: (what, value) pairs in order."""

    lines: tuple[tuple[str, str], ...]

    @property
    def words(self) -> str:
        """The same in a sentence.

        >>> MenuEntry((("plan", "R"), ("channel", "3"))).words
        'In the menu: plan R, channel 3.'
        """
        return f"In the menu: {', '.join(' '.join(line) for line in self.lines)}."


ToDo = LeversToSet | PressesToMake | MenuEntry
"""What a pilot does to set one channel."""


@dataclass(frozen=True, slots=True)
class SwitchBank:
    """A bank of switches. `patterns` by channel, switch 1 first, true where it is on; a channel may be missing.

    `on_is_up`: with switch 1 on the left the ON end is the upper one.

    Raises:
        BadCard: too many switches or channels, or a pattern that is longer or shorter than the bank.
    """

    levers: int
    on_is_up: bool
    patterns: Mapping[str, tuple[bool, ...]] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if not 1 <= self.levers <= LEVERS_MAX:
            raise BadCard(f"A switch bank has 1 to {LEVERS_MAX} switches.")
        _check_count(self.patterns)
        for channel, pattern in self.patterns.items():
            if len(pattern) != self.levers:
                raise BadCard(f"{channel}: one place for each switch makes {self.levers}.", channel)

    def to_do(self, channel: str, mhz: int) -> LeversToSet | None:
        """Where the levers stand for a channel; None where that isn't told."""
        pattern = self.patterns.get(channel)
        return LeversToSet(pattern, self.on_is_up) if pattern is not None else None


@dataclass(frozen=True, slots=True)
class Presses:
    """The presses for one channel and the signs of the lamps after them (empty: not told)."""

    plan: int | None = None
    channel: int | None = None
    lamps: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Button:
    """A button with lamps. `lamps`: their names in order; the steps say how a press for plan or channel is made.

    Raises:
        BadCard: too many lamps, presses or channels, an unknown sign, or signs that don't fit the lamps.
    """

    lamps: tuple[str, ...] = ()
    plan_step: str = ""
    channel_step: str = ""
    presses: Mapping[str, Presses] = field(default_factory=dict, hash=False)

    def __post_init__(self) -> None:
        if len(self.lamps) > LAMPS_MAX:
            raise BadCard(f"{len(self.lamps)} lamps are too many: name {LAMPS_MAX} at most.")
        _check_count(self.presses)
        for channel, told in self.presses.items():
            self._check(channel, told)

    def _check(self, channel: str, told: Presses) -> None:
        if told.lamps and len(told.lamps) != len(self.lamps):
            raise BadCard(f"{channel}: one sign for each lamp makes {len(self.lamps)}.", channel)
        for sign in told.lamps:
            if not is_lamp_sign(sign):
                raise BadCard(f"'{sign}' is no sign for a lamp: write 0, 1, b, or x3 for three blinks.", channel)
        for presses in (told.plan, told.channel):
            if presses is not None and not 0 <= presses <= PRESSES_MAX:
                raise BadCard(f"{channel}: the presses are a number from 0 to {PRESSES_MAX}.", channel)
        if told == Presses():
            raise BadCard(f"{channel} has neither presses nor lamps.", channel)

    @property
    def steps(self) -> dict[str, str]:
        """How a press is made, by what it is for."""
        return {"plan": self.plan_step, "channel": self.channel_step}

    def to_do(self, channel: str, mhz: int) -> PressesToMake | None:
        """The presses for a channel; None where they aren't told."""
        told = self.presses.get(channel)
        if told is None:
            return None
        lamps = tuple(zip(self.lamps, told.lamps, strict=True)) if told.lamps else ()
        return PressesToMake(told.plan, told.channel, lamps, self.plan_step, self.channel_step)


@dataclass(frozen=True, slots=True)
class Menu:
    """A menu that asks for plan letter and channel number, or (`by_mhz`) for the frequency in MHz."""

    by_mhz: bool = False

    def to_do(self, channel: str, mhz: int) -> MenuEntry:
        """What is chosen in the menu: the frequency too where the channel has no letter.

        >>> Menu().to_do("R3", 5732).lines, Menu().to_do("5740", 5740).lines
        ((('plan', 'R'), ('channel', '3')), (('frequency', '5740 MHz'),))
        """
        named = _LETTER_AND_NUMBER.fullmatch(channel)
        if self.by_mhz or named is None:
            return MenuEntry((("frequency", f"{mhz} MHz"),))
        return MenuEntry((("plan", named[1]), ("channel", named[2])))


Card = SwitchBank | Button | Menu


def is_lamp_sign(sign: str) -> bool:
    """Whether a lamp can be described so.

    >>> [is_lamp_sign(sign) for sign in ("0", "1", "b", "x3", "x0", "2")]
    [True, True, True, True, False, False]
    """
    return sign in (DARK, LIT, BLINKS) or _TIMES.fullmatch(sign) is not None


def lamp_words(sign: str) -> str:
    """What a lamp does, by its sign: '0' dark, '1' lit, 'b' blinks, 'x3' blinks three times and begins again.

    >>> [lamp_words(sign) for sign in ("0", "1", "b", "x3", "x1")]
    ['dark', 'lit', 'blinks', 'blinks 3 times', 'blinks once']
    """
    if sign in (DARK, LIT, BLINKS):
        return {DARK: "dark", LIT: "lit", BLINKS: "blinks"}[sign]
    times = sign.removeprefix("x")
    return "blinks once" if times == "1" else f"blinks {times} times"


def same_settings(card: Card, mhz_of: Mapping[str, int]) -> tuple[tuple[str, ...], ...]:
    """Channels of different frequencies that are set alike, in groups, in the order of `mhz_of` (channel to MHz).

    Of a button the presses count, or the lamps where none are told. Two names of one frequency may be set alike.

    >>> bank = SwitchBank(1, True, {"A": (True,), "B": (False,), "C": (True,), "D": (True,)})
    >>> same_settings(bank, {"A": 5740, "B": 5760, "C": 5740, "D": 5800})
    (('A', 'C', 'D'),)
    """
    if isinstance(card, SwitchBank):
        return _alike(card.patterns, mhz_of)
    if isinstance(card, Button):
        return _alike({name: _pressed(each) for name, each in card.presses.items()}, mhz_of)
    return ()


def _pressed(told: Presses) -> object:
    return told.lamps if told.plan is None and told.channel is None else (told.plan, told.channel)


def same_lamps(card: Card, mhz_of: Mapping[str, int]) -> tuple[tuple[str, ...], ...]:
    """Channels of different frequencies that the lamps of a button can't tell apart, in groups.

    >>> told = {"A1": Presses(0, 1, ("1",)), "A2": Presses(0, 2, ("1",))}
    >>> same_lamps(Button(("red",), presses=told), {"A1": 5865, "A2": 5845})
    (('A1', 'A2'),)
    """
    if not isinstance(card, Button):
        return ()
    return _alike({name: each.lamps for name, each in card.presses.items() if each.lamps}, mhz_of)


def _alike(told: Mapping[str, object], mhz_of: Mapping[str, int]) -> tuple[tuple[str, ...], ...]:
    groups: defaultdict[object, list[str]] = defaultdict(list)
    for channel in mhz_of:
        if channel in told:
            groups[told[channel]].append(channel)
    return tuple(tuple(channels) for channels in groups.values() if len({mhz_of[channel] for channel in channels}) > 1)


def _check_count(channels: Mapping[str, object]) -> None:
    if len(channels) > CHANNELS_MAX:
        raise BadCard(f"{len(channels)} channels are too many for a card: {CHANNELS_MAX} at most.")


def _switches(numbers: Sequence[int]) -> str:
    if len(numbers) == 1:
        return f"Switch {numbers[0]}"
    return f"Switches {', '.join(map(str, numbers[:-1]))} and {numbers[-1]}"


def presses_words(presses: int) -> str:
    """A number of presses in words.

    >>> presses_words(0), presses_words(1), presses_words(3)
    ('no press', 'press once', 'press 3 times')
    """
    if presses == 0:
        return "no press"
    return "press once" if presses == 1 else f"press {presses} times"
