"""What may be wished of heats that are made already, and what a wish comes to."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from meetapp.rules.heats import Heat, HeatList


@dataclass(frozen=True, slots=True)
class Swap:
    """Two pilots of one round take each other's heat."""

    heat_id: int
    pilot_id: int
    other_heat_id: int
    other_pilot_id: int


@dataclass(frozen=True, slots=True)
class Move:
    """A pilot flies in another heat of the round."""

    heat_id: int
    pilot_id: int
    to_heat_id: int


@dataclass(frozen=True, slots=True)
class Reseat:
    """Another channel or place for a pilot in a heat; `is_everywhere`: the channel in all their heats to come."""

    heat_id: int
    pilot_id: int
    mhz: int
    pad: int
    is_everywhere: bool = False


@dataclass(frozen=True, slots=True)
class FitIn:
    """A pilot who came late, or came back, gets a seat in every round that is not over."""

    pilot_id: int


@dataclass(frozen=True, slots=True)
class TakeOut:
    """A pilot flies in no more heats: their seats to come stay empty."""

    pilot_id: int


Wish = Swap | Move | Reseat | FitIn | TakeOut


@dataclass(frozen=True, slots=True)
class Told:
    """Somebody to be told: what they know of a round, and what it is from now on ('' where there is no seat)."""

    name: str
    round: int
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Change:
    """What a wish comes to. `kind` and `facts`: the journal line; `words`: the change in a sentence.

    `told`: who has to be told, those named by the wish first. `broken`: the floors that it breaks, heat by heat.
    `basis`: a digest of all this: as long as it is the same, what was looked at is what is done.
    """

    kind: str
    facts: Mapping[str, Any]
    words: str
    heats: HeatList
    changed: tuple[Heat, ...]
    told: tuple[Told, ...]
    broken: tuple[str, ...]
    basis: str
