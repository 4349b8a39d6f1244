"""What a transmitter (or a pair of goggles) can make, and what it is set to for a token.

The text form lists words separated by spaces or commas: plan letters (`A`), single labels (`R3`), frequencies (`5740`)
and ranges with a step (`5650-5925/5`; the step is 1 MHz where none is written). Capitals don't matter.
"""

import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from meetapp.spectrum.bands import Segment, lies_within
from meetapp.spectrum.channels import (
    REFERENCE_WIDTH_MHZ,
    BadProblem,
    Channel,
    ChannelPlan,
    check_mhz,
    in_order_of_preference,
)

_RANGE = re.compile(r"(\d{1,6})[-–](\d{1,6})(?:/(\d{1,6}))?")
_FREQUENCY = re.compile(r"\d{1,6}")
_LONGEST_TEXT = 2_000


@dataclass(frozen=True, slots=True, order=True)
class TunableRange:
    """A range that is tuned in steps, from its low end upwards: low, low + step, and so on up to high. MHz."""

    low_mhz: int
    high_mhz: int
    step_mhz: int = 1

    def __post_init__(self) -> None:
        check_mhz("tuning", self.low_mhz)
        check_mhz("tuning", self.high_mhz)
        if self.low_mhz > self.high_mhz:
            raise BadProblem("tuning", f"{self.text} runs backwards: write the lower end first.")
        if self.step_mhz < 1:
            raise BadProblem("tuning", f"{self.text} has no step: the step is 1 MHz or more.")

    @property
    def text(self) -> str:
        """The range in the form that `parse_tuning` reads."""
        return f"{self.low_mhz}-{self.high_mhz}/{self.step_mhz}"

    def all_mhz(self) -> range:
        """Every frequency of the range."""
        return range(self.low_mhz, self.high_mhz + 1, self.step_mhz)


@dataclass(frozen=True, slots=True)
class Tuning:
    """Everything that a transmitter or a pair of goggles can be set to."""

    channels: tuple[Channel, ...] = ()
    frequencies_mhz: tuple[int, ...] = ()
    ranges: tuple[TunableRange, ...] = ()

    def all_mhz(self) -> frozenset[int]:
        """Every frequency it can make, in MHz."""
        in_ranges = (mhz for each in self.ranges for mhz in each.all_mhz())
        return frozenset(channel.mhz for channel in self.channels).union(self.frequencies_mhz, in_ranges)

    def text(self, plans: Sequence[ChannelPlan] = ()) -> str:
        """The words that `parse_tuning` reads back; a plan of `plans` that is there whole is written as its letter."""
        own = set(self.channels)
        whole = [plan for plan in plans if own.issuperset(plan.channels)]
        written = {channel for plan in whole for channel in plan.channels}
        return " ".join(
            [
                *(plan.letter for plan in whole),
                *(channel.label for channel in self.channels if channel not in written),
                *(str(mhz) for mhz in self.frequencies_mhz),
                *(each.text for each in self.ranges),
            ]
        )


@dataclass(frozen=True, slots=True)
class Setting:
    """What to set on a transmitter: the name it has there (`R1`, or `5671 MHz`) and the frequency it makes."""

    label: str
    mhz: int


