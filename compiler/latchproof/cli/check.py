"""`latchproof check`: is the file well written? Nothing is proved yet."""

import sys
from argparse import ArgumentParser, Namespace

from latchproof.cli import exits, output
from latchproof.cli.command import Command, colour, output_format, rule_files
from latchproof.diagnostics import Diagnostic
from latchproof.source import Source


def _arguments(parser: ArgumentParser) -> None:
    rule_files(parser)
    output_format(parser, "text", "concise", "json")
    colour(parser)


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.show.diagnostics import as_json

    found: list[Diagnostic] = []
    sources: dict[str, Source] = {}
    codes = []
    for path in args.files:
        checked = pipeline.check(path)
        if args.format != "json":
            output.report(checked.diagnostics, checked.sources, args, sys.stdout)
        found += checked.diagnostics
        sources |= checked.sources
        codes.append(output.exit_code(checked.diagnostics))
    if args.format == "json":
        output.result(as_json(found, sources))
    elif args.format == "text":
        output.say(output.summary(found, len(args.files)))
    return exits.worst(codes)


COMMAND = Command(
    "check",
    "read rule files and say what is wrong with them",
    "Reads rule files and says what is wrong with them. Proves nothing: that is `latchproof prove`.",
    _arguments,
    _execute,
)
