"""Wi-Fi networks as neighbours: the centre of a 5 GHz channel of a given width.

The centre is 5000 + 5 x n MHz, where n is the channel's centre number. Wide channels have numbers of their own
(155 is 5775 MHz and 80 MHz wide). Source: IEEE 802.11-2016, Annex E (operating classes of the 5 GHz band).
20, 40 and 80 MHz numbers were read in public lists that quote it; 167, 171, 175 and 163 are from memory.
"""

from types import MappingProxyType

from meetapp.spectrum.carriers import Neighbour
from meetapp.spectrum.channels import BadProblem

_STARTING_MHZ = 5000
_STEP_MHZ = 5

WIFI_CHANNELS = MappingProxyType(
    {
        20: (
            *(36, 40, 44, 48, 52, 56, 60, 64),
            *(100, 104, 108, 112, 116, 120, 124, 128, 132, 136, 140, 144),
            *(149, 153, 157, 161, 165, 169, 173, 177),
        ),
        40: (38, 46, 54, 62, 102, 110, 118, 126, 134, 142, 151, 159, 167, 175),
        80: (42, 58, 106, 122, 138, 155, 171),
        160: (50, 114, 163),
    }
)
"""The centre numbers of the 5 GHz band for each width in MHz."""


def wifi_centre_mhz(channel: int, width_mhz: int) -> int:
    """The centre of a 5 GHz Wi-Fi channel: its number is the one that belongs to the width.

    Units: MHz. Raises: BadProblem for a width or a number that IEEE 802.11 doesn't have in the 5 GHz band.

    >>> wifi_centre_mhz(138, 80)
    5690
    >>> wifi_centre_mhz(149, 80)
    Traceback (most recent call last):
    ...
    meetapp.spectrum.channels.BadProblem: Wi-Fi channel 149 is not 80 MHz wide: the one that covers it is 155.
    """
    if width_mhz not in WIFI_CHANNELS:
        raise BadProblem("width_mhz", f"A Wi-Fi channel is 20, 40, 80 or 160 MHz wide, not {width_mhz}.")
    if channel not in WIFI_CHANNELS[width_mhz]:
        raise BadProblem("channel", _not_that_wide(channel, width_mhz))
    return _STARTING_MHZ + _STEP_MHZ * channel


def wifi_neighbour(channel: int, width_mhz: int) -> Neighbour:
    """A Wi-Fi network as a neighbour, labelled with its channel and width.

    Units: MHz. Raises: as `wifi_centre_mhz`.

    >>> wifi_neighbour(155, 80)
    Neighbour(label='Wi-Fi 155 (80 MHz)', centre_mhz=5775, width_mhz=80)
    """
    return Neighbour(f"Wi-Fi {channel} ({width_mhz} MHz)", wifi_centre_mhz(channel, width_mhz), width_mhz)


def _not_that_wide(channel: int, width_mhz: int) -> str:
    if channel not in WIFI_CHANNELS[20]:
        there_are = ", ".join(map(str, WIFI_CHANNELS[width_mhz]))
        return f"There is no {width_mhz} MHz wide Wi-Fi channel {channel} near 5 GHz; there are {there_are}."
    reach = (width_mhz - 20) // 2 // _STEP_MHZ
    covering = [number for number in WIFI_CHANNELS[width_mhz] if abs(number - channel) <= reach]
    if not covering:
        return f"There is no {width_mhz} MHz wide Wi-Fi channel that covers channel {channel}."
    return f"Wi-Fi channel {channel} is not {width_mhz} MHz wide: the one that covers it is {covering[0]}."
