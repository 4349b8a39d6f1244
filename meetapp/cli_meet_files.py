"""The commands that take a meet away as a file and read one back: export and import-meet."""

import argparse
import hashlib
import json
import sys
import uuid
from contextlib import nullcontext
from pathlib import Path
from typing import Any

from sqlmodel import col, select

from meetapp.cli_files import BAD_INPUT, read_text, write_texts
from meetapp.cli_serve import add_database_option, database_url
from meetapp.databases import is_file_behind, refuse_missing
from meetapp.flows.deeds import Actor, Deed
from meetapp.flows.errors import MeetError, NotFound
from meetapp.flows.files import meet_file, meet_import
from meetapp.serving import hold_database, prepare_database
from meetapp.steady_clock import utc_now
from meetapp.store import tables as t
from meetapp.store.engine import Store
from meetapp.store.forward import CantOpen


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put export and import-meet on the command line."""
    export = commands.add_parser("export", help="write a meet as a JSON file (without a number: list the meets)")
    export.add_argument("meet", nargs="?", type=int, help="the meet's number")
    export.add_argument("--without-names", action="store_true", help="number the people instead of naming them")
    export.add_argument("--out", type=Path, help="the file to write (else standard output)")
    export.add_argument("--overwrite", action="store_true", help="replace the file if it is there already")
    _add_common(export)
    export.set_defaults(run=run_export)
    told = "read a meet file back as a closed meet; stop the server on a club's file first"
    reading = commands.add_parser("import-meet", help=told)
    reading.add_argument("file", type=Path, help="the meet file")
    reading.add_argument("--again", action="store_true", help="also where a meet of that name and day is there already")
    _add_common(reading)
    reading.set_defaults(run=run_import)


def _add_common(parser: argparse.ArgumentParser) -> None:
    add_database_option(parser)
    parser.add_argument("--json", action="store_true", help="answer as JSON")


def run_export(options: argparse.Namespace) -> int:
    """Write one meet, or list them."""
    return _with_store(options, _list_meets if options.meet is None else _export, is_writing=False)


def run_import(options: argparse.Namespace) -> int:
    """Read one meet file back."""
    return _with_store(options, _import, is_writing=True)


def _with_store(options: argparse.Namespace, run: Any, *, is_writing: bool) -> int:
    url = database_url(options)
    try:
        refuse_missing(url)
        # While a server runs on a file nobody else writes to it or brings it forward; to read needs no leave.
        with hold_database(url) if is_writing or is_file_behind(url) else nullcontext():
            prepare_database(url, utc_now())
            return _over(Store(url), options, run)
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1


def _over(store: Store, options: argparse.Namespace, run: Any) -> int:
    try:
        run(store, options)
    except MeetError as error:
        print(error.sentence, file=sys.stderr)
        return BAD_INPUT
    finally:
        store.close()
    return 0


def _list_meets(store: Store, options: argparse.Namespace) -> None:
    with store.read() as session:
        rows = session.exec(select(t.Meet).order_by(col(t.Meet.on_date), col(t.Meet.id))).all()
    meets = [{"meet": row.id, "on_date": row.on_date.isoformat(), "name": row.name, "state": row.state} for row in rows]
    if options.json:
        print(json.dumps({"meets": meets}))
        return
    for meet in meets:
        print(f"{meet['meet']:>4}  {meet['on_date']}  {meet['state']:<8} {meet['name']}")


def _export(store: Store, options: argparse.Namespace) -> None:
    try:
        file = meet_file.export_meet(store, options.meet, utc_now(), with_names=not options.without_names)
    except NotFound as error:
        raise MeetError(f"There is no meet {options.meet}.", "'meetapp export' without a number lists them.") from error
    text = meet_file.meet_file_text(file)
    if options.out is None:
        print(text)
        return
    write_texts({options.out: text}, overwrite=options.overwrite)
    print(json.dumps({"file": str(options.out)}) if options.json else f"Written: {options.out}")


def _import(store: Store, options: argparse.Namespace) -> None:
    text = read_text(options.file)
    read = meet_import.preview(store, text)
    if read.is_here_already and not options.again:
        message = f"The club has a meet '{read.name}' of {read.on_date:%Y-%m-%d} already."
        raise MeetError(message, "Where this is another one, or to have it twice, add --again.")
    digest = hashlib.sha256(text.encode()).hexdigest()
    deed = Deed(str(uuid.uuid4()), digest, Actor("organiser", "Command line"), utc_now())
    answer = meet_import.import_meet(store, deed, text)
    print(json.dumps({"meet": answer.made_id}) if options.json else f"{answer.notice} Its number is {answer.made_id}.")
