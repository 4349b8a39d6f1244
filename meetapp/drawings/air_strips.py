"""What both layouts of an air picture have in common: the strips, and the words beside them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from meetapp.spectrum.air import AirCarrier, AirFacts
from meetapp.spectrum.bands import Segment
from meetapp.spectrum.carriers import Neighbour

_MINUS = "−"


@dataclass(frozen=True, slots=True)
class Strip:
    """One set in the picture; `heading` is empty where it is the only one."""

    heading: str
    facts: AirFacts

    @property
    def has_names(self) -> bool:
        """Whether some carrier has a channel name."""
        return any(each.named.name for each in self.facts.carriers)

    @property
    def has_holders(self) -> bool:
        """Whether it is known who has them."""
        return any(each.named.who for each in self.facts.carriers)

    @property
    def has_distances(self) -> bool:
        """Whether there are enough carriers for a product to disturb one."""
        return any(each.nearest is not None for each in self.facts.carriers)


def on_one_axis(sets: Sequence[AirFacts]) -> tuple[AirFacts, ...]:
    """All over the same stretch of MHz."""
    low, high = min(facts.low_mhz for facts in sets), max(facts.high_mhz for facts in sets)
    return tuple(replace(facts, low_mhz=low, high_mhz=high) for facts in sets)


def distance_text(each: AirCarrier) -> str:
    """How far the nearest product is, with a true minus where it overlaps; '' where there is none."""
    return f"{each.nearest.distance_mhz:g}".replace("-", _MINUS) if each.nearest is not None else ""


def segment_text(segment: Segment) -> str:
    """A piece of band with its power."""
    power = "" if segment.power_mw is None else f", {segment.power_mw:g} mW"
    return f"{segment.low_mhz}–{segment.high_mhz}{power}"


def neighbour_text(neighbour: Neighbour) -> str:
    """A neighbour with its edges in front, which stay where a long name is cut."""
    low, high = neighbour.edges_mhz
    return f"{low:g}–{high:g} {neighbour.label}"
