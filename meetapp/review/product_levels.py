"""How strong a product is in the victim's channel, by the estimate of levels: the usual layout and assumptions."""

from collections.abc import Sequence

from meetapp.review.evidence import Airing
from meetapp.review.reach import USUAL_MW
from meetapp.spectrum.levels.assumptions import Assumptions
from meetapp.spectrum.levels.layout import Layout
from meetapp.spectrum.levels.receiver import RECEIVER_PRODUCTS, Signal, disturbances, received_dbm

_LAYOUT, _ASSUMED = Layout(), Assumptions()


def product_level(mhz: int, makers: Sequence[Airing], victim: Airing) -> str:
    """The level of a product on these MHz beside the victim's picture, in words; empty where the sums have none.

    Made in the victim's receiver, all its makers at the layout's nearest distance. Where a power isn't known: 25 mW.
    By hand for the example: 14 dBm and 4 dBi less 61.7 dB come to -43.7 dBm, thrice that and twice the intercept (-20)
    less to -91.

    >>> makers = [Airing(1, 1, 1, 5760, 0, 60), Airing(2, 2, 2, 5780, 0, 60)]
    >>> product_level(5800, makers, Airing(3, 3, 3, 5800, 0, 60))
    ' Estimated level with all of them 5 m from the goggles: -91 dBm, beside a picture of -65 dBm from 60 m.'
    """
    wanted = Signal(victim.mhz, victim.power_mw or USUAL_MW, _LAYOUT.wanted_m)
    foreign = [Signal(each.mhz, each.power_mw or USUAL_MW, _LAYOUT.nearest_m) for each in makers]
    on_air = {each.mhz for each in foreign}
    if len(on_air | {wanted.mhz}) <= len(foreign):  # one channel twice: its level is its own matter
        return ""
    levels = [
        each.level_dbm
        for each in disturbances(wanted, foreign, _LAYOUT.pads_m, _ASSUMED)
        if each.kind in RECEIVER_PRODUCTS and each.falls_mhz == mhz and set(each.sources) == on_air
    ]
    if not levels:
        return ""
    return (
        f" Estimated level with all of them {_LAYOUT.nearest_m:g} m from the goggles: {max(levels):.0f} dBm, beside a "
        f"picture of {received_dbm(wanted, _ASSUMED):.0f} dBm from {_LAYOUT.wanted_m:g} m."
    )
