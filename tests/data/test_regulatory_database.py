"""Band edges and power against an open dataset: the wireless regulatory database, as Debian packages it.

It says what Wi-Fi may do, so it is no proof that video may: it is compared where its rows are those of short range
devices (5725-5875 MHz, 25 mW, by ETSI EN 300 440), and for which networks there can be beside a field.
File, version, licence: tests/vendor/README.md. Format: regulatory.db(5) and Linux, net/wireless/reg.c.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from struct import unpack_from

import pytest

from meetapp.data.catalog import band_rules
from meetapp.spectrum.wifi import WIFI_CHANNELS, wifi_neighbour

DATABASE = Path(__file__).parents[1] / "vendor" / "regulatory.db"
RULES = {rule.name: rule for rule in band_rules()}


@dataclass(frozen=True)
class Row:
    """One rule for Wi-Fi: from, to and the widest channel in MHz, and the radiated power in dBm."""

    low_mhz: float
    high_mhz: float
    widest_mhz: float
    dbm: float


@cache
def database() -> dict[str, tuple[Row, ...]]:
    """The rules of every region, by its two letters; 00 is the world."""
    data = DATABASE.read_bytes()
    magic, version = unpack_from(">4sI", data)
    assert (magic, version) == (b"RGDB", 20)
    regions = {}
    place = 8
    while data[place : place + 2] != b"\0\0":
        letters, pointer = unpack_from(">2sH", data, place)
        regions[letters.decode()] = tuple(_rows(data, 4 * pointer))
        place += 4
    return regions


def _rows(data: bytes, start: int) -> Iterator[Row]:
    length, count = data[start], data[start + 1]
    first = start + (length + 3) // 4 * 4
    for (pointer,) in (unpack_from(">H", data, first + 2 * number) for number in range(count)):
        dbm, low, high, widest = unpack_from(">HIII", data, 4 * pointer + 2)
        yield Row(low / 1000, high / 1000, widest / 1000, dbm / 100)


def short_range_rows() -> dict[str, Row]:
    """The row 5725-5875 MHz of each region that has one at no more than 25 mW."""
    return {
        letters: row
        for letters, rows in database().items()
        for row in rows
        if (row.low_mhz, row.high_mhz) == (5725, 5875) and row.dbm < 14
    }


def test_the_database_is_read_whole() -> None:
    # 182 regions; Germany has 5470-5725 at 26.98 dBm and 5945-6425 at 23 (both read in the packaged file by hand).
    assert len(database()) == 182
    assert Row(5470, 5725, 160, 26.98) in database()["DE"]
    assert any((row.low_mhz, row.high_mhz, row.dbm) == (5945, 6425, 23) for row in database()["DE"])


def test_the_european_band_and_power_are_those_of_39_regions() -> None:
    (segment,) = RULES["Short range device, Europe (CEPT)"].segments
    rows = short_range_rows()
    assert len(rows) == 39
    assert {"AT", "BE", "CH", "CZ", "DE", "DK", "ES", "FR", "IE", "IT", "NL", "NO", "PL", "PT", "SE"} <= set(rows)
    for row in rows.values():
        assert (row.low_mhz, row.high_mhz) == (segment.low_mhz, segment.high_mhz)
        # The database cuts 10 log10(25) = 13.979 to hundredths.
        assert 10 ** (row.dbm / 10) == pytest.approx(segment.power_mw, rel=0.003)


def test_where_the_database_has_no_such_row_our_rule_has_no_power_to_compute_with() -> None:
    assert {"GB", "TR"}.isdisjoint(short_range_rows())
    (segment,) = RULES["Short range device, United Kingdom"].segments
    assert segment.power_mw is None


def test_in_australia_the_database_has_25_milliwatts_in_the_uppermost_piece_only() -> None:
    at_25_mw = [(row.low_mhz, row.high_mhz) for row in database()["AU"] if row.low_mhz >= 5000 and row.dbm == 13.97]
    assert at_25_mw == [(5850, 5875)]
    assert "25 mW in 5850-5875 only" in RULES["Class licence, Australia"].source


WIFI = [(width, channel) for width, channels in WIFI_CHANNELS.items() for channel in channels]


@pytest.mark.parametrize(("width", "channel"), WIFI)
def test_every_wifi_channel_lies_whole_in_bands_that_some_region_has(width: int, channel: int) -> None:
    network = wifi_neighbour(channel, width)
    low, high = network.centre_mhz - width / 2, network.centre_mhz + width / 2
    assert any(_hold(rows, low, high) for rows in database().values())


def _hold(rows: tuple[Row, ...], low: float, high: float) -> bool:
    """Whether rows hold a piece of band, where need be several that join."""
    for row in sorted(rows, key=lambda row: row.low_mhz):
        if row.low_mhz <= low < row.high_mhz:
            low = row.high_mhz
    return low >= high


def test_no_network_of_the_world_rules_lies_between_5835_and_5925_mhz() -> None:
    # The world rules, which hold where nothing else is known, stop there; a piece above is for some regions.
    assert all(row.high_mhz <= 5835 or row.low_mhz >= 5925 for row in database()["00"] if row.high_mhz > 5000)
