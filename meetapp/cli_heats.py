"""The command that plans a day of heats from a roster: heats."""

import argparse
import json
import re
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from meetapp.cli_files import BAD_INPUT, read_bytes
from meetapp.data.catalog import published_plans
from meetapp.flows.errors import MeetError
from meetapp.spectrum.channels import BadProblem
from meetapp.spectrum.floors import Floors
from meetapp.spectrum.heats.demands import Spare, Unmet, unmet_demands
from meetapp.spectrum.heats.plan import HeatPlan, PlannedHeat
from meetapp.spectrum.heats.planning import better_plans
from meetapp.spectrum.heats.problem import HeatProblem
from meetapp.spectrum.heats.roster import parse_roster
from meetapp.spectrum.products import Measures

CANT_BE_DONE = 1

_WHOLE = re.compile(r"[+-]?[0-9]{1,9}")
_SECONDS = re.compile(r"[0-9]{1,6}(\.[0-9]{1,3})?")
_FOR_THE_PLAN = 0.7
"""The share of the time that the plan may take where something is not met; the rest goes to the ways out."""

_LARGEST_ROSTER = 1_000_000
_SPARE_PLANS = "A B E F R"
_CAUTION = (
    "Proven by these sums only, no promise of a clear picture. No band rule was applied: local rules and the licence "
    "decide."
)


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put heats on the command line."""
    heats = commands.add_parser("heats", help="plan heats from a roster", allow_abbrev=False)
    add = heats.add_argument
    add("roster", help="a CSV with the columns pilot and channels (wake and width too, if wanted); - for input")
    add("--size", required=True, metavar="PILOTS", help="how many fly at once at most")
    add("--rounds", default="1", help="how often everybody flies (default 1)")
    add("--spacing", required=True, metavar="MHZ", help="the floor for the distance between two carriers")
    add("--clearance", metavar="MHZ", help="the floor for the distance from products to carriers (else there is none)")
    add("--pads", metavar="PLACES", help="how many places the start line has (else as many as a heat needs)")
    add("--seconds", default="2", help="how long to look for a better plan (default 2)")
    add("--json", action="store_true", help="answer in JSON")
    heats.set_defaults(run=run_heats)


def run_heats(options: argparse.Namespace) -> int:
    """Print a day of heats. Exit code 0; 1 where somebody can't fly at all; 2 for bad input."""
    try:
        problem = _problem(options)
        seconds = _seconds(options.seconds)
    except BadProblem as error:
        print(error.reason, file=sys.stderr)
        return BAD_INPUT
    started = time.monotonic()

    def is_over(share: float) -> Callable[[], bool]:
        return lambda: time.monotonic() > started + share * seconds

    plan = _best_plan(problem, is_over(_FOR_THE_PLAN))
    unmet = unmet_demands(problem, plan, _spare(), is_over(1))
    if options.json:
        print(json.dumps(_as_json(plan, unmet)))
    else:
        _print_plan(plan, unmet)
    return CANT_BE_DONE if plan.grounded else 0


def _best_plan(problem: HeatProblem, is_over: Callable[[], bool]) -> HeatPlan:
    """The last and best plan in time; an interruption ends the search with what there is."""
    best: HeatPlan | None = None
    try:
        for plan in better_plans(problem, is_over):
            best = plan
    except KeyboardInterrupt:
        if best is None:
            raise
    assert best is not None  # the first plan comes whatever the time
    return best


def _problem(options: argparse.Namespace) -> HeatProblem:
    clearance = None if options.clearance is None else _whole("--clearance", options.clearance)
    return HeatProblem(
        parse_roster(_read(options.roster), published_plans()),
        size=_whole("--size", options.size),
        rounds=_whole("--rounds", options.rounds),
        floors=Floors(_whole("--spacing", options.spacing), clearance),
        pads=None if options.pads is None else _whole("--pads", options.pads),
    )


def _read(name: str) -> str:
    try:
        raw = sys.stdin.buffer.read(_LARGEST_ROSTER + 1) if name == "-" else read_bytes(Path(name))
    except MeetError as error:
        raise BadProblem("roster", error.sentence) from None
    if len(raw) > _LARGEST_ROSTER:
        raise BadProblem("roster", "The roster is larger than 1 MB: that is no list of pilots.")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = raw[: error.start].count(b"\n") + 1
        raise BadProblem("roster", f"Row {row}: the roster is not UTF-8 text; save it as 'CSV UTF-8'.") from None


