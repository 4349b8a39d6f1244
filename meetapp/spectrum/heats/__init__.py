"""Heats: who flies with whom, on what channel, in what order and at which place of the start line.

The public names are listed here; `planning` says how it goes about it.
"""

from meetapp.spectrum.heats.demands import Spare, Unmet, unmet_demands
from meetapp.spectrum.heats.fitting import most_that_fit
from meetapp.spectrum.heats.opponents import Opponents
from meetapp.spectrum.heats.plan import HeatPlace, HeatPlan, PlannedHeat, PlannedRound
from meetapp.spectrum.heats.planning import better_plans, never, plan_heats
from meetapp.spectrum.heats.power_up import PowerUp, PowerUpOrder, WakeClash, power_up_order
from meetapp.spectrum.heats.problem import HeatPilot, HeatProblem
from meetapp.spectrum.heats.refit import Joined, joined
from meetapp.spectrum.heats.roster import parse_roster
from meetapp.spectrum.heats.start_line import LinePlace, StartLine, line_order, pads_for, start_line

__all__ = [
    "HeatPilot",
    "HeatPlace",
    "HeatPlan",
    "HeatProblem",
    "Joined",
    "LinePlace",
    "Opponents",
    "PlannedHeat",
    "PlannedRound",
    "PowerUp",
    "PowerUpOrder",
    "Spare",
    "StartLine",
    "Unmet",
    "WakeClash",
    "better_plans",
    "joined",
    "line_order",
    "most_that_fit",
    "never",
    "pads_for",
    "parse_roster",
    "plan_heats",
    "power_up_order",
    "start_line",
    "unmet_demands",
]
