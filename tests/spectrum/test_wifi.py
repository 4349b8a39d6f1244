"""Wi-Fi channels of the 5 GHz band: centres and edges by IEEE 802.11 (centre = 5000 + 5 n MHz)."""

import pytest

from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.wifi import WIFI_CHANNELS, wifi_centre_mhz, wifi_neighbour

# Source: IEEE 802.11-2016, Annex E, as quoted in public lists; 167, 175, 171 and 163 from memory. Edges: computed.
CENTRES = [
    *[(20, n, mhz) for n, mhz in [(132, 5660), (136, 5680), (140, 5700), (144, 5720), (149, 5745), (153, 5765)]],
    *[(20, n, mhz) for n, mhz in [(157, 5785), (161, 5805), (165, 5825), (169, 5845), (173, 5865), (177, 5885)]],
    *[(40, n, mhz) for n, mhz in [(134, 5670), (142, 5710), (151, 5755), (159, 5795), (167, 5835), (175, 5875)]],
    *[(80, n, mhz) for n, mhz in [(122, 5610), (138, 5690), (155, 5775), (171, 5855)]],
    *[(160, n, mhz) for n, mhz in [(114, 5570), (163, 5815)]],
]


@pytest.mark.parametrize(("width", "channel", "mhz"), CENTRES)
def test_a_wifi_channel_has_its_centre(width: int, channel: int, mhz: int) -> None:
    assert wifi_centre_mhz(channel, width) == mhz


@pytest.mark.parametrize(
    ("channel", "width", "low", "high"),
    [
        (138, 80, 5650, 5730),
        (155, 80, 5735, 5815),
        (171, 80, 5815, 5895),
        (163, 160, 5735, 5895),
        (114, 160, 5490, 5650),
    ],
)
def test_the_edges_of_wide_channels(channel: int, width: int, low: int, high: int) -> None:
    network = wifi_neighbour(channel, width)
    assert (network.centre_mhz - network.width_mhz / 2, network.centre_mhz + network.width_mhz / 2) == (low, high)


def test_no_number_means_two_widths() -> None:
    numbers = [number for row in WIFI_CHANNELS.values() for number in row]
    assert len(numbers) == len(set(numbers))


@pytest.mark.parametrize("width", [40, 80, 160])
def test_a_wide_channel_is_made_of_whole_narrow_ones(width: int) -> None:
    for channel in WIFI_CHANNELS[width]:
        members = range(channel - (width - 20) // 10, channel + (width - 20) // 10 + 1, 4)
        assert set(members) <= set(WIFI_CHANNELS[20])


@pytest.mark.parametrize(
    ("channel", "width", "field", "says"),
    [
        (149, 80, "channel", "the one that covers it is 155"),
        (144, 40, "channel", "the one that covers it is 142"),
        (165, 80, "channel", "the one that covers it is 171"),
        (138, 20, "channel", "no 20 MHz wide Wi-Fi channel 138"),
        (6, 20, "channel", "no 20 MHz wide Wi-Fi channel 6"),
        (150, 20, "channel", "near 5 GHz; there are 36, 40, 44, 48, 52, 56, 60, 64, 100, 104"),
        (150, 80, "channel", "near 5 GHz; there are 42, 58, 106, 122, 138, 155, 171."),
        (155, 100, "width_mhz", "20, 40, 80 or 160 MHz wide, not 100"),
    ],
)
def test_a_channel_of_another_width_is_refused_with_the_right_one(
    channel: int, width: int, field: str, says: str
) -> None:
    with pytest.raises(BadProblem) as refused:
        wifi_centre_mhz(channel, width)
    assert refused.value.field == field
    assert says in refused.value.reason


def test_the_last_narrow_channels_have_no_wide_one_missing() -> None:
    with pytest.raises(BadProblem, match="the one that covers it is 175"):
        wifi_centre_mhz(177, 40)
    with pytest.raises(BadProblem, match="no 160 MHz wide Wi-Fi channel that covers channel 132"):
        wifi_centre_mhz(132, 160)
