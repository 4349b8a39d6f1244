"""The command that moves a club to another database: move."""

import argparse
import json
import sys
from typing import Any

from sqlalchemy.engine import make_url

from meetapp.cli_serve import url_of
from meetapp.databases import prepare_target, refuse_unless_current
from meetapp.flows.heats.heat_words import counted
from meetapp.serving import hold_database
from meetapp.steady_clock import utc_now
from meetapp.store.engine import file_of, is_file
from meetapp.store.forward import CantOpen
from meetapp.store.moving import Moved, move


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put move on the command line."""
    moving = commands.add_parser("move", help="copy the whole club into another, empty database, and compare")
    moving.add_argument("--from", dest="source", required=True, metavar="DATABASE", help="the club's file or address")
    moving.add_argument("--to", dest="target", required=True, metavar="DATABASE", help="a new file, or an address")
    moving.add_argument("--json", action="store_true", help="answer as JSON")
    moving.set_defaults(run=run_move)


def run_move(options: argparse.Namespace) -> int:
    """Copy, compare, and say what was done. The club stays where it was, too."""
    source, target = url_of(options.source), url_of(options.target)
    try:
        refuse_unless_current(source)
        if source == target:
            raise CantOpen("The club can't be moved to where it is. Give another file or address with --to.")
        # A server on a file would go on writing what doesn't come along; those on PostgreSQL can't be known from here.
        with hold_database(source), hold_database(target):
            prepare_target(target, utc_now())
            moved = move(source, target)
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    if options.json:
        print(json.dumps({"rows": moved.rows, "checksum": moved.checksum}))
    else:
        _print(moved, target)
    return 0


def _print(moved: Moved, target: str) -> None:
    for table, count in moved.rows.items():
        if count:
            print(f"{count:>7}  {table.replace('_', ' ')}")
    rows = counted(sum(moved.rows.values()), "row")
    print(f"{rows} in {len(moved.rows)} tables arrived and were compared (all are equal).")
    print(f"Checksum of both: {moved.checksum[:16]}")
    # The address prints without its password: a terminal is looked at by others.
    new = file_of(target) if is_file(target) else make_url(target)
    print(f"The old database is as it was. From now on start the server on the new one only: {new}")
