"""The command line: `meetapp <command>`. Each group of commands lives in a module of its own."""

import argparse
import os
import re
import sys
from collections.abc import Sequence
from typing import NoReturn

from meetapp import __version__, cli_heats, cli_spectrum
from meetapp.cli_files import BAD_INPUT

STOPPED_BY_KEYBOARD = 130  # what shells report for a program that was interrupted
READER_LEFT = 141  # what shells report for a program whose output nobody reads any more


class _BadUsage(Exception):
    """The command line can't be read; the text is a sentence for a person."""


class _Parser(argparse.ArgumentParser):
    """Tells what is wrong in one plain sentence instead of a usage text."""

    def error(self, message: str) -> NoReturn:
        raise _BadUsage(f"{_in_plain_words(message)}; {_help_of(self.prog)}")


def _help_of(command: str) -> str:
    return f"'{command} --help' lists what there is."


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 can't be done, 2 not understood."""
    words = sys.argv[1:] if argv is None else list(argv)
    try:
        options, unknown = _parser(words).parse_known_args(words)
        if unknown:  # here and not by argparse, which would send people to the help of the whole program
            raise _BadUsage(f"Not understood: {' '.join(unknown)}; {_help_of(f'meetapp {options.command}')}")
        code: int = options.run(options)
        sys.stdout.flush()  # here, where a reader that has left can still be noticed
    except _BadUsage as error:
        print(error, file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # Python flushes once more at its end; what is left goes nowhere then.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return READER_LEFT
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return STOPPED_BY_KEYBOARD
    except SystemExit as done:  # argparse ends --help and --version this way
        return done.code if isinstance(done.code, int) else 0
    return code


def _parser(words: Sequence[str]) -> argparse.ArgumentParser:
    parser = _Parser(prog="meetapp", description="Runs the video channels of a flying meet.", allow_abbrev=False)
    parser.add_argument("--version", action="version", version=f"meetapp {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="command", required=True)
    cli_spectrum.add_commands(commands)
    cli_heats.add_commands(commands)
    if words[:1] not in (["pick"], ["inspect"], ["heats"]):
        # The server takes a second to load, and the sums don't need it.
        from meetapp import cli_explain, cli_keep, cli_meet_files, cli_move, cli_serve, cli_simulate

        cli_serve.add_commands(commands)
        cli_meet_files.add_commands(commands)
        cli_keep.add_commands(commands)
        cli_move.add_commands(commands)
        cli_explain.add_commands(commands)
        cli_simulate.add_commands(commands)
    return parser


def _in_plain_words(message: str) -> str:
    """An error of argparse in words of our own, without the full stop."""
    message = re.sub(r"^argument (\S+): ", r"\1: ", message)
    if match := re.fullmatch(r"(\S+): expected .*", message):
        return f"{match[1]} needs a value behind it"
    if match := re.fullmatch(r"the following arguments are required: (.*)", message):
        return f"Missing: {match[1]}"
    if match := re.fullmatch(r"\S+: invalid choice: ('.*?') .*", message):
        return f"There is no {match[1]}"
    if match := re.fullmatch(r"(\S+): invalid int value: ('.*')", message):
        return f"{match[2]} is no whole number ({match[1]})"
    return message.rstrip(".")
