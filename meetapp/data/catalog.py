"""Reads the published tables that come with the program: channel plans, band rules and transmitter kinds.

They are a starting point to copy from, never an authority: each row carries its source and what is only remembered.
"""

import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cache
from importlib.resources import files
from typing import Any

from meetapp.spectrum.bands import Segment, parse_segments
from meetapp.spectrum.bandwidth import carson_mhz
from meetapp.spectrum.channels import Channel, ChannelPlan


@dataclass(frozen=True, slots=True)
class BandRule:
    """A published rule to start a band profile from.

    `segments` carry a power in mW only where that figure was read; `power` says it in words. `read_on` None: the row
    is from memory, as its source says. `decides` is the sentence to show with it.
    """

    name: str
    country: str
    segments: tuple[Segment, ...]
    power: str
    condition: str
    source: str
    read_on: date | None
    decides: str


@dataclass(frozen=True, slots=True)
class KindTemplate:
    """A generic kind of transmitter to start from.

    `tuning` and `goggles` are in the text form of `parse_tuning` (goggles None: all that the transmitter makes);
    `carson_modulating_mhz` and `carson_deviation_mhz` are the numbers behind an analogue width; powers in mW,
    lowest first; `antenna_gain_dbi` None: not counted; `setting_card` is in the text form of the setting cards ('':
    none). `is_example`: invented to start a form from, never put into a club by itself.
    """

    name: str
    is_digital: bool
    width_mhz: float
    width_source: str
    carson_modulating_mhz: float | None
    carson_deviation_mhz: float | None
    tuning: str
    goggles: str | None
    power_steps_mw: tuple[int, ...]
    antenna_gain_dbi: float | None
    goggles_transmit: bool
    moves_by_itself: bool
    sets_silently: bool
    setting_hint: str
    setting_card: str
    is_example: bool
    source: str


@cache
def published_plans() -> tuple[ChannelPlan, ...]:
    """The published channel plans in the order A, B, E, F, R, L.

    >>> [plan.letter for plan in published_plans()]
    ['A', 'B', 'E', 'F', 'R', 'L']
    """
    return tuple(_plan_from(row) for row in _rows("channel_plans.toml", "plan"))


@cache
def band_rules() -> tuple[BandRule, ...]:
    """The band rules to start a profile from, in the order of the table.

    >>> band_rules()[0].name, band_rules()[0].segments
    ('Short range device, Europe (CEPT)', (Segment(low_mhz=5725, high_mhz=5875, power_mw=25),))
    """
    return tuple(_rule_from(row) for row in _rows("band_rules.toml", "rule"))


@cache
def kind_templates() -> tuple[KindTemplate, ...]:
    """The generic kinds of transmitter, in the order of the table.

    >>> kind_templates()[0].name, kind_templates()[0].width_mhz
    ('Analogue, 40 channels (A B E F R)', 20)
    """
    return tuple(_kind_from(row) for row in _rows("transmitter_kinds.toml", "kind"))


def _rows(file_name: str, table: str) -> list[dict[str, Any]]:
    text = files("meetapp.data").joinpath(file_name).read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = tomllib.loads(text)[table]
    return rows


def _plan_from(row: dict[str, Any]) -> ChannelPlan:
    channels = tuple(Channel(row["letter"], number, mhz) for number, mhz in enumerate(row["mhz"], start=1))
    return ChannelPlan(row["letter"], row["name"], channels, row["source"])


def _rule_from(row: dict[str, Any]) -> BandRule:
    return BandRule(
        row["name"],
        row["country"],
        parse_segments(row["segments"]),
        row["power"],
        row["condition"],
        row["source"],
        row.get("read_on"),
        row["decides"],
    )


def _kind_from(row: dict[str, Any]) -> KindTemplate:
    modulating, deviation = row.get("carson", (None, None))
    return KindTemplate(
        row["name"],
        row["is_digital"],
        row["width_mhz"] if row["is_digital"] else carson_mhz(modulating, deviation),
        row["width_source"] if row["is_digital"] else _carson_text(modulating, deviation),
        modulating,
        deviation,
        row["tuning"],
        row.get("goggles"),
        tuple(row["power_steps_mw"]),
        row.get("antenna_gain_dbi"),
        row.get("goggles_transmit", False),
        row.get("moves_by_itself", False),
        row.get("sets_silently", False),
        row["setting_hint"],
        row.get("setting_card", "").strip(),
        row.get("is_example", False),
        row["source"],
    )


def _carson_text(modulating: float, deviation: float) -> str:
    width = carson_mhz(modulating, deviation)
    return (
        f"Carson's rule, 2 x {modulating:g} + 2 x {deviation:g} = {width:g} MHz, with the widest ordinary video "
        "signal and the nominal deviation (both from memory: check). With 5 MHz of video it would be 18; a width "
        "measured on your own transmitter is better."
    )
