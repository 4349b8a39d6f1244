"""The roster as the searches see it: masks of frequencies, and pilots with the same kit counted together.

Whoever can make the same frequencies at the same width can stand in for each other where only the number of heats
counts, so the searches for it work on kits with numbers of pilots.
"""

from dataclasses import dataclass

from meetapp.spectrum.heats.air import Air
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem


@dataclass(frozen=True, slots=True, order=True)
class Kit:
    """What a transmitter can do: the mask of its frequencies, and its width (by place among the widths)."""

    mask: int
    width: int


@dataclass(frozen=True, slots=True)
class Entry:
    """One pilot for the searches: the kit, and the bits (or None) of the channel flown on and of the wake channel."""

    kit: Kit
    set_bit: int | None
    wake_bit: int | None


@dataclass(frozen=True, slots=True)
class Entries:
    """Everybody who can fly at all, in the order of the roster, and the names of those who can't."""

    air: Air
    names: tuple[str, ...]
    entries: tuple[Entry, ...]
    grounded: tuple[str, ...]

    @property
    def kits(self) -> dict[Kit, tuple[int, ...]]:
        """The pilots (by place) of each kit; kits in the order of their first pilot."""
        found: dict[Kit, list[int]] = {}
        for place, entry in enumerate(self.entries):
            found.setdefault(entry.kit, []).append(place)
        return {kit: tuple(places) for kit, places in found.items()}


def entries_of(problem: HeatProblem) -> Entries:
    """The roster for the searches; grounded is who has no frequency that keeps the floors even alone in a heat.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.carriers import Carrier
    >>> from meetapp.spectrum.tuning import Setting
    >>> pilots = HeatPilot("Ada", (Setting("R1", 5658),)), HeatPilot("Bo", (Setting("R8", 5917),))
    >>> entries_of(HeatProblem(pilots, 2, 1, Floors(37, 10), on_air=(Carrier(5640),))).grounded
    ('Ada',)
    """
    every = sorted({setting.mhz for pilot in problem.pilots for setting in pilot.settings})
    widths = sorted({pilot.width_mhz for pilot in problem.pilots})
    air = Air(every, widths, problem.floors, problem.on_air, problem.neighbours)
    made = [(pilot, _entry(pilot, air, widths.index(pilot.width_mhz))) for pilot in problem.pilots]
    flying = [(pilot.name, entry) for pilot, entry in made if entry.kit.mask]
    return Entries(
        air,
        tuple(name for name, _ in flying),
        tuple(entry for _, entry in flying),
        tuple(pilot.name for pilot, entry in made if not entry.kit.mask),
    )


def _entry(pilot: HeatPilot, air: Air, width: int) -> Entry:
    mask = air.mask([setting.mhz for setting in pilot.settings]) & air.empty.free[width]
    return Entry(Kit(mask, width), _bit_of(pilot.set_mhz, mask, air), _bit_of(pilot.wake_mhz, mask, air))


def _bit_of(mhz: int | None, mask: int, air: Air) -> int | None:
    """The bit of a frequency where the pilot can still take it."""
    if mhz is None or mhz < air.lowest_mhz or not mask >> air.bit(mhz) & 1:
        return None
    return air.bit(mhz)
