"""The kinds of causes that a clash can have, and one cause with its odds."""

from dataclasses import dataclass
from typing import Literal, NamedTuple

CauseKind = Literal["own_receiver", "wrong_channel", "too_close", "product", "neighbour", "no_token", "unknown"]

WORDS: dict[CauseKind, str] = {
    "own_receiver": "own goggles, antenna, range or battery",
    "wrong_channel": "a transmitter not on the channel it was given",
    "too_close": "two loans nearer than the picture bears",
    "product": "a product of others on air",
    "neighbour": "a known foreign signal beside the field",
    "no_token": "a transmitter on air without a token",
    "unknown": "none of these explains it well",
}
"""The one table of causes: the program, the file and the page say these words."""


class Cause(NamedTuple):
    """What may have disturbed: `mhz` of the disturber, product or edge (None: none, or not to be told), and the loans.

    `away_mhz`: how far that is from the victim's channel, widths taken off.
    """

    kind: CauseKind
    mhz: int | None = None
    sources: tuple[int, ...] = ()
    away_mhz: float | None = None


@dataclass(frozen=True, slots=True)
class Weighed:
    """A kind of cause of one report with its probability, the likeliest of that kind by name where it has most of it.

    `named`: the probability of that one alone; the rest is others of the same kind.
    """

    cause: Cause
    probability: float
    named: float


OWN_RECEIVER = Cause("own_receiver")
UNKNOWN = Cause("unknown")
NO_TOKEN = Cause("no_token")
