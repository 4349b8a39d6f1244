"""The commands that start the server: serve and demo; and migrate for a database server."""

import argparse
import os
import signal
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import segno

from meetapp import demo
from meetapp.certificates import check_certificate
from meetapp.config import DATABASE_URL, DEFAULT_PORT, Settings, data_folder, default_database_path
from meetapp.flows import access
from meetapp.serving import hold_database, listen, own_addresses, prepare_database, run
from meetapp.steady_clock import utc_now
from meetapp.store.engine import Store, file_of, is_file, sqlite_url
from meetapp.store.forward import CantOpen, newest_revision
from meetapp.store.server_database import migrate_server
from meetapp.web.hosts import host_of
from meetapp.workers import MOST, check_count, run_workers

EVERY_ADDRESS = "0.0.0.0"


def add_commands(commands: "argparse._SubParsersAction[Any]") -> None:
    """Put serve, demo and migrate on the command line."""
    serve = commands.add_parser("serve", help="start the tool on the club's own database")
    add_address(serve)
    add_database_option(serve)
    add_serving_options(serve)
    serve.set_defaults(run=run_serve)
    trial = commands.add_parser("demo", help="start the tool on an invented club with a meet under way")
    add_address(trial)
    _add_names(trial)
    trial.set_defaults(run=run_demo)
    migrate = commands.add_parser("migrate", help="bring the tables of the database forward to this version")
    add_database_option(migrate)
    migrate.set_defaults(run=run_migrate)


def add_address(parser: argparse.ArgumentParser) -> None:
    """The options that say where the server listens."""
    parser.add_argument("--host", default=EVERY_ADDRESS, help="the address to listen on (default: all of this machine)")
    parser.add_argument("--port", type=port, default=DEFAULT_PORT, help=f"the port (default {DEFAULT_PORT})")


def _add_names(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--name", action="append", default=[], type=_name, help="a further name under which it answers")
    parser.add_argument("--certificate", type=Path, help="the server's certificate, a PEM file: pages go encrypted")
    parser.add_argument("--key", type=Path, help="the certificate's key, a PEM file")


def add_serving_options(parser: argparse.ArgumentParser) -> None:
    """The options that say how a club of one's own is served."""
    parser.add_argument("--workers", type=_workers, default=1, help="how many processes (default 1; PostgreSQL only)")
    _add_names(parser)


def add_database_option(parser: argparse.ArgumentParser) -> None:
    """The option that names the club's file."""
    parser.add_argument(
        "--database",
        help=f"the club's file or database address (else {DATABASE_URL}, else MEETAPP_DATABASE, else the usual file)",
    )


def port(text: str) -> int:
    """A port typed on the command line."""
    if not text.isdecimal() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"'{text}' is no port: give a number from 1 to 65535")
    return int(text)


def _name(text: str) -> str:
    if host_of([text]) != text.lower():
        raise argparse.ArgumentTypeError(f"'{text}' is no name: give one such as meet.example, without a port")
    return text


