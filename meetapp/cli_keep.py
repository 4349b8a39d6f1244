"""The commands that keep a club safe: backup, restore, and unit (start at boot)."""

import argparse
import getpass
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from meetapp.certificates import check_certificate
from meetapp.cli_serve import EVERY_ADDRESS, add_address, add_database_option, add_serving_options, database_url
from meetapp.config import DATABASE_URL, data_folder
from meetapp.steady_clock import utc_now
from meetapp.store.backup import back_up, restore
from meetapp.store.engine import file_of, is_file
from meetapp.store.forward import CantOpen
from meetapp.workers import check_count

_UNIT = """\
[Unit]
Description=meetapp, the video channels of a flying meet
After=network.target postgresql.service
# A hotspot's address may come long after the boot: try until it is there.
StartLimitIntervalSec=0

[Service]
User={user}
{environment}ExecStart={command}
Restart=on-failure
RestartSec=2

[Install]
WantedBy=multi-user.target
"""

_ADDRESS_FILE = Path("/etc/meetapp.env")
# Anybody on the machine may read a unit; systemd reads the other file before it becomes this user (systemd.exec(5)).
_ENVIRONMENT = f"""\
# The database's address holds its password, so it doesn't stand here: write {DATABASE_URL}=... into the file below,
# and let nobody but root read that.
EnvironmentFile={_ADDRESS_FILE}
"""

_AS_ROOT = "With sudo this would serve root's own club, not yours. Run it as yourself: meetapp unit > meetapp.service"


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put backup, restore and unit on the command line."""
    backup = commands.add_parser("backup", help="copy the club to a new file, while the server runs too, and check it")
    backup.add_argument("file", type=Path, help="the file to write")
    add_database_option(backup)
    backup.set_defaults(run=run_backup)
    back = commands.add_parser("restore", help="put a backup in the club's place; what stood there is kept")
    back.add_argument("file", type=Path, help="the backup")
    add_database_option(back)
    back.set_defaults(run=run_restore)
    unit = commands.add_parser("unit", help="print a systemd unit that starts the server at boot")
    add_address(unit)
    add_database_option(unit)
    add_serving_options(unit)
    unit.set_defaults(run=run_unit)


def _club_file(options: argparse.Namespace) -> Path:
    url = database_url(options)
    if not is_file(url):
        raise CantOpen("This is for a club in a file. A database server comes with tools of its own for that.")
    return file_of(url)


def run_backup(options: argparse.Namespace) -> int:
    """Copy the club's file and check the copy."""
    try:
        back_up(_club_file(options), options.file, data_folder("migrations"))
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    print(f"Written and checked: {options.file}. Keep it on another disk.")
    return 0


def run_restore(options: argparse.Namespace) -> int:
    """Put a backup in the club's place."""
    try:
        path = _club_file(options)
        kept = restore(options.file, path, data_folder("migrations"), utc_now())
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    print(f"The club in {path} is that of {options.file}.")
    if kept is not None:
        print(f"What stood there is kept as {kept}")
    return 0


def run_unit(options: argparse.Namespace) -> int:
    """Print the unit, for this user, this program and this club."""
    url = database_url(options)
    try:
        if getpass.getuser() == "root" and os.environ.get("SUDO_USER"):
            raise CantOpen(_AS_ROOT)
        check_count(options.workers, url)
        check_certificate(options.certificate, options.key)
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    command = " ".join([_quoted(sys.executable), "-m meetapp serve", *_served_with(options, url)])
    environment = "" if is_file(url) else _ENVIRONMENT
    print(_UNIT.format(user=getpass.getuser(), environment=environment, command=command), end="")
    return 0


def _served_with(options: argparse.Namespace, url: str) -> Iterator[str]:
    if is_file(url):
        yield f"--database {_quoted(str(file_of(url)))}"
    if options.host != EVERY_ADDRESS:
        yield f"--host {_quoted(options.host)}"
    yield f"--port {options.port}"
    if options.workers > 1:
        yield f"--workers {options.workers}"
    yield from (f"--name {_quoted(name)}" for name in options.name)
    if options.certificate is not None:
        yield f"--certificate {_quoted(str(options.certificate.absolute()))}"
        yield f"--key {_quoted(str(options.key.absolute()))}"


def _quoted(word: str) -> str:
    """A word of a command in a unit: in quotes, with what systemd would replace written twice (systemd.service(5))."""
    for special, plain in (("\\", "\\\\"), ('"', '\\"'), ("%", "%%"), ("$", "$$")):
        word = word.replace(special, plain)
    return f'"{word}"'
