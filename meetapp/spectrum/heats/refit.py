"""One more pilot in a heat that people know already: the fewest of them get another channel, nobody another place."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.heats.effort import Effort, EffortSpent
from meetapp.spectrum.heats.kits import entries_of
from meetapp.spectrum.heats.plan import HeatPlace
from meetapp.spectrum.heats.planning import never
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.heats.seating import best_seating

_STEPS = 50_000


@dataclass(frozen=True, slots=True)
class Joined:
    """A heat with one more pilot, along the start line, and who of the others has to change channel."""

    places: tuple[HeatPlace, ...]
    changed: tuple[str, ...]


def joined(day: HeatProblem, places: Sequence[HeatPlace], newcomer: str) -> Joined | None:
    """Seat one more pilot of the roster in a heat; None where no channels keep the floors for all of them.

    day: the roster, the floors, loans beside the heats, places on the start line. places: the heat as it is known.
    Exact: of all channels the ones with the fewest changes for those who are in it, then the newcomer's wake channel.
    The others keep their places; the newcomer gets the free one whose neighbours are furthest in frequency, the first
    of such. Where that was not settled in time (more than eight pilots on fine tuning steps), None as well.

    >>> from meetapp.spectrum.floors import Floors
    >>> from meetapp.spectrum.tuning import Setting
    >>> r1, r2, r8 = Setting("R1", 5658), Setting("R2", 5695), Setting("R8", 5917)
    >>> day = HeatProblem((HeatPilot("Ada", (r1, r8)), HeatPilot("Bo", (r1, r2))), 2, 1, Floors(37, 10))
    >>> heat = joined(day, [HeatPlace("Ada", "R1", 5658, 1)], "Bo")
    >>> [(place.pilot, place.label, place.pad) for place in heat.places], heat.changed
    ([('Ada', 'R1', 1), ('Bo', 'R2', 2)], ())
    """
    known = {place.pilot: place for place in places}
    members = [_as_known(pilot, known) for pilot in day.pilots if pilot.name in known or pilot.name == newcomer]
    if len(members) > day.size or (day.pads is not None and len(members) > day.pads):
        return None
    mhz_of = _channels(replace(day, pilots=tuple(members)))
    if mhz_of is None:
        return None
    pad_of = {name: place.pad for name, place in known.items()}
    carriers = {pilot.name: Carrier(mhz_of[pilot.name], pilot.width_mhz) for pilot in members}
    pad_of[newcomer] = _best_pad(carriers, pad_of, newcomer, day.pads)
    seated = sorted(members, key=lambda pilot: pad_of[pilot.name])
    return Joined(
        tuple(
            HeatPlace(pilot.name, pilot.label_of(mhz_of[pilot.name]), mhz_of[pilot.name], pad_of[pilot.name])
            for pilot in seated
        ),
        tuple(name for name, place in known.items() if mhz_of[name] != place.mhz),
    )


def _as_known(pilot: HeatPilot, known: dict[str, HeatPlace]) -> HeatPilot:
    """The pilot with the channel of the heat as the one to keep; the newcomer keeps what they flew on, if anything."""
    if pilot.name not in known:
        return pilot
    return replace(pilot, set_mhz=known[pilot.name].mhz, wake_mhz=None)


def _channels(heat: HeatProblem) -> dict[str, int] | None:
    entries = entries_of(heat)
    if entries.grounded:
        return None
    try:
        bits = best_seating(entries.air, entries.entries, Effort(_STEPS, never))
    except EffortSpent:
        return None
    return None if bits is None else {name: entries.air.mhz(bit) for name, bit in zip(entries.names, bits, strict=True)}


def _best_pad(carriers: dict[str, Carrier], pad_of: dict[str, int], newcomer: str, pads: int | None) -> int:
    last = pads or max(len(carriers), *pad_of.values(), 1)
    taken = {pad: carriers[name] for name, pad in pad_of.items()}
    free = [pad for pad in range(1, last + 1) if pad not in taken]

    def nearest(pad: int) -> float:
        left = max((other for other in taken if other < pad), default=None)
        right = min((other for other in taken if other > pad), default=None)
        beside = [spacing_between(carriers[newcomer], taken[other]) for other in (left, right) if other is not None]
        return min(beside, default=0)

    return max(free, key=lambda pad: (nearest(pad), -pad))
