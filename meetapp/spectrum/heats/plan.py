"""A day of heats: the answer of the planner."""

from dataclasses import dataclass

from meetapp.spectrum.heats.opponents import Opponents, bound_words
from meetapp.spectrum.products import Measures


@dataclass(frozen=True, slots=True)
class HeatPlace:
    """One pilot in one heat: what to set, and where to stand on the start line (counted from 1)."""

    pilot: str
    label: str
    mhz: int
    pad: int


@dataclass(frozen=True, slots=True)
class PlannedHeat:
    """A heat along its start line, with the measures of what is then on air (loans beside it included)."""

    places: tuple[HeatPlace, ...]
    measures: Measures


@dataclass(frozen=True, slots=True)
class PlannedRound:
    """The heats of a round in order of flying."""

    heats: tuple[PlannedHeat, ...]


@dataclass(frozen=True, slots=True)
class HeatPlan:
    """A day of heats, and what is proven about it.

    `heats_bound` and `changes_bound`: no plan has fewer heats in a round, or with as few heats and sizes as even fewer
    channel changes over the day; where `..._proven_minimum` holds, none of these has fewer than this one.
    `twice_running` counts the flights of a pilot straight after another one. `on_wake_channel`: how many fly on the
    channel they wake on. `grounded`: pilots with no frequency that keeps the floors even alone.
    """

    rounds: tuple[PlannedRound, ...]
    heats_bound: int
    heats_proven_minimum: bool
    channel_changes: int
    changes_bound: int
    changes_proven_minimum: bool
    twice_running: int
    on_wake_channel: int
    opponents: Opponents
    grounded: tuple[str, ...]

    @property
    def heats_per_round(self) -> int:
        """How many heats a round has."""
        return len(self.rounds[0].heats)

    @property
    def spread(self) -> int:
        """How far the sizes of heats differ."""
        sizes = [len(heat.places) for heat in self.rounds[0].heats]
        return max(sizes, default=0) - min(sizes, default=0)

    @property
    def sizes_even(self) -> bool:
        """Whether the sizes of heats differ by at most one."""
        return self.spread <= 1

    @property
    def opponents_words(self) -> str:
        """What the bound on different others met says, and of which plans."""
        return bound_words(self.opponents.bound, self.heats_per_round, self.sizes_even)

    @property
    def worth(self) -> tuple[int, ...]:
        """The order of plans for the same day: the smaller is the better one."""
        return (
            len(self.grounded),
            self.heats_per_round,
            max(0, self.spread - 1),
            self.channel_changes,
            -self.on_wake_channel,
            self.twice_running,
            -self.opponents.reached,
        )

    @property
    def is_final(self) -> bool:
        """Whether a longer search has nothing left to gain that is counted here, wake channels apart."""
        return (
            self.heats_proven_minimum
            and self.changes_proven_minimum
            and self.sizes_even
            and self.opponents.reached == self.opponents.bound
        )
