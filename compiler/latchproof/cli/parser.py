"""The commands, and how a command line is read."""

from argparse import ArgumentParser
from typing import NoReturn

import latchproof
from latchproof.cli import (
    audit,
    bench,
    cards,
    check,
    describe,
    explain,
    export,
    format_,
    graph,
    hazards,
    listing,
    prove,
    recheck,
    run,
    strength,
)
from latchproof.cli.command import Command
from latchproof.show.visible import visible

COMMANDS: tuple[Command, ...] = (
    check.COMMAND,
    prove.COMMAND,
    recheck.COMMAND,
    hazards.COMMAND,
    strength.COMMAND,
    describe.COMMAND,
    listing.COMMAND,
    audit.COMMAND,
    bench.COMMAND,
    cards.COMMAND,
    run.COMMAND,
    graph.COMMAND,
    export.COMMAND,
    format_.COMMAND,
    explain.COMMAND,
)

EPILOG = "exit codes: 0 fine or all proved, 1 a claim fails or the rules have an error, 2 misuse, 3 not decided"


class _Parser(ArgumentParser):
    def error(self, message: str) -> NoReturn:
        super().error(visible(message))


def parser() -> ArgumentParser:
    whole = _Parser(
        prog="latchproof", description="Safety rules for radio-control models: checked, proved, listed.", epilog=EPILOG
    )
    whole.add_argument("--version", action="version", version=f"latchproof {latchproof.__version__}")
    commands = whole.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        sub = commands.add_parser(command.name, help=command.help, description=command.description, epilog=EPILOG)
        command.arguments(sub)
        sub.set_defaults(command=command)
    return whole
