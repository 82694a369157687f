"""`latchproof listing`: what to enter into the transmitter, line by line."""

import sys
from argparse import ArgumentParser, Namespace
from dataclasses import replace
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output, transmitter_of
from latchproof.cli.codes import code
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, stage, time_limit
from latchproof.cli.prove import in_order

if TYPE_CHECKING:
    from collections.abc import Iterable

    from latchproof.listing.model import Listing
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.readback.model import Problem
    from latchproof.rules import RuleSet

PATIENCE = 120.0
"""Seconds for each promise: a listing is made once and flown, so it may take its time."""
AT_LEAST = 30
MORE = 4
"""Times as long may be worth trying."""
READ_BACK = "Read back from what is printed here, it does exactly what the rules do: that is proved."
ABOUT = (
    "Numbers called `about` are rounded here. What is printed was read back, and the promises are those of what is "
    "printed."
)


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    transmitter_of.option(parser)
    output_format(parser, "text", "markdown", "html", "csv", "json")
    colour(parser)
    stage(parser)
    time_limit(parser, PATIENCE)
    cache.cache(parser)
    parser.add_argument("--unproved", action="store_true", help="list at once, marked as not proved yet")
    parser.add_argument(
        "--hazards", action="store_true", help="look for the known dangers in what is listed, too (takes longer)"
    )


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.listing_dangers import with_dangers
    from latchproof.cli.listing_on import listing_on
    from latchproof.cli.listing_stage import to_prove, told
    from latchproof.cli.rules_of import rules_of

    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    transmitter, codes = None, [found.code]
    if args.transmitter is not None:
        chosen = transmitter_of.chosen(args.transmitter, args)
        transmitter, codes = chosen.transmitter, [found.code, chosen.code]
        if transmitter is None:
            return exits.worst(codes)
    rules = to_prove(found.rules, found, args)
    if args.hazards and args.unproved:
        output.say("latchproof: dangers are looked for by proof: leave out --hazards or --unproved")
        return exits.MISUSE
    asked: list[RuleSet] = []
    with pipeline.workers() as workers:
        if transmitter is None:
            made = listing_of(rules, args, workers, asked)
        else:
            made = listing_on(rules, transmitter, args, workers, asked)
        if isinstance(made, int):
            return exits.worst([*codes, made])
        made = told(made, found, args, workers)
        if args.hazards:
            listing, dangerous = with_dangers(made[0], asked, found.sources, args, workers)
            made, codes = (listing, made[1]), [*codes, dangerous]
    return exits.worst([*codes, shown(*made, args)])


def listing_of(
    rules: "RuleSet", args: Namespace, workers: "Workers", asked: "list[RuleSet] | None" = None
) -> "tuple[Listing, tuple[Verdict, ...] | None] | int":
    """The listing, and the verdicts on its promises if they were looked at; else the exit code of what went wrong.

    What they were asked of is added to `asked`.
    """
    from latchproof.listing import build
    from latchproof.readback.equal import Equal, equal
    from latchproof.readback.pinned import pinned
    from latchproof.readback.raised import raised
    from latchproof.readback.values import rounded_when_printed

    listing = build(rules, None, args.stage or "")
    back = raised(listing.entries, rules)
    if isinstance(back, tuple):
        return broken(back)
    about = rounded_when_printed(listing.entries)
    if not about:
        compared = equal(pinned(rules), back, workers, patience(args))
        if not isinstance(compared, Equal):
            return not_equal(compared, args)
    verdicts = None
    if not args.unproved:
        of = back if about else rules
        if asked is not None:
            asked.append(of)
        verdicts = proved(of, args, workers)
        listing = build(rules, verdicts, args.stage or "")
    return replace(listing, read_back=ABOUT if about else READ_BACK), verdicts


def proved(rules: "RuleSet", args: Namespace, workers: "Workers") -> "tuple[Verdict, ...]":
    """The verdicts on all promises, in the order of the file."""
    from latchproof import pipeline

    machine = pipeline.machine(rules)
    arriving = cache.prove(machine, workers, args, args.file, cores())
    return in_order(tuple(output.progress(arriving, len(machine.properties), "proving")), machine)


def shown(listing: "Listing", verdicts: "Iterable[Verdict] | None", args: Namespace) -> int:
    from latchproof.show import listing_csv, listing_html, listing_json, listing_markdown, listing_text

    match args.format:
        case "csv":
            output.result(listing_csv.render(listing))
        case "json":
            output.result(listing_json.render(listing))
        case "html":
            output.result(listing_html.render(listing).removesuffix("\n"))
        case "markdown":
            output.result(listing_markdown.render(listing))
        case _:
            output.result(listing_text.render(listing, output.style(args, sys.stdout)))
    stopped = listing.on is not None and bool(listing.on.stops)
    return exits.worst([exits.FAULT if stopped else exits.FINE, *(code(v) for v in verdicts or ())])


def broken(problems: "tuple[Problem, ...]") -> int:
    """A listing of our own that cannot be read back is a fault of this program."""
    for p in problems[:5]:
        output.say(f"latchproof: internal error: entry {p.entry}, {p.field or 'as a whole'}: {p.message}")
    return not_equal(None)


def patience(args: Namespace) -> float:
    """Seconds for the proof that what is printed is what the rules do; without it nothing is printed."""
    return float(max(args.time_limit, AT_LEAST))


def not_equal(compared: object, args: Namespace | None = None) -> int:
    """Nothing is printed that was not proved to be what the rules say."""
    from latchproof.readback.equal import Differ, Open

    match compared:
        case Open(reason=reason, fault=False):
            output.say(f"latchproof: it is not settled that the listing does what the rules do: {reason}")
            longer = "" if args is None else f" {MORE * patience(args):.0f}"
            output.say(f"Nothing is listed. More time may help: try --time-limit{longer}, on a computer that is idle.")
            return exits.UNDECIDED
        case Differ(outputs=outputs):
            output.say(f"latchproof: internal error: the listing does something else: {', '.join(outputs)}")
        case Open(reason=reason):
            output.say(f"latchproof: internal error: the listing could not be proved to do what the rules do: {reason}")
        case _:
            pass
    output.say("Nothing is listed. Please report this, with the rule file.")
    return exits.MISUSE


COMMAND = Command(
    "listing",
    "list what to enter into the transmitter",
    "Proves the rules, then lists what to enter into the transmitter, in the order to type it. The list is read back "
    "and proved to do exactly what the rules do before it is printed.",
    _arguments,
    _execute,
)
