"""Estimated levels at the pilots' receivers: path loss, products of the third order, margins, least distances.

An estimate in free space over the assumptions in `assumptions`; it stands beside a set and never reorders any.
"""

from meetapp.spectrum.levels.assumptions import Assumptions
from meetapp.spectrum.levels.free_space import dbm_of, free_space_loss_db, noise_dbm
from meetapp.spectrum.levels.layout import (
    Layout,
    Needed,
    PilotLevels,
    PitsCase,
    PowersCompared,
    compare_powers,
    nearest_others,
    pilot_levels,
    pits_cases,
)
from meetapp.spectrum.levels.receiver import Disturbance, Signal, disturbances

__all__ = [
    "Assumptions",
    "Disturbance",
    "Layout",
    "Needed",
    "PilotLevels",
    "PitsCase",
    "PowersCompared",
    "Signal",
    "compare_powers",
    "dbm_of",
    "disturbances",
    "free_space_loss_db",
    "nearest_others",
    "noise_dbm",
    "pilot_levels",
    "pits_cases",
]
