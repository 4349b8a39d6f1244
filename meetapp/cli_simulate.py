"""The command that makes a meet with a known truth: simulate."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from meetapp.cli_files import BAD_INPUT, write_texts
from meetapp.flows.errors import MeetError
from meetapp.flows.files.meet_file import meet_file_text
from meetapp.simulate.plan import MeetPlan, parse_causes
from meetapp.simulate.simulating import SimulatedMeet, add_ideal, ideal_weights, simulate
from meetapp.spectrum.channels import BadProblem

_ABOUT = """\
Makes a closed meet with a known truth, to measure explanations against. Same seed and options, same bytes.

Invented: the people, their kit, the field, all times and powers, distances, fading, the receiver's filter and
intercept point, the foreign signal, how often and how well people report. By the tool's own rules: who is next, which
token, the floors. Nothing of it says how a real meet goes. Causes are own_receiver, wrong_channel, too_close, product,
neighbour, no_token and unknown; each planted one breaks at least one picture that is reported.

--truth writes {"seed", "planted": {kind: count}, "reports": [{"ref", "kind", "mhz", "sources", "cause", "is_planted",
"happened_at", "ideal": {kind: weight}, "can_be_told"}],
"silent_transmitters": [{"mhz", "cause", "reports", "spells": [{"from", "to"}]}]}.
'ref', 'reports' and 'sources' are refs of the meet file's reports and loans, 'cause' numbers what was planted (and the
everyday reports behind it). 'ideal' is what one would make of the record who knows all of the above but not what was
drawn, 'can_be_told' whether its weight for the true kind is 0.8 or more."""
_DEFAULTS = MeetPlan()
_FIGURES = {
    "everyday_per_hour": "reports without a cause in the record, an hour",
    "tells_share": "share of the disturbed who report it",
    "time_error_min": "standard deviation of a remembered minute",
    "wrong_look_share": "share of looks that don't follow the physics",
    "clock_shift_min": "by how much all reported times are off",
}


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put simulate on the command line."""
    parser = commands.add_parser(
        "simulate",
        help="make a meet file with a known truth",
        description=_ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    for name in ("pilots", "tokens", "seed"):
        parser.add_argument(f"--{name}", type=int, default=getattr(_DEFAULTS, name), help="(%(default)s)")
    parser.add_argument("--hours", type=float, default=_DEFAULTS.hours, help="(%(default)s)")
    parser.add_argument("--causes", default="none", help="what to plant, such as no_token=2,product=1 (%(default)s)")
    for name, words in _FIGURES.items():
        option = f"--{name.replace('_', '-')}"
        parser.add_argument(option, type=float, default=getattr(_DEFAULTS, name), help=f"{words} (%(default)s)")
    parser.add_argument("--out", type=Path, required=True, help="the meet file to write")
    parser.add_argument("--truth", type=Path, help="where to write the truth")
    parser.add_argument("--overwrite", action="store_true", help="replace files that are there already")
    parser.set_defaults(run=run_simulate)


def run_simulate(options: argparse.Namespace) -> int:
    """Make one meet and write it."""
    figures = {name: getattr(options, name) for name in _FIGURES}
    try:
        plan = MeetPlan(
            pilots=options.pilots,
            hours=options.hours,
            tokens=options.tokens,
            seed=options.seed,
            causes=parse_causes(options.causes),
            **figures,
        )
        meet = simulate(plan)
        if options.truth is not None:
            add_ideal(meet, ideal_weights(plan, meet.record))
        _write(meet, options)
    except BadProblem as problem:
        print(problem.reason, file=sys.stderr)
        return BAD_INPUT
    except MeetError as error:
        print(error.sentence, file=sys.stderr)
        return BAD_INPUT
    return 0


def _write(meet: SimulatedMeet, options: argparse.Namespace) -> None:
    texts = {options.out: meet_file_text(meet.file)}
    if options.truth is not None:
        texts[options.truth] = json.dumps(meet.truth, indent=1) + "\n"
    write_texts(texts, overwrite=options.overwrite)
    print(f"Written: {', '.join(map(str, texts))}; reports: {len(meet.file.reports)}, loans: {len(meet.file.loans)}.")