def parse_tuning(text: str, plans: Sequence[ChannelPlan]) -> Tuning:
    """Read what a transmitter can make from words such as `A B R3 5740 5650-5925/5`.

    Units: MHz. Each thing once: channels in the order of the plans, frequencies and ranges ascending.
    Raises: BadProblem (field "tuning") that quotes the word that is wrong; for an empty text too.

    >>> from meetapp.data.catalog import published_plans
    >>> parse_tuning("r3, 5740 5650-5660/5", published_plans()).text()
    'R3 5740 5650-5660/5'
    >>> parse_tuning("R9", published_plans())
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: 'R9' is no plan, channel, frequency or range; there is R1 to R8.
    """
    words = _words(text)
    by_letter = {plan.letter: plan for plan in plans}
    by_label = {channel.label: channel for plan in plans for channel in plan.channels}
    channels: set[Channel] = set()
    frequencies: set[int] = set()
    ranges: set[TunableRange] = set()
    for word in words:
        if word in by_letter:
            channels.update(by_letter[word].channels)
        elif word in by_label:
            channels.add(by_label[word])
        elif _FREQUENCY.fullmatch(word):
            check_mhz("tuning", int(word))
            frequencies.add(int(word))
        elif match := _RANGE.fullmatch(word):
            ranges.add(TunableRange(int(match[1]), int(match[2]), int(match[3] or 1)))
        else:
            raise BadProblem("tuning", f"'{word}' is no plan, channel, frequency or range; {_known(word, plans)}.")
    in_plan_order = [channel for plan in plans for channel in plan.channels if channel in channels]
    return Tuning(tuple(in_plan_order), tuple(sorted(frequencies)), tuple(sorted(ranges)))


def setting_for(
    nominal_mhz: int,
    pull_mhz: int,
    transmitter: Tuning,
    goggles: Tuning | None,
    plans: Sequence[ChannelPlan],
    *,
    segments: Collection[Segment] | None = None,
    width_mhz: float = REFERENCE_WIDTH_MHZ,
) -> Setting | None:
    """What to set on this transmitter for a token: the nearest frequency in reach that it and its goggles can make.

    Units: MHz. In reach: within the pull; ties go to the lower frequency. `goggles` None: they receive what the
    transmitter makes. `segments`, where given, leaves out what doesn't lie inside the pilot's band profile with its
    whole width. The label is the transmitter's own channel there (R before other plans), or the MHz where it has no
    channel name for it. None: it can't serve the token.

    >>> from meetapp.data.catalog import published_plans
    >>> plans = published_plans()
    >>> setting_for(5732, 2, parse_tuning("B", plans), None, plans)
    Setting(label='B1', mhz=5733)
    >>> setting_for(5732, 2, parse_tuning("B", plans), parse_tuning("R", plans), plans) is None
    True
    """
    within_pull = range(nominal_mhz - pull_mhz, nominal_mhz + pull_mhz + 1)
    possible = transmitter.all_mhz().intersection(within_pull)
    if goggles is not None:
        possible &= goggles.all_mhz()
    if segments is not None:
        inside = tuple(segments)
        possible = frozenset(mhz for mhz in possible if lies_within(mhz, width_mhz, inside))
    if not possible:
        return None
    mhz = min(possible, key=lambda mhz: (abs(mhz - nominal_mhz), mhz))
    return Setting(_own_label(mhz, transmitter, plans), mhz)


def _words(text: str) -> list[str]:
    if len(text) > _LONGEST_TEXT:
        raise BadProblem("tuning", "That is too long for a list of channels: use plan letters or a range.")
    words = re.split(r"[\s,;]+", re.sub(r"\s*([-–/])\s*", r"\1", text.strip()).upper())
    if not any(words):
        raise BadProblem("tuning", "Say what it can make: plan letters, channels, MHz or a range.")
    return [word for word in words if word]


def _known(word: str, plans: Sequence[ChannelPlan]) -> str:
    for plan in plans:
        if word.rstrip("0123456789") == plan.letter:
            numbers = [channel.number for channel in plan.channels]
            return f"there is {plan.letter}{min(numbers)} to {plan.letter}{max(numbers)}"
    return "the plans here are " + " ".join(plan.letter for plan in plans) if plans else "there are no plans here"


def _own_label(mhz: int, transmitter: Tuning, plans: Sequence[ChannelPlan]) -> str:
    own = [channel for channel in transmitter.channels if channel.mhz == mhz]
    if not own:
        return f"{mhz} MHz"
    letters = [plan.letter for plan in in_order_of_preference(plans)]
    return min(own, key=lambda channel: _place(channel.plan, letters)).label


def _place(letter: str, letters: Sequence[str]) -> int:
    return letters.index(letter) if letter in letters else len(letters)
