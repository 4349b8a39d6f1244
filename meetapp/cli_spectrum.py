"""The commands that need no club: pick the best set of channels, inspect a given one."""

import argparse
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import Any

from meetapp import cli_answers as answers
from meetapp.cli_files import BAD_INPUT
from meetapp.cli_seconds import DEFAULT_SECONDS, read_seconds, time_for_search
from meetapp.data.catalog import published_plans
from meetapp.spectrum.bands import Segment, parse_segments
from meetapp.spectrum.carriers import Carrier, Neighbour
from meetapp.spectrum.channels import (
    REFERENCE_WIDTH_MHZ,
    USEFUL_CLEARANCE_MHZ,
    BadProblem,
    ChannelPlan,
    check_mhz,
    exact_mhz,
    labels_at,
)
from meetapp.spectrum.picking import pick
from meetapp.spectrum.pool import plans_of
from meetapp.spectrum.products import hits, measure
from meetapp.spectrum.result import Impossible, Undecided
from meetapp.spectrum.tuning import parse_tuning

_WHOLE = re.compile(r"[+-]?[0-9]{1,9}")
_RANGE = re.compile(r"[0-9]{1,6}[-–][0-9]{1,6}(/[0-9]{1,6})?")
_NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,3})?")
_NO_BAND_RULE = "No band rule was applied: name the band with --within. Local rules and the licence decide."


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put pick and inspect on the command line."""
    _add_pick(commands)
    given = commands.add_parser("inspect", help="measure a given set of channels", allow_abbrev=False)
    given.add_argument("carriers", nargs="+", metavar="carrier", help="MHz (5658), a label (R1), either with /width")
    given.add_argument("--json", action="store_true", help="answer in JSON")
    given.set_defaults(run=run_inspect)


def _add_pick(commands: "argparse._SubParsersAction[Any]") -> None:
    chosen = commands.add_parser("pick", help="find the best set of channels", allow_abbrev=False)
    add = chosen.add_argument
    add("--count", help="how many fly at once (not needed where --widths says it)")
    add("--spacing", required=True, metavar="MHZ", help="the least distance between two carriers")
    add("--plans", default="", metavar="LETTERS", help="channel plans to choose from, such as A,B,E,F,R")
    add(
        "--mhz",
        action="append",
        default=[],
        metavar="MHZ,LOW-HIGH/STEP",
        help="further frequencies and ranges to choose from (the step is 1 MHz where none is written)",
    )
    add("--within", action="append", default=[], metavar="LOW-HIGH", help="a piece of band; may be repeated")
    add("--avoid", action="append", default=[], metavar="CENTRE/WIDTH", help="a neighbour; may be repeated")
    add(
        "--width",
        default=str(REFERENCE_WIDTH_MHZ),
        metavar="MHZ",
        help="occupied width of a carrier at band edges and neighbours; spacing and clearances are between centres",
    )
    add(
        "--widths",
        default="",
        metavar="MHZ,MHZ",
        help="an occupied width for each carrier instead: spacing and clearances are then measured by the widths too",
    )
    add("--signals", default="both", help="rank by the products of 'both' kinds (default) or of 'two' signals first")
    add("--useful", default=str(USEFUL_CLEARANCE_MHZ), metavar="MHZ", help="clearance beyond this counts for nothing")
    add("--seconds", default=DEFAULT_SECONDS, metavar="S", help="how long to search at most (default: %(default)s)")
    add("--json", action="store_true", help="answer in JSON")
    chosen.set_defaults(run=run_pick)


def run_pick(options: argparse.Namespace) -> int:
    """Print the best set, or the best found in the time given or until Ctrl+C, saying that it isn't proven.

    Exit code 0; 1 where the count can't be met, with what can, or no set was found in time; 2 for bad input.
    """
    return _with_sentence(lambda: _pick(options))


def run_inspect(options: argparse.Namespace) -> int:
    """Print the measures of a given set and the products near its carriers. Exit code 0, or 2 for bad input."""
    return _with_sentence(lambda: _inspect(options))


def _with_sentence(command: Callable[[], int]) -> int:
    try:
        return command()
    except BadProblem as error:
        print(error.reason, file=sys.stderr)
        return BAD_INPUT


def _pick(options: argparse.Namespace) -> int:
    every = published_plans()
    letters = [letter.upper() for letter in _words(options.plans)]
    extra = [mhz for text in options.mhz for word in _words(text) for mhz in _frequencies(word)]
    if not letters and not extra:
        raise BadProblem("plans", "Say what to choose from, such as --plans A,B,E,F,R or --mhz 5650,5671.")
    within = _segments(options.within)
    widths = [_width(word) for word in _words(options.widths)]
    count, spacing = _count(options.count, widths), _whole("--spacing", options.spacing)
    useful = _whole("--useful", options.useful)
    with time_for_search(read_seconds(options.seconds)) as is_over:
        result = pick(
            count,
            spacing,
            plans=every,
            letters=letters,
            extra_mhz=extra,
            within=within,
            avoid=[_neighbour(text) for text in options.avoid],
            width_mhz=_width(options.width),
            widths_mhz=widths,
            signals=options.signals,
            useful_mhz=useful,
            is_over=is_over,
        )
    if not within:
        print(_NO_BAND_RULE, file=sys.stderr)
    if isinstance(result, Undecided):
        print(answers.NOTHING_YET, file=sys.stderr)
        return 1
    if isinstance(result, Impossible):
        if options.json:
            answers.print_json(answers.impossible_as_json(result))
        else:
            answers.print_impossible(result, count, spacing)
        return 1
    chosen_plans = plans_of(letters, every)
    labels = [labels_at(mhz, chosen_plans) or labels_at(mhz, every) for mhz in result.mhz]
    carriers = list(map(Carrier, result.mhz, result.widths_mhz or widths or [REFERENCE_WIDTH_MHZ] * count))
    if options.json:
        own_widths = answers.widths_as_json(carriers) if widths else {}
        found = answers.set_as_json(carriers, labels, result.measures)
        answers.print_json({**found, **own_widths, **answers.proof_as_json(result)})
    else:
        answers.print_set(carriers, labels, result.measures, with_edges=bool(widths))
        answers.print_proof(result, options.signals, useful)
    return 0


def _inspect(options: argparse.Namespace) -> int:
    plans = published_plans()
    carriers = sorted({_carrier(word, plans) for word in options.carriers})
    if len(carriers) < len(options.carriers):
        print("A carrier given more than once counts once.", file=sys.stderr)
    labels = [labels_at(carrier.mhz, plans) for carrier in carriers]
    measures = measure(carriers)
    near = hits(carriers, answers.NEAR_A_CARRIER_MHZ)
    if options.json:
        found = answers.set_as_json(carriers, labels, measures)
        answers.print_json({**found, **answers.widths_as_json(carriers), **answers.hits_as_json(near)})
    else:
        answers.print_set(carriers, labels, measures, with_edges=True)
        answers.print_hits(near)
    return 0


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,\s]+", text) if word]


def _count(text: str | None, widths: Sequence[float]) -> int:
    if text is not None:
        return _whole("--count", text)
    if not widths:
        raise BadProblem("count", "Missing: --count (or --widths, with a width for each carrier).")
    return len(widths)


def _whole(option: str, text: str) -> int:
    if not _WHOLE.fullmatch(text.strip()):
        raise BadProblem(option, f"{option} must be a whole number, not '{text}'.")
    return int(text)


def _frequencies(word: str) -> Iterable[int]:
    if _RANGE.fullmatch(word):
        return parse_tuning(word, ()).all_mhz()
    mhz = _whole("--mhz", word)
    check_mhz("--mhz", mhz)
    return [mhz]


def _width(text: str) -> float:
    if not _NUMBER.fullmatch(text.strip()):
        raise BadProblem("width_mhz", f"A width must be a number of MHz, not '{text}'.")
    return exact_mhz(float(text))


def _segments(texts: Iterable[str]) -> tuple[Segment, ...]:
    return tuple(segment for text in texts for segment in parse_segments(text))


def _neighbour(text: str) -> Neighbour:
    centre, slash, width = text.strip().partition("/")
    if not slash or not _WHOLE.fullmatch(centre):
        raise BadProblem("--avoid", f"--avoid must be a centre and a width, such as 5745/80, not '{text}'.")
    check_mhz("--avoid", int(centre))
    return Neighbour(text, int(centre), _width(width))


def _carrier(word: str, plans: Sequence[ChannelPlan]) -> Carrier:
    name, slash, width = word.partition("/")
    labelled = {channel.label: channel.mhz for plan in plans for channel in plan.channels}
    if name.upper() in labelled:
        mhz = labelled[name.upper()]
    elif _WHOLE.fullmatch(name):
        mhz = int(name)
        check_mhz("carrier", mhz)
    else:
        raise BadProblem(
            "carrier", f"'{word}' is no channel and no frequency: write R1, 5658 or, with a width, 5658/18."
        )
    return Carrier(mhz, _width(width)) if slash else Carrier(mhz)