def _whole(option: str, text: str) -> int:
    if not _WHOLE.fullmatch(text.strip()):
        raise BadProblem(option, f"{option} must be a whole number, not '{text}'.")
    return int(text)


def _seconds(text: str) -> float:
    if not _SECONDS.fullmatch(text.strip()):
        raise BadProblem("--seconds", f"--seconds must be a number of seconds, not '{text}'.")
    return float(text)


def _spare() -> Spare:
    able = parse_roster(f"pilot,channels\nspare,{_SPARE_PLANS}", published_plans())[0]
    return Spare(f"a transmitter with the channels {_SPARE_PLANS}", able.settings)


def _as_json(plan: HeatPlan, unmet: tuple[Unmet, ...]) -> dict[str, object]:
    return {
        "rounds": [{"heats": [_heat_as_json(heat) for heat in each.heats]} for each in plan.rounds],
        "channel_changes": plan.channel_changes,
        "heats_proven_minimum": plan.heats_proven_minimum,
        "changes_proven_minimum": plan.changes_proven_minimum,
        "distinct_opponents": {
            "reached": plan.opponents.reached,
            "upper_bound": plan.opponents.bound,
            "by_pilot": plan.opponents.by_pilot,
        },
        "heats_per_round": plan.heats_per_round,
        "heats_bound": plan.heats_bound,
        "channel_changes_bound": plan.changes_bound,
        "sizes_even": plan.sizes_even,
        "twice_running": plan.twice_running,
        "on_wake_channel": plan.on_wake_channel,
        "grounded": list(plan.grounded),
        "not_met": [
            {"demand": each.demand, "pilots": list(each.pilots), "why": each.sentence, "ways_out": list(each.ways_out)}
            for each in unmet
        ],
    }


def _heat_as_json(heat: PlannedHeat) -> dict[str, object]:
    return {
        "places": [
            {"pilot": place.pilot, "label": place.label, "mhz": place.mhz, "pad": place.pad} for place in heat.places
        ],
        "spacing_mhz": heat.measures.spacing_mhz,
        "two_signal_clearance_mhz": heat.measures.two_signal_clearance_mhz,
        "three_signal_clearance_mhz": heat.measures.three_signal_clearance_mhz,
    }


def _print_plan(plan: HeatPlan, unmet: tuple[Unmet, ...]) -> None:
    names = [place.pilot for heat in plan.rounds[0].heats for place in heat.places]
    width = max(map(len, names), default=0)
    for number, each in enumerate(plan.rounds, start=1):
        print(f"Round {number}")
        for place_in_round, heat in enumerate(each.heats, start=1):
            print(f"  Heat {place_in_round}: {_measures_text(heat.measures)}")
            for place in heat.places:
                label = "" if place.label == f"{place.mhz} MHz" else place.label
                print(f"    pad {place.pad:<3}{place.pilot:<{width}}  {place.mhz} MHz  {label}".rstrip())
        print()
    for line in (*_facts(plan), *_unmet_lines(unmet)):
        print(line)
    print(_CAUTION)


def _measures_text(measures: Measures) -> str:
    named = (
        ("spacing", measures.spacing_mhz),
        ("two-signal clearance", measures.two_signal_clearance_mhz),
        ("three-signal clearance", measures.three_signal_clearance_mhz),
    )
    return ", ".join(f"{name} {value:g} MHz" for name, value in named if value is not None) or "alone"


def _facts(plan: HeatPlan) -> tuple[str, ...]:
    heats = "proven the fewest" if plan.heats_proven_minimum else f"at least {plan.heats_bound}, not proven the fewest"
    changes = "proven the fewest" if plan.changes_proven_minimum else f"at least {plan.changes_bound}"
    changes += " with as few heats and sizes as even" if plan.channel_changes else ""
    return (
        f"Heats in a round: {plan.heats_per_round} ({heats}).",
        f"Channel changes over the day: {plan.channel_changes} ({changes}).",
        f"Different others met, over all pilots: {plan.opponents.reached} ({plan.opponents_words}).",
    )


def _unmet_lines(unmet: tuple[Unmet, ...]) -> tuple[str, ...]:
    lines: list[str] = []
    for each in unmet:
        lines += ["", each.sentence]
        lines += [f"  It lies with: {', '.join(each.pilots)}."] if each.pilots else []
        lines += [f"  {way}" for way in each.ways_out]
    return (*lines, "") if lines else ()
