"""What an estimate of levels rests on: every figure that isn't measured, with its source or without one."""

from dataclasses import dataclass, fields
from itertools import pairwise
from math import isfinite

from meetapp.spectrum.channels import REFERENCE_WIDTH_MHZ, BadProblem


@dataclass(frozen=True, slots=True)
class Range:
    """What a figure may be, and in which unit."""

    low: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Assumptions:
    """Antennas, receiver and transmitters. All alike for every pilot.

    quad_gain_dbi, pilot_gain_dbi: the antennas, in every direction. noise_figure_db, intercept_dbm (input-referred, of
    the third order): the receiver's. rejection_20_db, rejection_40_db, rejection_80_db: by how much its filter weakens
    what lies 20, 40 and 80 MHz beside its channel. conversion_loss_db: by how much a product that a transmitter makes
    is weaker than the foreign signal at its antenna. protection_db: the margin that a picture needs, called the
    protection ratio. Raises BadProblem that names the figure.

    >>> Assumptions().rejection_db(30), Assumptions().rejection_db(500)
    (30.0, 55)
    """

    quad_gain_dbi: float = 2
    pilot_gain_dbi: float = 2
    noise_figure_db: float = 6
    intercept_dbm: float = -20
    rejection_20_db: float = 20
    rejection_40_db: float = 40
    rejection_80_db: float = 55
    conversion_loss_db: float = 10
    protection_db: float = 15

    def __post_init__(self) -> None:
        for each in fields(self):
            value, allowed = getattr(self, each.name), ALLOWED[each.name]
            if not (isfinite(value) and allowed.low <= value <= allowed.high):
                raise BadProblem(each.name, f"Give a figure from {allowed.low:g} to {allowed.high:g} {allowed.unit}.")
        for (_near, low), (far, high) in pairwise(self._filter):
            if high < low:
                raise BadProblem(
                    f"rejection_{far}_db", "A filter doesn't let through more of what lies further off: raise it."
                )

    @property
    def _filter(self) -> tuple[tuple[int, float], ...]:
        return (0, 0), (20, self.rejection_20_db), (40, self.rejection_40_db), (80, self.rejection_80_db)

    def rejection_db(self, offset_mhz: float) -> float:
        """By how much the receiver weakens what lies this far beside its channel; straight between the points."""
        offset = abs(offset_mhz)
        for (near, low), (far, high) in pairwise(self._filter):
            if offset <= far:
                return low + (high - low) * (offset - near) / (far - near)
        return self.rejection_80_db


BANDWIDTH_MHZ = REFERENCE_WIDTH_MHZ
"""The receiver's bandwidth, for its noise: the analogue reference width."""

ALLOWED = {
    "quad_gain_dbi": Range(-20, 20, "dBi"),
    "pilot_gain_dbi": Range(-20, 30, "dBi"),
    "noise_figure_db": Range(0, 40, "dB"),
    "intercept_dbm": Range(-60, 40, "dBm"),
    "rejection_20_db": Range(0, 120, "dB"),
    "rejection_40_db": Range(0, 120, "dB"),
    "rejection_80_db": Range(0, 120, "dB"),
    "conversion_loss_db": Range(0, 80, "dB"),
    "protection_db": Range(0, 60, "dB"),
}
"""Bounds that only catch a slip of the finger, by the name of the figure. None of the defaults has a source."""
