"""The tables of the world by rule: every figure is invented, and none is worked out from a level."""

from dataclasses import dataclass
from datetime import timedelta

from meetapp.simulate.kits import Kit
from meetapp.simulate.observer.gathering import Looks
from meetapp.simulate.plan import Kind
from meetapp.spectrum.carriers import Neighbour

KITS = (
    Kit("R F"),
    Kit("A B E F R"),
    Kit("R", sets_silently=True),
    Kit("5650-5925/5"),
    Kit("5660 5695 5735 5770 5805 5878 5914", 27, is_digital=True),
    Kit("5669 5705 5768 5804 5839 5876", 38, is_digital=True, moves_by_itself=True),
)
ORDERLY_KITS = (Kit("R F"), Kit("A B E F R"), Kit("R", sets_silently=True))
NEIGHBOURS = (Neighbour("Camp site Wi-Fi", 5745, 20), Neighbour("Mast on the hill", 5855, 40))
GAPS_MHZ = (21, 26, 31, 37, 44)
ORDERLY_TOKENS_MHZ = (5658, 5695, 5800, 5917)
"""Far from the neighbours and from one another, no product of any three within 30 MHz of a fourth."""


@dataclass(frozen=True, slots=True)
class RulePlan:
    """One meet of the world by rule. An orderly one has nothing planted and no clash among those set right."""

    seed: int = 1
    pilots: int = 16
    tokens: int = 6
    minutes: int = 210
    is_orderly: bool = False


OWN_SHARE = 0.025
UNKNOWN_SHARE = 0.015
OVERRIDE_SHARE = 0.08
"""Shares of the loans."""

OVERLAP_DEEP_MHZ = 8
OVERLAP_SHARES = {True: 0.2, False: 0.04}
"""How often a picture breaks beside a carrier whose edges overlap its own, deeply or not."""
PRODUCT_WITHIN_MHZ = 4
PRODUCT_SHARE = 0.006
NEIGHBOUR_SHARE = 0.05

WRONG_SHARE = 0.025
SILENT_FACTOR, MOVING_FACTOR = 2, 3
WAKE_SHARE = 0.55
SILENT_MEETING, SILENT_MIN = 4.0, (3.0, 25.0)
"""How many are on air without a token at a meet, and for how many minutes each."""
STRANGER_SHARE = 0.2
LAST_CHANNEL_SHARE = 0.6

HIT_WITHIN_MHZ, HURT_WITHIN_MHZ = 9, 19
HIT_SHARE, HURT_SHARE = 0.75, 0.2
NOTICED_WITHIN = 4.0
"""Minutes after the disturber appears in which a picture breaks, if at all."""
OWN_GONE_SHARE = 0.45

LOOKS: dict[Kind, Looks] = {
    "own_receiver": {
        ("gone", "flight"): 0.45,
        ("lines", "flight"): 0.3,
        ("unsure", "pits"): 0.15,
        ("colour", "line"): 0.1,
    },
    "unknown": {("gone", "flight"): 0.3, ("lines", "flight"): 0.3, ("colour", "line"): 0.2, ("unsure", "unsure"): 0.2},
    "product": {("lines", "flight"): 0.75, ("colour", "flight"): 0.25},
    "neighbour": {("lines", "flight"): 0.4, ("colour", "flight"): 0.2, ("gone", "flight"): 0.4},
    "too_close": {("lines", "flight"): 0.6, ("other_picture", "flight"): 0.1, ("gone", "flight"): 0.3},
    "wrong_channel": {("other_picture", "flight"): 0.4, ("gone", "flight"): 0.4, ("lines", "line"): 0.2},
    "no_token": {("other_picture", "flight"): 0.4, ("gone", "flight"): 0.35, ("lines", "flight"): 0.25},
}
"""Look and place by kind, of a victim that is hit."""
HURT_LOOKS: Looks = {("lines", "flight"): 0.7, ("colour", "flight"): 0.2, ("gone", "flight"): 0.1}
DIGITAL_LOOKS: Looks = {("gone", "flight"): 0.6, ("lines", "flight"): 0.3, ("unsure", "flight"): 0.1}
"""A digital victim never sees another's picture."""
OWN_GONE: Looks = {("gone", "line"): 1.0}

WRONG_LOOK_SHARE = 0.1
EXACT_SHARE, LANDING_SHARE = 0.6, 0.25
"""Told to 2 minutes, told as the minute of landing; the rest is told to anything from 12 minutes early to 8 late."""
EXACT_MIN = (-2.0, 2.0)
VAGUE_MIN = (-12.0, 8.0)
WINDOW_S = 150
SHEET_SHARE = 0.3
"""Reports that are entered from a sheet at the full hour; the others within these seconds after landing."""
DESK_S = (30, 240)
NAMES_NOBODY = 0.05
SHEET_EVERY = timedelta(hours=1)
