"""Power in dBm, the loss of a path in free space, and the noise that every receiver has."""

from math import log10, pi

from meetapp.spectrum.channels import BadProblem

LIGHT_M_PER_S = 299_792_458
"""The speed of light, exact by the definition of the metre."""

BOLTZMANN_J_PER_K = 1.380649e-23
"""The Boltzmann constant, exact by the definition of the kelvin."""

ROOM_K = 290
"""The reference temperature of noise figures (IEEE definition of the noise figure)."""


def dbm_of(power_mw: float) -> float:
    """A power in dBm: decibels above one milliwatt. Raises BadProblem for a power that isn't above 0 mW.

    >>> dbm_of(1), round(dbm_of(25), 2), round(dbm_of(200), 2)
    (0.0, 13.98, 23.01)
    """
    if power_mw <= 0:
        raise BadProblem("power_mw", "A power is more than 0 mW.")
    return 10 * log10(power_mw)


def free_space_loss_db(distance_m: float, mhz: float) -> float:
    """The basic transmission loss between two isotropic antennas in free space, in dB.

    Units: metres, MHz. Formula: 20 log(4 pi d / wavelength). Source: ITU-R P.525, which rounds the constant of
    32.448 dB (km and MHz) to 32.4; here it is kept exact. Doesn't hold within a few wavelengths (here 5 cm).
    Raises: BadProblem for a distance or a frequency that isn't above 0.

    >>> round(free_space_loss_db(100, 5800), 2), round(free_space_loss_db(10, 5800), 2)
    (87.72, 67.72)
    """
    if distance_m <= 0:
        raise BadProblem("distance_m", "A distance is more than 0 m.")
    if mhz <= 0:
        raise BadProblem("mhz", "A frequency is more than 0 MHz.")
    return 20 * log10(4 * pi * distance_m * mhz * 1e6 / LIGHT_M_PER_S)


def noise_dbm(bandwidth_mhz: float, noise_figure_db: float) -> float:
    """The noise of a receiver, as if it came in at its antenna: 10 log(k T B) and the noise figure.

    Units: MHz, dB, dBm at 290 K.

    >>> round(noise_dbm(20, 0), 2), round(noise_dbm(20, 6), 2)
    (-100.96, -94.96)
    """
    if bandwidth_mhz <= 0:
        raise BadProblem("bandwidth_mhz", "A bandwidth is more than 0 MHz.")
    return 10 * log10(BOLTZMANN_J_PER_K * ROOM_K * bandwidth_mhz * 1e6 * 1e3) + noise_figure_db
