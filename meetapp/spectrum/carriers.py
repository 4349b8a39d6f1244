"""Carriers and neighbours: what is on air, how wide it is, and how far apart two of them have to be.

Widths are occupied bandwidths in steps of half a MHz, which keeps every distance exact.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem, exact_mhz

WIDEST_MHZ = 320
"""The widest channel that any neighbour near 5.8 GHz uses (IEEE 802.11be)."""


@dataclass(frozen=True, slots=True, order=True)
class Carrier:
    """One signal on air: its centre and its occupied width in MHz (20 is the analogue reference)."""

    mhz: int
    width_mhz: float = REFERENCE_WIDTH_MHZ

    def __post_init__(self) -> None:
        check_width(self.width_mhz)

    @property
    def edges_mhz(self) -> tuple[float, float]:
        """Where it begins and ends, half of its width below and above its centre."""
        half = self.width_mhz / 2
        return exact_mhz(self.mhz - half), exact_mhz(self.mhz + half)


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A known foreign signal beside the field: it counts by its edge only, never in products."""

    label: str
    centre_mhz: int
    width_mhz: float

    def __post_init__(self) -> None:
        check_width(self.width_mhz)

    @property
    def edges_mhz(self) -> tuple[float, float]:
        """Where it begins and ends."""
        return exact_mhz(self.centre_mhz - self.width_mhz / 2), exact_mhz(self.centre_mhz + self.width_mhz / 2)


def check_width(width_mhz: float) -> None:
    """Refuse a width that no signal here can have, or one that isn't in steps of half a MHz.

    Units: MHz. Raises: BadProblem (field "width_mhz").

    >>> check_width(17.5)
    >>> check_width(0)
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: A width of 0 MHz can't be: give more than 0 and at most 320 MHz.
    """
    if not 0 < width_mhz <= WIDEST_MHZ:
        raise BadProblem(
            "width_mhz",
            f"A width of {width_mhz:g} MHz can't be: give more than 0 and at most {WIDEST_MHZ} MHz.",
        )
    if width_mhz * 2 != int(width_mhz * 2):
        raise BadProblem(
            "width_mhz", f"Give the width in steps of half a MHz, rounded up; {width_mhz:g} is between two."
        )


def width_excess(a: Carrier, b: Carrier) -> float:
    """How much farther apart two carriers have to be than two of the reference width: (B1 + B2)/2 - B0.

    Units: MHz; negative for two narrow ones.

    >>> width_excess(Carrier(5658), Carrier(5695, 40))
    10
    """
    return exact_mhz((a.width_mhz + b.width_mhz) / 2 - REFERENCE_WIDTH_MHZ)


def required_distance(a: Carrier, b: Carrier, spacing_floor: float) -> float:
    """The centre distance that two carriers need, so that the floor stays the distance for two analogue ones.

    Units: MHz. Formula: S + (B1 + B2)/2 - B0 (our own convention: equal gaps between the edges).

    >>> required_distance(Carrier(5658), Carrier(5695), 37), required_distance(Carrier(5658), Carrier(5695, 40), 37)
    (37, 47)
    """
    return exact_mhz(spacing_floor + width_excess(a, b))


def spacing_between(a: Carrier, b: Carrier) -> float:
    """The spacing of two carriers with the widths taken off: equals the distance for two analogue ones.

    Units: MHz. At or above a floor exactly when the distance is at or above `required_distance`.

    >>> spacing_between(Carrier(5658), Carrier(5695)), spacing_between(Carrier(5658), Carrier(5695, 40))
    (37, 27)
    """
    return exact_mhz(abs(a.mhz - b.mhz) - width_excess(a, b))


def neighbour_gap(carrier: Carrier, neighbour: Neighbour) -> float:
    """The free space between the edges of a carrier and a neighbour; negative where they overlap.

    Units: MHz.

    >>> neighbour_gap(Carrier(5658), Neighbour("Wi-Fi 138", 5690, 80))
    -18
    """
    distance = abs(carrier.mhz - neighbour.centre_mhz)
    return exact_mhz(distance - (carrier.width_mhz + neighbour.width_mhz) / 2)


def blocked_by(
    token_mhz: int, token_width_mhz: float, on_air: Sequence[Carrier], spacing_floor: float
) -> tuple[Carrier, ...]:
    """The wide carriers on air that cover a token: wider than the reference, their distance to it not kept.

    Units: MHz. In the order of `on_air`. A blocked token has no loan of its own, so this is worked out each time.

    >>> blocked_by(5695, 20, [Carrier(5658), Carrier(5740, 40), Carrier(5880, 40)], 37)
    (Carrier(mhz=5740, width_mhz=40),)
    """
    token = Carrier(token_mhz, token_width_mhz)
    return tuple(
        carrier
        for carrier in on_air
        if carrier.width_mhz > REFERENCE_WIDTH_MHZ and spacing_between(token, carrier) < spacing_floor
    )
