"""`latchproof COMMAND ...`: finds the command, and turns whatever goes wrong into an exit code and one line."""

import contextlib
import os
import sys
from argparse import ArgumentParser
from collections.abc import Sequence
from io import TextIOWrapper
from typing import NoReturn

import latchproof
from latchproof.cli import check, exits, explain, format_, graph, listing, prove, run
from latchproof.cli.command import Command
from latchproof.show.visible import visible

COMMANDS: tuple[Command, ...] = (
    check.COMMAND,
    prove.COMMAND,
    listing.COMMAND,
    run.COMMAND,
    graph.COMMAND,
    format_.COMMAND,
    explain.COMMAND,
)

EPILOG = "exit codes: 0 fine or all proved, 1 a claim fails or the rules have an error, 2 misuse, 3 not decided"


class _Parser(ArgumentParser):
    def error(self, message: str) -> NoReturn:
        super().error(visible(message))


def main(argv: Sequence[str] | None = None) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a letter that the terminal cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    try:
        args = _parser().parse_args(argv)
        command: Command = args.command
        code = command.execute(args)
        sys.stdout.flush()
    except SystemExit as end:  # argparse: 0 after --help and --version, 2 after a wrong option
        return end.code if isinstance(end.code, int) else exits.MISUSE
    except KeyboardInterrupt:
        return exits.INTERRUPTED
    except BrokenPipeError:
        with contextlib.suppress(OSError):  # Python flushes once more at its end: let that go nowhere
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return exits.NO_READER
    except Exception as error:
        return _internal(error)
    return code


def _internal(error: Exception) -> int:
    if os.environ.get("LATCHPROOF_DEBUG") == "1":
        import traceback

        traceback.print_exception(error)
        return exits.MISUSE
    said = visible(str(error))
    what = type(error).__name__ + (f": {said[:200]}" if said else "")
    print(
        f"latchproof: internal error: {what}. Please report it, with the rule file and this line; "
        "LATCHPROOF_DEBUG=1 shows where it happened.",
        file=sys.stderr,
    )
    return exits.MISUSE


def _parser() -> ArgumentParser:
    parser = _Parser(
        prog="latchproof", description="Safety rules for radio-control models: checked, proved, listed.", epilog=EPILOG
    )
    parser.add_argument("--version", action="version", version=f"latchproof {latchproof.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        sub = commands.add_parser(command.name, help=command.help, description=command.description, epilog=EPILOG)
        command.arguments(sub)
        sub.set_defaults(command=command)
    return parser
