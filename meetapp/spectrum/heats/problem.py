"""The question put to the planner of heats: who flies, how many at once, how often, above which floors."""

from collections import Counter
from dataclasses import dataclass, replace

from meetapp.spectrum.carriers import Carrier, Neighbour, check_width
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.tuning import Setting

MOST_PILOTS = 500
LARGEST_SIZE = 16
MOST_ROUNDS = 50


@dataclass(frozen=True, slots=True)
class HeatPilot:
    """A pilot as the planner sees them: what their transmitter can be set to (each MHz once), and how wide it is.

    `set_mhz`: the channel they have flown on today, if any: another one is a change. `wake_mhz`: what the transmitter
    comes up on, if known: it breaks ties. With tokens, `settings` are those of the tokens they can serve; the spacing
    floor has to be above twice the pull then, so that two settings of one token are never up together.
    """

    name: str
    settings: tuple[Setting, ...]
    width_mhz: float = REFERENCE_WIDTH_MHZ
    set_mhz: int | None = None
    wake_mhz: int | None = None

    def label_of(self, mhz: int) -> str:
        """The name that a frequency has on this pilot's transmitter."""
        return next(setting.label for setting in self.settings if setting.mhz == mhz)


@dataclass(frozen=True, slots=True)
class HeatProblem:
    """A day of heats: every pilot once in each round, at most `size` at once, every heat at or above both floors.

    `on_air`: loans beside the heats. `pads`: how many places the start line has; None where it has as many as a heat
    needs. `just_flew`: who was in the heat before the first one of this plan; `have_met`: pairs who flew together
    earlier today.

    Raises BadProblem with a sentence for a person.

    >>> HeatProblem((HeatPilot("Ada", (Setting("R1", 5658),)),), 0, 1, Floors(37, 10))
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: The size must be from 1 to 16 pilots, not 0.
    """

    pilots: tuple[HeatPilot, ...]
    size: int
    rounds: int
    floors: Floors
    on_air: tuple[Carrier, ...] = ()
    neighbours: tuple[Neighbour, ...] = ()
    pads: int | None = None
    just_flew: frozenset[str] = frozenset()
    have_met: frozenset[frozenset[str]] = frozenset()

    def __post_init__(self) -> None:
        if not 1 <= self.size <= LARGEST_SIZE:
            raise BadProblem("size", f"The size must be from 1 to {LARGEST_SIZE} pilots, not {self.size}.")
        if not 1 <= self.rounds <= MOST_ROUNDS:
            raise BadProblem("rounds", f"The rounds must be from 1 to {MOST_ROUNDS}, not {self.rounds}.")
        if not 1 <= len(self.pilots) <= MOST_PILOTS:
            raise BadProblem("pilots", f"There must be from 1 to {MOST_PILOTS} pilots, not {len(self.pilots)}.")
        if self.pads is not None and self.pads < min(self.size, len(self.pilots)):
            raise BadProblem("pads", f"A start line of {self.pads} places is too short for heats of {self.size}.")
        _check_floors(self.floors)
        _check_pilots(self.pilots)

    def with_floors(self, floors: Floors) -> "HeatProblem":
        """The same day above other floors."""
        return replace(self, floors=floors)

    def with_pilots(self, pilots: tuple[HeatPilot, ...]) -> "HeatProblem":
        """The same day for other pilots."""
        return replace(self, pilots=pilots)


def _check_floors(floors: Floors) -> None:
    if floors.spacing_mhz < 0:
        raise BadProblem("spacing_mhz", f"The spacing must be 0 MHz or more, not {floors.spacing_mhz:g}.")
    if floors.clearance_mhz is not None and floors.clearance_mhz < 0:
        raise BadProblem("clearance_mhz", f"The clearance must be 0 MHz or more, not {floors.clearance_mhz:g}.")


def _check_pilots(pilots: tuple[HeatPilot, ...]) -> None:
    for name, times in Counter(pilot.name for pilot in pilots).items():
        if times > 1:
            raise BadProblem("pilots", f"There are {times} pilots called '{name}': tell them apart.")
    for pilot in pilots:
        check_width(pilot.width_mhz)
        if len({setting.mhz for setting in pilot.settings}) < len(pilot.settings):
            raise BadProblem("pilots", f"'{pilot.name}' has a frequency twice.")
