"""What a command is, and the options that several commands share."""

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Command:
    """`execute` gives the exit code."""

    name: str
    help: str
    description: str
    arguments: Callable[[ArgumentParser], None]
    execute: Callable[[Namespace], int]


def rule_files(parser: ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="a rule file; - is standard input")


def rule_file(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a rule file; - is standard input")


def output_format(parser: ArgumentParser, *choices: str) -> None:
    parser.add_argument(
        "--format", choices=choices, default=choices[0], help=f"how to write the result (default: {choices[0]})"
    )


def colour(parser: ArgumentParser) -> None:
    parser.add_argument(
        "--color",
        choices=("auto", "always", "never"),
        default="auto",
        help="colours; auto: on a terminal, unless NO_COLOR is set",
    )
