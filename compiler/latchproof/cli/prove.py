"""`latchproof prove`: is what the rules promise true, always? If not: how not."""

import math
import os
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, output_format, rule_files
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.source import Source

TIME_LIMIT = 20.0

CODES = {"proved": exits.FINE, "refuted": exits.FAULT, "unknown": exits.UNDECIDED}


def _arguments(parser: ArgumentParser) -> None:
    rule_files(parser)
    output_format(parser, "text", "concise", "json")
    colour(parser)
    parser.add_argument(
        "--time-limit",
        type=_seconds,
        default=TIME_LIMIT,
        metavar="SECONDS",
        help=f"for each promise; then it is not decided (default: {TIME_LIMIT:.0f})",
    )


def _seconds(text: str) -> float:
    try:
        seconds = float(text.removesuffix("s"))
    except ValueError:
        seconds = 0.0
    if not 0 < seconds < math.inf:
        raise ArgumentTypeError(f"{visible(text)} is no time above 0, such as 20")
    return seconds


def _execute(args: Namespace) -> int:
    from latchproof import pipeline

    codes = []
    proved: list[tuple[str, Machine | None, Sequence[Verdict]]] = []
    for path in args.files:
        checked = pipeline.check(path)
        output.report(checked.diagnostics, checked.sources, args, sys.stderr)
        codes.append(output.exit_code(checked.diagnostics))
        if checked.rules is None:
            proved.append((path, None, ()))
            continue
        if len(args.files) > 1 and args.format == "text":
            output.result(f"{visible(path)}\n")
        machine = pipeline.machine(checked.rules)
        verdicts = tuple(_shown(pipeline.prove(machine, args.time_limit, _cores()), machine, checked.sources, args))
        proved.append((path, machine, _in_order(verdicts, machine)))
        codes += [CODES[v.answer] for v in verdicts]
    if args.format == "json":
        from latchproof.show.verdicts_json import as_json

        output.result(as_json(proved))
    return exits.worst(codes)


def _shown(
    verdicts: "Iterator[Verdict]", machine: "Machine", sources: "Mapping[str, Source]", args: Namespace
) -> "Iterator[Verdict]":
    """Passes the verdicts on; what is to be seen of each is written as it arrives."""
    from latchproof.show import verdicts as shown

    progress = output.Progress(len(machine.properties))
    seen = []
    for verdict in progress.over(verdicts):
        seen.append(verdict)
        if args.format == "text":
            output.result(shown.render(verdict, machine, output.style(args, sys.stdout)) + "\n")
        elif args.format == "concise":
            output.result(shown.concise(verdict, machine, sources))
        yield verdict
    if args.format == "text":
        output.result(shown.report_end(seen, output.style(args, sys.stdout)))


def _in_order(verdicts: "Sequence[Verdict]", machine: "Machine") -> "tuple[Verdict, ...]":
    """In the order of the rule file, not that in which they were found."""
    place = {p.name: i for i, p in enumerate(machine.properties)}
    return tuple(sorted(verdicts, key=lambda v: place[v.claim]))


def _cores() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


COMMAND = Command(
    "prove",
    "prove what the rules promise, or show how it fails",
    "Proves what the rules promise, for every flight that their facts allow, or shows how it fails.",
    _arguments,
    _execute,
)
