"""`latchproof listing`: what to enter into the transmitter, line by line."""

import sys
from argparse import ArgumentParser, Namespace

from latchproof.cli import cache, exits, output
from latchproof.cli.codes import code
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, stage, time_limit
from latchproof.cli.prove import in_order

PATIENCE = 120.0
"""Seconds for each promise: a listing is made once and flown, so it may take its time."""


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    output_format(parser, "text", "markdown", "json")
    colour(parser)
    stage(parser)
    time_limit(parser, PATIENCE)
    cache.cache(parser)
    parser.add_argument("--unproved", action="store_true", help="list at once, marked as not proved yet")


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of
    from latchproof.listing import build
    from latchproof.show import listing_json, listing_markdown, listing_text

    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    verdicts = None
    if not args.unproved:
        machine = pipeline.machine(found.rules)
        with pipeline.workers() as workers:
            arriving = cache.prove(machine, workers, args, args.file, cores())
            arriving = output.progress(arriving, len(machine.properties), "proving")
            verdicts = in_order(tuple(arriving), machine)
    listing = build(found.rules, verdicts, args.stage or "")
    match args.format:
        case "json":
            output.result(listing_json.render(listing))
        case "markdown":
            output.result(listing_markdown.render(listing))
        case _:
            output.result(listing_text.render(listing, output.style(args, sys.stdout)))
    return exits.worst([found.code, *(code(v) for v in verdicts or ())])


COMMAND = Command(
    "listing",
    "list what to enter into the transmitter",
    "Proves the rules, then lists what to enter into the transmitter, in the order to type it.",
    _arguments,
    _execute,
)
