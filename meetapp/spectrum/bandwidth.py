"""Occupied bandwidth of analogue FM video by Carson's rule.

Source: necessary bandwidth of frequency modulation, Bn = 2M + 2DK with K = 1, 47 CFR 2.202(g) and ITU-R SM.1138-3,
where M is the highest modulating frequency and D the peak deviation (half the difference between the highest and the
lowest momentary frequency). A figure measured on the club's own transmitters is better than this sum.
"""

from math import ceil, isfinite

from meetapp.spectrum.channels import BadProblem, exact_mhz

VIDEO_BANDWIDTH_MHZ = 5
"""M of an ordinary composite video signal. From memory: 4.2 to 6 MHz by television system; check."""

VIDEO_DEVIATION_MHZ = 4
"""D: half of the nominal 8 MHz from peak to peak. From memory, ITU-R F.276 (at the pre-emphasis crossover); check."""


def carson_mhz(
    highest_modulating_mhz: float = VIDEO_BANDWIDTH_MHZ, deviation_mhz: float = VIDEO_DEVIATION_MHZ
) -> float:
    """The width that a frequency-modulated carrier occupies: 2M + 2D.

    Units: MHz (any unit, if both are in it). Raises: BadProblem where one is not above 0.

    >>> carson_mhz(), carson_mhz(6, 4)
    (18, 20)
    """
    for field, value in (("highest_modulating_mhz", highest_modulating_mhz), ("deviation_mhz", deviation_mhz)):
        if not (isfinite(value) and value > 0):
            raise BadProblem(field, f"Carson's rule needs two numbers above 0, not {value:g}.")
    return exact_mhz(2 * (highest_modulating_mhz + deviation_mhz))


def rounded_up_width_mhz(width_mhz: float) -> float:
    """A computed or measured width, rounded up to the half MHz that carriers are kept in.

    >>> rounded_up_width_mhz(16.4), rounded_up_width_mhz(18)
    (16.5, 18)
    """
    return exact_mhz(ceil(width_mhz * 2) / 2)
