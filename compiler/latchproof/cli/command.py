"""What a command is, and the options that several commands share."""

import math
import os
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable
from dataclasses import dataclass

from latchproof.show.visible import visible

TIME_LIMIT = 20.0


@dataclass(frozen=True, slots=True)
class Command:
    """`execute` gives the exit code."""

    name: str
    help: str
    description: str
    arguments: Callable[[ArgumentParser], None]
    execute: Callable[[Namespace], int]


def cores() -> int:
    """How many processes can run at once."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def rule_files(parser: ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="a rule file; - is standard input")


def rule_file(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="FILE", help="a rule file; - is standard input")


def stage(parser: ArgumentParser) -> None:
    parser.add_argument("--stage", metavar="NAME", help="take the rules as they stand in this stage of the file")


def time_limit(parser: ArgumentParser, default: float = TIME_LIMIT) -> None:
    parser.add_argument(
        "--time-limit",
        type=_seconds,
        default=default,
        metavar="SECONDS",
        help=f"for each promise; then it is not decided (default: {default:.0f})",
    )


def _seconds(text: str) -> float:
    try:
        seconds = float(text.removesuffix("s"))
    except ValueError:
        seconds = 0.0
    if not 0 < seconds < math.inf:
        raise ArgumentTypeError(f"{visible(text)} is no time above 0, such as 20")
    return seconds


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
