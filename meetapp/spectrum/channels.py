"""Channels and channel plans: a centre frequency in MHz with its label in a published lettered list.

Everything in this package counts in whole MHz. Half MHz appear only where a width is odd; such numbers are
multiples of 0.25 and therefore exact as floats, so no measure here is ever rounded.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

REFERENCE_WIDTH_MHZ = 20
"""B0, the occupied width of the analogue carrier that a spacing is stated for. Common practice, no published source."""

DEFAULT_PULL_MHZ = 2
"""How far from a token's nominal frequency a transmitter may be set. Common practice, no published source."""

USEFUL_CLEARANCE_MHZ = 35
"""Clearance beyond this brings nothing: about the reach of a receiver. Common practice, no published source."""

LOWEST_MHZ, HIGHEST_MHZ = 4800, 6200
"""What a channel near 5.8 GHz may be: generous, only there to catch a slip of the finger."""

_FIRST_CHOICE_PLAN = "R"


class BadProblem(ValueError):
    """Input that no sum can be done with: `field` is what is wrong, `reason` a plain sentence for a person."""

    def __init__(self, field: str, reason: str) -> None:
        super().__init__(field, reason)
        self.field = field
        self.reason = reason

    def __str__(self) -> str:
        return self.reason


@dataclass(frozen=True, slots=True, order=True)
class Channel:
    """One channel of a plan: R1 is Channel("R", 1, 5658)."""

    plan: str
    number: int
    mhz: int

    def __post_init__(self) -> None:
        check_mhz("channel", self.mhz)
        if self.number < 1:
            raise BadProblem("channel", f"{self.number} is no channel number: they count from 1.")

    @property
    def label(self) -> str:
        """The label in its plan, as printed: R1."""
        return f"{self.plan}{self.number}"


@dataclass(frozen=True, slots=True)
class ChannelPlan:
    """A lettered list of channels with its source. The letter alone is no fact: keep the frequencies."""

    letter: str
    name: str
    channels: tuple[Channel, ...]
    source: str

    def __post_init__(self) -> None:
        if not (self.letter.isascii() and self.letter.isalpha() and self.letter.isupper()):
            raise BadProblem("letter", f"A channel plan goes by capital letters, A to Z; '{self.letter}' is none.")
        if not self.channels:
            raise BadProblem("channels", f"Channel plan {self.letter} has no channels.")
        if any(channel.plan != self.letter for channel in self.channels):
            raise BadProblem("channels", f"A channel in plan {self.letter} carries another plan's letter.")
        if len({channel.number for channel in self.channels}) < len(self.channels):
            raise BadProblem("channels", f"Channel plan {self.letter} has a channel number twice.")


def check_mhz(field: str, mhz: int) -> None:
    """Refuse a frequency that can't be meant.

    Units: MHz. Raises: BadProblem outside 4800 to 6200 MHz.

    >>> check_mhz("mhz", 5800)
    >>> check_mhz("mhz", 580)
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: 580 MHz is not near 5.8 GHz: give a number from 4800 to 6200.
    """
    if not LOWEST_MHZ <= mhz <= HIGHEST_MHZ:
        raise BadProblem(field, f"{mhz} MHz is not near 5.8 GHz: give a number from {LOWEST_MHZ} to {HIGHEST_MHZ}.")


def exact_mhz(mhz: float) -> float:
    """The same number, as an int where it is whole (so that it prints and serialises as 37, not 37.0).

    >>> exact_mhz(37.0), exact_mhz(36.5)
    (37, 36.5)
    """
    return int(mhz) if mhz == int(mhz) else mhz


def in_order_of_preference(plans: Iterable[ChannelPlan]) -> tuple[ChannelPlan, ...]:
    """The plans in the order in which their labels name a frequency: R first, then as given.

    F8 and R7 are both 5880 MHz. Open firmware for quads answers R7 there, so R comes first.
    Source: iNav, src/main/io/vtx_string.c (for 5880 MHz).

    >>> from meetapp.data.catalog import published_plans
    >>> "".join(plan.letter for plan in in_order_of_preference(published_plans()))
    'RABEFL'
    """
    return tuple(sorted(plans, key=lambda plan: plan.letter != _FIRST_CHOICE_PLAN))


def labels_at(mhz: int, plans: Sequence[ChannelPlan]) -> tuple[str, ...]:
    """Every label that means exactly this frequency, R first, then in the order of the plans.

    Units: MHz. Empty where no plan has it. Cost: one look at each channel.

    >>> from meetapp.data.catalog import published_plans
    >>> labels_at(5880, published_plans()), labels_at(5671, published_plans())
    (('R7', 'F8'), ())
    """
    return tuple(
        channel.label for plan in in_order_of_preference(plans) for channel in plan.channels if channel.mhz == mhz
    )


def name_of(mhz: int, plans: Sequence[ChannelPlan]) -> str:
    """The name to say for a frequency: its first label, or the MHz where no plan has it.

    >>> from meetapp.data.catalog import published_plans
    >>> name_of(5658, published_plans()), name_of(5671, published_plans())
    ('R1', '5671 MHz')
    """
    labels = labels_at(mhz, plans)
    return labels[0] if labels else f"{mhz} MHz"
