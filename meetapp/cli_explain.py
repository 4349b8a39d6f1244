"""The command that says what broke the pictures of a meet: explain."""

import argparse
import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Any

from meetapp.cli_files import BAD_INPUT, read_text
from meetapp.flows.errors import MeetError
from meetapp.flows.files.meet_file_reading import BadMeetFile, read_meet_file
from meetapp.flows.files.meet_file_shape import MeetFile
from meetapp.flows.review.again import MeetsExplained, explained_files
from meetapp.flows.review.explanations import ExplanationsView, ReportView

_ABOUT = """\
Says for each clash report of a meet file what it may have been, with probabilities, all reports read together.

With --json: {"reports": [{"id", "causes": [{"kind", "mhz", "sources", "probability", "sentence"}]}],
"silent_transmitters": [{"mhz", "from", "to", "probability"}], "advice": [sentences]}.
'id' is the report's ref in the file, 'sources' are refs of loans. 'kind' is own_receiver, wrong_channel, too_close,
product, neighbour, no_token or unknown. Each kind stands once, likeliest first; the probabilities of a report sum to
1. 'sources' and 'mhz' (of the disturber, the product or the edge) are those of the likeliest of the kind, empty and
null where none has most of it; the sentence says so. 'from' and 'to' are the 90 % interval in MHz.

Several files are explained one by one, and then what turns up again at two meets or more
(pilots and kinds by their names, pilots only in files with names). With --json:
{"meets": [as above, with "file"], "turning_up": [{"what", "name", "cause", "meets", "reports", "sentence"}]};
'what' is pilot, kind (of transmitter) or channel, 'cause' one of the kinds above, null for a channel."""
_CAUSES_SHOWN = 4


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put explain on the command line."""
    parser = commands.add_parser(
        "explain",
        help="say what may have broken the pictures of a meet",
        description=_ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("files", metavar="file", nargs="+", type=Path, help="a meet file that 'meetapp export' wrote")
    parser.add_argument("--json", action="store_true", help="answer as JSON")
    parser.set_defaults(run=run_explain)


def run_explain(options: argparse.Namespace) -> int:
    """Explain one meet file, or several beside one another."""
    files: list[MeetFile] = []
    for path in options.files:
        try:
            files.append(read_meet_file(read_text(path)))
        except MeetError as error:
            which = f"{path}: " if len(options.files) > 1 and str(path) not in error.message else ""
            hint = "Give a meet file as an export wrote it." if isinstance(error, BadMeetFile) else error.hint
            print(f"{which}{error.message} {hint}", file=sys.stderr)
            return BAD_INPUT
    try:
        explained = explained_files(files)
    except MeetError as error:
        print(error.sentence, file=sys.stderr)
        return BAD_INPUT
    if options.json:
        print(json.dumps(_answer(options.files, explained)))
    else:
        _print_all(explained)
    return 0


def _answer(files: list[Path], explained: MeetsExplained) -> dict[str, Any]:
    if len(files) == 1:
        return as_json(explained.meets[0])
    return {
        "meets": [{"file": str(path), **as_json(view)} for path, view in zip(files, explained.meets, strict=True)],
        "turning_up": [asdict(each) for each in explained.again],
    }


def _print_all(explained: MeetsExplained) -> None:
    for view in explained.meets:
        _print(view)
    if len(explained.meets) > 1:
        print("\nWhat turns up again")
        for each in explained.again:
            print(f"  {each.sentence}")
        if not explained.again:
            print("  Nothing at two meets or more.")


def as_json(view: ExplanationsView) -> dict[str, Any]:
    """The answer as `--help` describes it."""
    return {
        "reports": [
            {
                "id": report.ref,
                "causes": [
                    {
                        "kind": cause.kind,
                        "mhz": cause.mhz,
                        "sources": list(cause.sources),
                        "probability": cause.probability,
                        "sentence": cause.sentence,
                    }
                    for cause in report.causes
                ],
            }
            for report in sorted(view.reports, key=lambda report: report.ref)
        ],
        "silent_transmitters": [
            {"mhz": each.mhz, "from": each.from_mhz, "to": each.to_mhz, "probability": each.probability}
            for each in view.silent
        ],
        "advice": [each.sentence for each in view.advice],
    }


def _print(view: ExplanationsView) -> None:
    print(f"{view.meet_name}\n{view.about}\n")
    for report in view.reports:
        _print_report(report, view)
    if not view.reports:
        print("There are no clash reports.\n")
    for each in view.silent:
        print(f"{each.probability:>5.0%}  {each.sentence}")
    if view.silent:
        print()
    if view.blame:
        print(f"Is the channel set to blame?\n  {view.blame}\n")
    print("What to change")
    for advice in view.advice:
        print(f"  {advice.sentence}")


def _print_report(report: ReportView, view: ExplanationsView) -> None:
    channel = f", on {report.mhz} MHz" if report.mhz is not None else ""
    print(f"{report.happened_at.astimezone(view.zone):%H:%M}  {report.who}{channel}: {report.look}, {report.place}")
    for cause in report.causes[:_CAUSES_SHOWN]:
        print(f"{cause.probability:>8.0%}  {cause.sentence}")
    print()
