"""What a simulated meet is made from, and the words of `--causes`."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from meetapp.simulate.physics import Physics
from meetapp.spectrum.channels import BadProblem

Kind = Literal["own_receiver", "wrong_channel", "too_close", "product", "neighbour", "no_token", "unknown"]
KINDS: tuple[Kind, ...] = get_args(Kind)

_MOST = {"pilots": 200, "tokens": 12, "hours": 24}
_MOST_CAUSES = 200
_PART = re.compile(r"([a-z_]+)=(\d{1,3})")


@dataclass(frozen=True, slots=True)
class MeetPlan:
    """One meet to be made. Every figure is invented; minutes unless the name says otherwise.

    causes: how many of each kind are planted; each breaks at least one picture that is reported. everyday_per_hour:
    reports of no meaning beside them. tells_share: how many of those disturbed report it. time_error_min: the standard
    deviation of a remembered minute. round_share: remembered minutes that are rounded to five. wrong_look_share: looks
    that don't follow the physics. clock_shift_min: by how much all reported times are off. harmless_overrides: channels
    handed out by override that break nobody's picture. powers_mw: a pilot's power is one of these. Raises BadProblem.
    """

    pilots: int = 24
    hours: float = 4
    tokens: int = 6
    causes: Mapping[Kind, int] = field(default_factory=dict)
    seed: int = 1
    flight_min: float = 6
    ground_min: float = 25
    everyday_per_hour: float = 0.5
    tells_share: float = 0.7
    time_error_min: float = 1.5
    round_share: float = 0.4
    wrong_look_share: float = 0.1
    clock_shift_min: float = 0
    harmless_overrides: int = 2
    powers_mw: tuple[float, ...] = (25, 25, 200)
    kit: tuple[str, ...] = ("A B E F R", "A B E F R", "A B E F", "5650-5925/1", "R", "F")
    physics: Physics = field(default_factory=Physics)

    def __post_init__(self) -> None:
        for name, most in _MOST.items():
            if not 1 <= getattr(self, name) <= most:
                raise BadProblem(name, f"Give 1 to {most} {name}.")
        for name in ("tells_share", "round_share", "wrong_look_share"):
            if not 0 <= getattr(self, name) <= 1:
                raise BadProblem(name, f"The share {name.removesuffix('_share')} is a number from 0 to 1.")
        for name in ("flight_min", "ground_min"):
            if not 0.5 <= getattr(self, name) <= 600:
                raise BadProblem(name, "Give a time from 0.5 to 600 minutes.")
        if not 0 <= self.everyday_per_hour <= 20:
            raise BadProblem("everyday_per_hour", "Give 0 to 20 everyday reports an hour.")
        if not (0 <= self.time_error_min <= 60 and -60 <= self.clock_shift_min <= 60):
            raise BadProblem("time_error_min", "A time error and a shift are at most 60 minutes.")


def parse_causes(text: str) -> dict[Kind, int]:
    """The planted causes from words such as `no_token=2,product=1`, or `none`.

    Raises: BadProblem that quotes the word that is wrong.

    >>> parse_causes("no_token=2, product=1"), parse_causes("none")
    ({'no_token': 2, 'product': 1}, {})
    """
    found: dict[Kind, int] = {}
    if text.strip() == "none":
        return found
    for word in text.replace(" ", "").split(","):
        match = _PART.fullmatch(word)
        kind = next((kind for kind in KINDS if match and kind == match[1]), None)
        if match is None or kind is None or kind in found:
            raise BadProblem(
                "causes", f"'{word}' is no cause: write each once, such as no_token=2; there is {_names()}."
            )
        found[kind] = int(match[2])
    if sum(found.values()) > _MOST_CAUSES:
        raise BadProblem("causes", f"These are more than {_MOST_CAUSES} causes.")
    return found


def _names() -> str:
    return f"{', '.join(KINDS[:-1])} and {KINDS[-1]}"
