"""Reads the published tables that come with the program: channel plans, band rules and transmitter kinds."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from meetapp.spectrum.channels import Channel, ChannelPlan


@cache
def published_plans() -> tuple[ChannelPlan, ...]:
    """The published channel plans in the order A, B, E, F, R, L."""
    return tuple(_plan_from(row) for row in _rows("channel_plans.toml", "plan"))


def _rows(file_name: str, table: str) -> list[dict[str, Any]]:
    text = files("meetapp.data").joinpath(file_name).read_text(encoding="utf-8")
    rows: list[dict[str, Any]] = tomllib.loads(text)[table]
    return rows


def _plan_from(row: dict[str, Any]) -> ChannelPlan:
    channels = tuple(Channel(row["letter"], number, mhz) for number, mhz in enumerate(row["mhz"], start=1))
    return ChannelPlan(row["letter"], row["name"], channels, row["source"])
