"""How likely each look and place of a report is under each cause. From experience, no published source; kept broad:
whoever reports names the wrong look in one case of ten or more.
"""

from collections.abc import Mapping
from typing import Literal

from meetapp.review.evidence import Look, Place, Reported

Symptom = Literal["own", "beside_10", "beside_20", "on_it", "noise", "own_wrong", "unknown"]

_LOOKS: dict[Symptom, dict[Look, float]] = {
    "own": {"lines": 0.36, "other_picture": 0.09, "gone": 0.36, "colour": 0.07, "unsure": 0.12},
    "on_it": {"lines": 0.22, "other_picture": 0.34, "gone": 0.24, "colour": 0.08, "unsure": 0.12},
    "beside_10": {"lines": 0.48, "other_picture": 0.13, "gone": 0.15, "colour": 0.12, "unsure": 0.12},
    "beside_20": {"lines": 0.60, "other_picture": 0.05, "gone": 0.10, "colour": 0.13, "unsure": 0.12},
    "noise": {"lines": 0.50, "other_picture": 0.05, "gone": 0.20, "colour": 0.12, "unsure": 0.13},
    "own_wrong": {"lines": 0.24, "other_picture": 0.16, "gone": 0.40, "colour": 0.07, "unsure": 0.13},
    "unknown": {"lines": 0.32, "other_picture": 0.10, "gone": 0.26, "colour": 0.13, "unsure": 0.19},
}
_LOOKS_ON_GROUND: dict[Symptom, dict[Look, float]] = {
    "own": {"lines": 0.14, "other_picture": 0.32, "gone": 0.36, "colour": 0.05, "unsure": 0.13},
    "own_wrong": {"lines": 0.10, "other_picture": 0.14, "gone": 0.58, "colour": 0.05, "unsure": 0.13},
}
"""In the pits and at the line. Who has goggles on another's channel sees it there and doesn't take off with it, and no
receiver changes its channel in the air: what breaks of itself in flight is range, antenna, battery. Likewise nobody
takes off without a picture; who flies from another channel than given has goggles that followed. Whose goggles are on
the channel given, while the transmitter isn't, sees nobody: in a spaced set nobody else is near that channel."""

_DIGITAL: dict[Look, float] = {"lines": 0.2, "other_picture": 0.03, "gone": 0.5, "colour": 0.12, "unsure": 0.15}
"""A digital picture freezes or goes; it rarely shows what disturbs it."""

_PLACES: dict[Symptom, dict[Place, float]] = {
    "own": {"pits": 0.14, "line": 0.23, "flight": 0.47, "unsure": 0.16},
    "own_wrong": {"pits": 0.2, "line": 0.42, "flight": 0.22, "unsure": 0.16},
}
_PLACES_ELSE: dict[Place, float] = {"pits": 0.05, "line": 0.09, "flight": 0.70, "unsure": 0.16}
"""What others do is noticed where one looks at nothing but the picture: in flight, which is most of a loan."""

_LASTED: dict[Symptom, tuple[float, float]] = {
    "own": (0.28, 0.36),
    "on_it": (0.16, 0.32),
    "beside_10": (0.22, 0.38),
    "own_wrong": (0.12, 0.22),
}
_LASTED_ELSE = (0.3, 0.4)
_A_MOMENT_S, _SECONDS_S = 5, 30
"""How often it is told as a moment, as some seconds; the rest is a minute or more: a steady source stays."""

_ON_IT_MHZ, _BESIDE_MHZ = 6, 16


def beside(away_mhz: float, *, is_digital: bool = False) -> Symptom:
    """What a carrier this far off looks like; a digital one is noise to others.

    >>> beside(3), beside(12), beside(20), beside(3, is_digital=True)
    ('on_it', 'beside_10', 'beside_20', 'noise')
    """
    if is_digital:
        return "noise"
    if away_mhz <= _ON_IT_MHZ:
        return "on_it"
    return "beside_10" if away_mhz <= _BESIDE_MHZ else "beside_20"


def told(report: Reported, symptom: Symptom, *, victim_is_digital: bool = False) -> float:
    """How likely this look and place are under the cause.

    >>> report = Reported(1, 1, 1, 0, 120, "other_picture", "flight", 0)
    >>> told(report, "on_it") > told(report, "beside_10") > told(report, "noise")
    True
    """
    places = _PLACES.get(symptom, _PLACES_ELSE)
    looks = _DIGITAL[report.look] if victim_is_digital else _look(report, symptom, places)
    return looks * places[report.place] * _lasted(report, symptom)


def _look(report: Reported, symptom: Symptom, places: Mapping[Place, float]) -> float:
    """The look at this place; of who isn't sure of the place as often as each place comes."""
    in_flight = _LOOKS[symptom][report.look]
    on_ground = _LOOKS_ON_GROUND.get(symptom, _LOOKS[symptom])[report.look]
    if report.place == "unsure":
        share = places["flight"] / (1 - places["unsure"])
        return share * in_flight + (1 - share) * on_ground
    return in_flight if report.place == "flight" else on_ground


def _lasted(report: Reported, symptom: Symptom) -> float:
    if report.lasted_s is None:
        return 1.0
    moment, seconds = _LASTED.get(symptom, _LASTED_ELSE)
    if report.lasted_s <= _A_MOMENT_S:
        return moment
    return seconds if report.lasted_s <= _SECONDS_S else 1 - moment - seconds
