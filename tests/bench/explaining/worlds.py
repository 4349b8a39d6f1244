"""The simulated worlds in which explanations are judged, each with its ideal observer."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from meetapp.simulate.by_rule.making import make_by_rule
from meetapp.simulate.by_rule.observing import ideal_weights_by_rule
from meetapp.simulate.by_rule.tables import RulePlan
from meetapp.simulate.physics import Physics
from meetapp.simulate.plan import Kind, MeetPlan, parse_causes
from meetapp.simulate.simulating import SimulatedMeet, ideal_weights, simulate

Weights = list[dict[Kind, float]]
_MIX = "no_token=2,wrong_channel=2,product=1,neighbour=1,too_close=2,own_receiver=2,unknown=1"
_DEFAULT = MeetPlan(pilots=20, hours=4, tokens=6, causes=parse_causes(_MIX))
_VARIATIONS: dict[str, MeetPlan] = {
    "the default": _DEFAULT,
    "other shares": replace(_DEFAULT, causes=parse_causes("no_token=6,wrong_channel=1,own_receiver=5,unknown=3")),
    "heavy time errors": replace(_DEFAULT, time_error_min=4, round_share=0.8),
    "clocks off by 5 min": replace(_DEFAULT, clock_shift_min=5),
    "wrong looks in 3 of 10": replace(_DEFAULT, wrong_look_share=0.3),
    "other physics": replace(_DEFAULT, physics=Physics(needed_db=12, slope_db_per_mhz=1, intercept_dbm=-18, pits_m=8)),
    "4 tokens": replace(_DEFAULT, tokens=4, causes=parse_causes(_MIX.replace("product=1,", ""))),
    "8 tokens": replace(_DEFAULT, tokens=8),
    "more power": replace(_DEFAULT, powers_mw=(25, 100, 400, 600)),
}


@dataclass(frozen=True)
class World:
    """A way to make meets. Each of the four takes a seed, or the meet that came of it.

    stranger: the ideal observer of quite another world, who reads this one's record by its own rules.
    """

    name: str
    make: Callable[[int], SimulatedMeet]
    make_quiet: Callable[[int], SimulatedMeet]
    ideal: Callable[[SimulatedMeet], Weights]
    stranger: Callable[[SimulatedMeet], Weights]


def _ideal_by_rule(meet: SimulatedMeet) -> Weights:
    return ideal_weights_by_rule(meet.record)


def _ideal_by_physics(plan: MeetPlan) -> Callable[[SimulatedMeet], Weights]:
    return lambda meet: ideal_weights(replace(plan, seed=meet.record.number), meet.record)


def _by_physics(name: str, plan: MeetPlan) -> World:
    return World(
        name,
        lambda seed: simulate(replace(plan, seed=seed)),
        lambda seed: simulate(replace(plan, seed=seed, causes={})),
        ideal=_ideal_by_physics(plan),
        stranger=_ideal_by_rule,
    )


WORLDS = {name: _by_physics(name, plan) for name, plan in _VARIATIONS.items()} | {
    "by rule": World(
        "by rule",
        lambda seed: make_by_rule(RulePlan(seed=seed)),
        lambda seed: make_by_rule(RulePlan(seed=seed, is_orderly=True)),
        ideal=_ideal_by_rule,
        stranger=_ideal_by_physics(_DEFAULT),
    )
}


@dataclass
class KeptWeights:
    """Observers' weights by world and meet, in a file if one is named: they take most of the time and never change."""

    path: Path | None = None
    _kept: dict[str, Weights] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if self.path is not None and self.path.exists():
            self._kept = json.loads(self.path.read_text(encoding="utf-8"))

    def of(self, world: World, meet: SimulatedMeet) -> Weights:
        """The ideal observer's weights for a meet's reports."""
        return self._of(world.name, world.ideal, meet)

    def of_stranger(self, world: World, meet: SimulatedMeet) -> Weights:
        """The weights of an observer who knows another world's rules."""
        return self._of(f"{world.name} to a stranger", world.stranger, meet)

    def _of(self, who: str, weigh: Callable[[SimulatedMeet], Weights], meet: SimulatedMeet) -> Weights:
        key = f"{who}, {meet.record.number}: {[str(told.happened_at) for told in meet.record.told]}"
        if key not in self._kept:
            self._kept[key] = weigh(meet)
        return self._kept[key]

    def write(self) -> None:
        """Put what was weighed into the file."""
        if self.path is not None:
            self.path.write_text(json.dumps(self._kept), encoding="utf-8")
