"""What a receiver at the pilots' line gets: levels, its filter, products in it, and what the picture looks like.

Everything here is invented for simulated meets, apart from the loss in free space and the arithmetic of the intercept.
"""

from dataclasses import dataclass
from math import exp, log
from random import Random

from meetapp.spectrum.levels.free_space import dbm_of, free_space_loss_db
from meetapp.spectrum.levels.intercept import three_signal_product_dbm, two_signal_product_dbm

NOISE_DBM = -95


@dataclass(frozen=True, slots=True)
class Physics:
    """The constants of a simulated world.

    needed_db: the carrier over the disturbance that a picture needs. capture_db: by how much a stronger signal on the
    same channel takes the receiver over. flat_mhz, slope_db_per_mhz, deepest_db: the receiver's filter. intercept_dbm:
    of the third order. fading_db: standard deviation of each path. pits_m, near_m, far_m: typical distances from the
    pilots' line. edge_db_per_mhz: how a foreign or digital signal falls off beyond its edge.
    """

    needed_db: float = 7
    capture_db: float = 4
    flat_mhz: float = 5
    slope_db_per_mhz: float = 1.4
    deepest_db: float = 45
    intercept_dbm: float = -22
    fading_db: float = 4
    pits_m: float = 12
    near_m: float = 4
    far_m: float = 70
    edge_db_per_mhz: float = 2.5

    def rejection_db(self, offset_mhz: float) -> float:
        """By how much the filter weakens what lies this far beside the channel.

        >>> Physics().rejection_db(0), Physics().rejection_db(500)
        (0.0, 45)
        """
        return min(self.deepest_db, max(0.0, (abs(offset_mhz) - self.flat_mhz) * self.slope_db_per_mhz))

    def received_dbm(self, power_mw: float, typical_m: float, mhz: float, rng: Random) -> float:
        """A level at the receiver from a distance drawn around the typical one, with fading."""
        distance = max(1.5, typical_m * exp(rng.gauss(0, 0.5)))
        return dbm_of(power_mw) - free_space_loss_db(distance, mhz) + rng.gauss(0, self.fading_db)

    def own_dbm(self, power_mw: float, mhz: float, rng: Random) -> float:
        """The pilot's own picture from somewhere on the course."""
        return self.received_dbm(power_mw, self.far_m, mhz, rng)

    def product_dbm(self, levels_dbm: tuple[float, ...]) -> float:
        """The product of two sources (the first one doubled) or of three, made in the receiver."""
        first, second, *third = levels_dbm
        if not third:
            return two_signal_product_dbm(first, second, self.intercept_dbm)
        return three_signal_product_dbm(first, second, third[0], self.intercept_dbm)

    def is_disturbed(self, own_dbm: float, disturbance_dbm: float, rng: Random) -> bool:
        """Whether the picture breaks: the ratio falls under what this picture needs at that moment."""
        return own_dbm - disturbance_dbm < self.needed_db + rng.gauss(0, 1.5) and disturbance_dbm > NOISE_DBM

    def look(self, own_dbm: float, disturbance_dbm: float, offset_mhz: float, *, is_picture: bool, rng: Random) -> str:
        """What the pilot sees: another picture if it captures the receiver, else lines, lost colour, or nothing."""
        ratio = disturbance_dbm - own_dbm
        if is_picture and abs(offset_mhz) <= self.flat_mhz + 2 and ratio > self.capture_db:
            return "other_picture"
        if ratio > self.capture_db + log(1 + abs(offset_mhz)):
            return "gone"
        return "lines" if rng.random() < 0.7 else "colour"
