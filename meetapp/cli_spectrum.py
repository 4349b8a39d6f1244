"""The commands that need no club: pick the best set of channels, inspect a given one."""

import argparse
import json
import re
import sys
from collections.abc import Callable, Iterable, Sequence
from typing import Any

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
from meetapp.spectrum.products import Hit, Measures, hits, measure, product_text
from meetapp.spectrum.result import BestFound, Impossible, Optimal, Undecided
from meetapp.spectrum.tuning import parse_tuning

NEAR_A_CARRIER_MHZ = 40
"""How near a product must fall to a carrier for `inspect` to list it: a little over the useful clearance."""

_WHOLE = re.compile(r"[+-]?[0-9]{1,9}")
_RANGE = re.compile(r"[0-9]{1,6}[-–][0-9]{1,6}(/[0-9]{1,6})?")
_NUMBER = re.compile(r"[0-9]{1,4}(\.[0-9]{1,3})?")
_MADE_OF_THE_THIRD_ORDER = 3
_TOLERANCE = "A difference of a few MHz is within a transmitter's own tolerance."
_PROOF = f"Proven best by these sums; no promise of a clear picture. {_TOLERANCE}"
_NO_PROOF = "Best found when the search was stopped: not proven, and no promise of a clear picture."
_MORE_TIME = "More time (--seconds) may find a better one or the proof."
_NOTHING_YET = "The search was stopped before it found a set: give it more time with --seconds."
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
    add("--count", required=True, help="how many fly at once")
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
        return 2


def _pick(options: argparse.Namespace) -> int:
    every = published_plans()
    letters = [letter.upper() for letter in _words(options.plans)]
    extra = [mhz for text in options.mhz for word in _words(text) for mhz in _frequencies(word)]
    if not letters and not extra:
        raise BadProblem("plans", "Say what to choose from, such as --plans A,B,E,F,R or --mhz 5650,5671.")
    within = _segments(options.within)
    with time_for_search(read_seconds(options.seconds)) as is_over:
        result = pick(
            _whole("--count", options.count),
            _whole("--spacing", options.spacing),
            plans=every,
            letters=letters,
            extra_mhz=extra,
            within=within,
            avoid=[_neighbour(text) for text in options.avoid],
            width_mhz=_width(options.width),
            signals=options.signals,
            useful_mhz=_whole("--useful", options.useful),
            is_over=is_over,
        )
    if not within:
        print(_NO_BAND_RULE, file=sys.stderr)
    if isinstance(result, Impossible):
        _print_impossible(result, options)
        return 1
    if isinstance(result, Undecided):
        print(_NOTHING_YET, file=sys.stderr)
        return 1
    chosen_plans = plans_of(letters, every)
    labels = [labels_at(mhz, chosen_plans) or labels_at(mhz, every) for mhz in result.mhz]
    if options.json:
        _print_json({**_set_as_json(result.mhz, labels, result.measures), **_proof_as_json(result)})
    else:
        _print_set([Carrier(mhz) for mhz in result.mhz], labels, result.measures)
        print(_proof_text(result, options))
    return 0


def _inspect(options: argparse.Namespace) -> int:
    plans = published_plans()
    carriers = sorted({_carrier(word, plans) for word in options.carriers})
    if len(carriers) < len(options.carriers):
        print("A carrier given more than once counts once.", file=sys.stderr)
    mhz = [carrier.mhz for carrier in carriers]
    labels = [labels_at(each, plans) for each in mhz]
    measures = measure(carriers)
    near = hits(carriers, NEAR_A_CARRIER_MHZ)
    if options.json:
        widths = [carrier.width_mhz for carrier in carriers]
        products = [_hit_as_json(hit) for hit in near]
        _print_json({**_set_as_json(mhz, labels, measures), "widths_mhz": widths, "products": products})
    else:
        _print_set(carriers, labels, measures)
        _print_hits(near)
    return 0


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[,\s]+", text) if word]


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


def _set_as_json(mhz: Sequence[int], labels: Sequence[Sequence[str]], measures: Measures) -> dict[str, object]:
    return {
        "mhz": list(mhz),
        "labels": [list(each) for each in labels],
        "spacing_mhz": measures.spacing_mhz,
        "two_signal_clearance_mhz": measures.two_signal_clearance_mhz,
        "three_signal_clearance_mhz": measures.three_signal_clearance_mhz,
    }


def _proof_as_json(result: Optimal | BestFound) -> dict[str, object]:
    if isinstance(result, Optimal):
        return {"proven": True}
    return {"proven": False, "clearance_bound_mhz": result.bound_mhz}


def _proof_text(result: Optimal | BestFound, options: argparse.Namespace) -> str:
    if isinstance(result, Optimal):
        return _PROOF
    return f"{_NO_PROOF} {_bound_text(result.bound_mhz, options)}{_MORE_TIME}"


def _bound_text(bound_mhz: float | None, options: argparse.Namespace) -> str:
    if bound_mhz is None:
        return ""
    clearance = "two-signal clearance" if options.signals == "two" else "clearance"
    return f"No set here has more than {bound_mhz:g} MHz of {clearance}, counted up to {options.useful} MHz. "


def _hit_as_json(hit: Hit) -> dict[str, object]:
    return {
        "order": _MADE_OF_THE_THIRD_ORDER,
        "kind": hit.product.kind,
        "sources": list(hit.product.sources),
        "mhz": hit.product.mhz,
        "victim": hit.victim_mhz,
        "distance_mhz": hit.distance_mhz,
    }


def _print_json(answer: dict[str, object]) -> None:
    print(json.dumps(answer))


def _print_impossible(result: Impossible, options: argparse.Namespace) -> None:
    if options.json:
        _print_json({"largest_count": result.largest_count, "largest_spacing_mhz": result.largest_spacing_mhz})
        return
    print(f"There is no set of {int(options.count)} with a spacing of {int(options.spacing)} MHz here.")
    print(f"The largest count at this spacing is {result.largest_count}.")
    if result.largest_spacing_mhz is None:
        print("No spacing helps: there are fewer frequencies to choose from than that.")
    else:
        print(f"The largest spacing for this count is {result.largest_spacing_mhz:g} MHz.")


def _print_set(carriers: Sequence[Carrier], labels: Sequence[Sequence[str]], measures: Measures) -> None:
    for carrier, names in zip(carriers, labels, strict=True):
        width = "" if carrier.width_mhz == REFERENCE_WIDTH_MHZ else f"  {carrier.width_mhz:g} MHz wide"
        print(f"{carrier.mhz} MHz  {' '.join(names)}{width}".rstrip())
    print()
    for name, value in (
        ("spacing", measures.spacing_mhz),
        ("two-signal clearance", measures.two_signal_clearance_mhz),
        ("three-signal clearance", measures.three_signal_clearance_mhz),
    ):
        print(f"{name:<24}{'nothing to measure' if value is None else f'{value:g} MHz'}")
    print()


def _print_hits(near: Sequence[Hit]) -> None:
    print(f"Products of the third order within {NEAR_A_CARRIER_MHZ} MHz of a carrier: {len(near) or 'none'}")
    for hit in near:
        product = hit.product
        text = f"{product_text(product.kind, product.sources)} = {product.mhz}"
        print(f"  {text:<28}{hit.distance_mhz:g} MHz from {hit.victim_mhz}")
