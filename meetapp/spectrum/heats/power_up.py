"""In which order the pilots of a heat switch on, so that nobody wakes on a channel that is on air.

Most transmitters come up on the channel last set and can only be set once they are powered. So each pilot is on the
wake channel for a moment, while everybody before them is on the new one already.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.spectrum.carriers import Carrier, spacing_between
from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ

_ON_IT, _MAY_BE_ON_IT, _NEAR = 10_000, 100, 1
"""What it costs to wake on a carrier on air, to wake perhaps on one, and to wake nearer to one than the floor."""


@dataclass(frozen=True, slots=True)
class PowerUp:
    """One pilot about to switch on: what they will set, how wide it is, what they wake on (None: nobody knows)."""

    pilot: str
    mhz: int
    width_mhz: float = REFERENCE_WIDTH_MHZ
    wake_mhz: int | None = None


@dataclass(frozen=True, slots=True)
class WakeClash:
    """A pilot who wakes nearer than the spacing floor to carriers on air (MHz); `wake_mhz` None: it may be anywhere."""

    pilot: str
    wake_mhz: int | None
    on_air_mhz: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PowerUpOrder:
    """The order to switch on in, and the clashes that no order avoids."""

    pilots: tuple[str, ...]
    clashes: tuple[WakeClash, ...]


def power_up_order(heat: Sequence[PowerUp], on_air: Sequence[Carrier], spacing_mhz: float) -> PowerUpOrder:
    """The order in which the fewest pilots wake on a channel that is on air.

    on_air: who is up already. Waking on a carrier (the occupied widths overlap) is the worst, then an unknown wake
    channel for each carrier that is up, then waking nearer to one than the floor. Exact: by dynamic programming over
    who is up (Held and Karp 1962). Units: MHz, widths taken off. Ties: the order given. Cost: n 2^n for n pilots.

    >>> heat = [PowerUp("Ada", 5658), PowerUp("Bo", 5732, wake_mhz=5880), PowerUp("Cy", 5880, wake_mhz=5658)]
    >>> power_up_order(heat, [], 37)
    PowerUpOrder(pilots=('Bo', 'Cy', 'Ada'), clashes=(WakeClash(pilot='Ada', wake_mhz=None, on_air_mhz=(5732, 5880)),))
    """
    beside = [[_cost(one, _set(other), spacing_mhz) for other in heat] for one in heat]
    from_start = [sum(_cost(one, carrier, spacing_mhz) for carrier in on_air) for one in heat]
    order = _cheapest_order(beside, from_start)
    up = list(on_air)
    clashes = []
    for place in order:
        near = tuple(sorted(carrier.mhz for carrier in up if _cost(heat[place], carrier, spacing_mhz)))
        if near:
            clashes.append(WakeClash(heat[place].pilot, heat[place].wake_mhz, near))
        up.append(_set(heat[place]))
    return PowerUpOrder(tuple(heat[place].pilot for place in order), tuple(clashes))


def _set(one: PowerUp) -> Carrier:
    return Carrier(one.mhz, one.width_mhz)


def _cost(one: PowerUp, up: Carrier, spacing_mhz: float) -> int:
    if one.wake_mhz is None:
        return _MAY_BE_ON_IT
    wake = Carrier(one.wake_mhz, one.width_mhz)
    if abs(wake.mhz - up.mhz) < (wake.width_mhz + up.width_mhz) / 2:
        return _ON_IT
    return _NEAR if spacing_between(wake, up) < spacing_mhz else 0


def _cheapest_order(beside: list[list[int]], from_start: list[int]) -> list[int]:
    """The order with the least sum of what each costs beside those before; `beside[i][j]`: i comes up after j."""
    count = len(beside)
    everybody = (1 << count) - 1
    after: list[list[int]] = [[cost] * (everybody + 1) for cost in from_start]
    for one in range(count):
        for up in range(1, everybody + 1):
            last = (up & -up).bit_length() - 1
            after[one][up] = after[one][up & (up - 1)] + beside[one][last]
    to_come = [0] * (everybody + 1)
    for up in range(everybody - 1, -1, -1):
        to_come[up] = min(
            after[one][up] + to_come[up | 1 << one] for one in range(count) if not up >> one & 1
        )
    order: list[int] = []
    up = 0
    while up != everybody:
        one = next(
            one
            for one in range(count)
            if not up >> one & 1 and after[one][up] + to_come[up | 1 << one] == to_come[up]
        )
        order.append(one)
        up |= 1 << one
    return order