def _workers(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= MOST:
        raise argparse.ArgumentTypeError(f"'{text}' is no number of processes: give one from 1 to {MOST}")
    return int(text)


def database_url(options: argparse.Namespace) -> str:
    """The database that was asked for: the option, else MEETAPP_DATABASE_URL, else the usual file."""
    return url_of(options.database or os.environ.get(DATABASE_URL) or str(default_database_path()))


def url_of(named: str) -> str:
    """The URL of a database that is named by its file or by its address."""
    return named if "://" in named else sqlite_url(Path(named).expanduser().absolute())


def _settings(options: argparse.Namespace, url: str) -> Settings:
    return Settings(
        url,
        options.host,
        options.port,
        names=tuple(options.name),
        certificate=options.certificate,
        key=options.key,
    )


def run_serve(options: argparse.Namespace) -> int:
    """Start on the club's own database."""
    url = database_url(options)
    try:
        check_count(options.workers, url)
        check_certificate(options.certificate, options.key)
        with listen(options.host, options.port) as taken, hold_database(url):
            copy = prepare_database(url, utc_now())
            if copy is not None:
                print(f"The database was brought forward to this version. The old one is kept as {copy}")
            settings = _settings(options, url)
            if options.workers > 1:
                run_workers(settings, taken, options.workers, _announce)
            else:
                run(settings, taken, _announce)
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def run_demo(options: argparse.Namespace) -> int:
    """Start on a throwaway copy of an invented club; it is gone when the server stops."""
    try:
        check_certificate(options.certificate, options.key)
        with listen(options.host, options.port) as taken, _throwaway_folder() as folder:
            url = sqlite_url(folder / "demo.db")
            with hold_database(url):
                prepare_database(url, utc_now())
                links = demo.make_demo(url, utc_now())
                settings = replace(_settings(options, url), is_demo=True)
                run(settings, taken, lambda running: _announce_demo(running, links))
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    return 0


@contextmanager
def _throwaway_folder() -> Iterator[Path]:
    # Without a handler the signal ends the process before the folder is gone.
    signal.signal(signal.SIGTERM, lambda number, _frame: sys.exit(128 + number))
    with tempfile.TemporaryDirectory(prefix="meet-demo-") as folder:
        yield Path(folder)


def run_migrate(options: argparse.Namespace) -> int:
    """Bring the tables forward: a file after a verified copy, a server in one transaction."""
    url = database_url(options)
    try:
        if is_file(url):
            is_new = not file_of(url).exists()
            with hold_database(url):
                copy = prepare_database(url, utc_now())
            print(f"Done. The old file is kept as {copy}" if copy else "Done.")
            if is_new:
                print(f"There was no file {file_of(url)}: a new club begins there. Is that the name you meant?")
            return 0
        migrate_server(url, data_folder("migrations"))
    except CantOpen as error:
        print(error, file=sys.stderr)
        return 1
    print(f"Done: the tables are at {newest_revision(data_folder('migrations'))}.")
    return 0


def _bases(settings: Settings) -> list[str]:
    # A certificate is made out to a name: under a plain address each phone would warn.
    hosts = settings.names[:1] if settings.certificate else ()
    return [f"{settings.scheme}://{host}:{settings.port}" for host in (*hosts, *own_addresses(settings.host))]


def _show_code(address: str) -> None:
    segno.make(address, error="m").terminal(compact=True)


def _announce(settings: Settings) -> None:
    store = Store(settings.database_url)
    secret = access.new_first_visit_link(store, utc_now())
    store.close()
    base = _bases(settings)[0]
    if secret is not None:
        print("This club has no name yet. Open this address once to name it and to set the organiser's password:")
        print(f"  {base}/first-visit/{secret}")
        _show_code(f"{base}/first-visit/{secret}")
        if is_file(settings.database_url):
            where = file_of(settings.database_url)
            print(f"It is kept in {where}. Where yours is in another file, stop and name that with --database.")
    else:
        print("The tool is running. On phones in the same network:")
        print(f"  pilots  {base}/join\n  desk    {base}/desk\n  board   {base}/board\n  organiser {base}/organiser")
        _show_code(f"{base}/join")
    print("Stop it with Ctrl+C.", flush=True)


def _announce_demo(settings: Settings, links: demo.DemoLinks) -> None:
    base = _bases(settings)[0]
    print("The demo club is running on a throwaway copy: nothing you do here is kept.\n")
    print(f"  organiser  {base}/sign-in   password: {links.password}")
    print(f"  marshal    {base}/desk/join/{links.desk_secret}   (or PIN {links.pin} at {base}/desk)")
    print(f"  pilot      {base}/my/{links.pilot_secret}   ({links.pilot_name})")
    print(f"  join       {base}/join   (as a pilot who comes with a phone)")
    print(f"  board      {base}/board\n")
    print("Marshal's phone:")
    _show_code(f"{base}/desk/join/{links.desk_secret}")
    print("Pilot's phone:")
    _show_code(f"{base}/my/{links.pilot_secret}")
    print("Stop it with Ctrl+C.", flush=True)
