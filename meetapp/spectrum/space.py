"""What a ranking looks through: the words that it shares with the sweeps."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Protocol

from meetapp.spectrum.carriers import Carrier

Found = tuple[Carrier, ...]
"""A list of carriers by ascending frequency."""

NOTHING_TO_MEASURE = 1 << 40
"""Stands for the distance that no product has: further than any distance between frequencies."""

CARRIERS_BETWEEN_PAUSES = 500
"""About how many carriers are tried between two pauses: some milliseconds."""


@dataclass(frozen=True, slots=True)
class Demand:
    """What a list must keep: the least distances, in the unit of the space, and how many pilots it has to serve."""

    spacing: int
    two: int = 0
    three: int = 0
    served: int = 0


class Tried:
    """Counts the carriers tried, so that a search can make a pause now and then without a clock."""

    def __init__(self) -> None:
        self.nodes = 0
        self._pause_at = CARRIERS_BETWEEN_PAUSES

    def is_time_to_pause(self) -> bool:
        """Whether so many carriers were tried since the last pause that it is time for the next one."""
        if self.nodes < self._pause_at:
            return False
        self._pause_at = self.nodes + CARRIERS_BETWEEN_PAUSES
        return True


class Space(Protocol):
    """Lists of carriers that keep a demand.

    `tried` counts the carriers tried, `floor` is what every list must keep, `ceiling` what none can pass or
    more than which doesn't count.
    """

    tried: Tried
    floor: Demand
    ceiling: Demand

    def any_of(
        self, demand: Demand, skip: Collection[Found] = (), onward_from: Found = ()
    ) -> Iterator[Found | None]:
        """Lists that keep the demand and aren't in `skip`: at least one if there is one. None stands for a pause.

        An end without a list proves that none is left. `onward_from`: a list that an earlier call with no harder demand
        and the same `skip` found; what that call had passed over is left out.
        """

    def smallest_of(self, demand: Demand, skip: Collection[Found] = ()) -> Iterator[Found | None]:
        """Ever smaller lists that keep the demand and aren't in `skip`, the smallest last; None stands for a pause."""

    def has_room_for(self, demand: Demand) -> bool:
        """False proves that no list keeps the demand."""

    def kept_by(self, found: Found) -> Demand:
        """The hardest demand that a list keeps."""

    def clearance_mhz(self, clearance: int) -> float:
        """A clearance in MHz with the widths taken off."""
