"""`latchproof hazards`: the dangers that every rule set may run into, looked for without being asked."""

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, stage, time_limit
from latchproof.show.visible import visible

if TYPE_CHECKING:
    from latchproof.hazards.model import Finding, Outcome
    from latchproof.hazards.site import Site
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules.model import Accepted, RuleSet

CODES = {"fails": exits.FAULT, "not decided": exits.UNDECIDED}
"""What is accepted, for you to do, or not looked for changes no exit code: it is told."""


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    parser.add_argument("--all", action="store_true", help="tell everything in full, also what cannot happen")
    parser.add_argument(
        "--only", action="extend", nargs="+", default=[], type=_hazard, metavar="HNN", help="only these, such as H13"
    )
    output_format(parser, "text", "json")
    colour(parser)
    stage(parser)
    time_limit(parser)
    cache.cache(parser)


def _hazard(text: str) -> str:
    from latchproof.rules.hazards import TITLES

    if text.upper() not in TITLES:
        raise ArgumentTypeError(f"there is no hazard {visible(text)}; they are {min(TITLES)} to {max(TITLES)}")
    return text.upper()


def _execute(args: Namespace) -> int:
    from latchproof.prove.workers import loading

    with loading() as workers:
        from latchproof.cli.rules_of import rules_of
        from latchproof.hazards.catalogue import CHECKS
        from latchproof.hazards.report import outcomes, unneeded
        from latchproof.hazards.site import Site

        read = rules_of(args.file, args)
        if read.rules is None:
            return read.code
        site = Site(read.rules, read.sources)
        wanted = args.only or list(CHECKS)
        asked = outcomes(site, wanted)
        found = list(_told(_findings(site, asked, workers, args), args))
    spare = unneeded(read.rules, [f for several in found for f in several], wanted)
    if args.format == "json":
        from latchproof.show.hazards_json import as_json

        output.result(as_json(args.file, found, spare, read.sources))
    else:
        output.result(_end(found, spare, read.rules, args))
    return exits.worst([read.code, *(_code(f) for several in found for f in several)])


def _code(found: "Finding") -> int:
    from latchproof.cli.codes import code
    from latchproof.show.hazards import state

    if found.verdict is not None and found.verdict.broken:
        return code(found.verdict)
    return CODES.get(state(found), exits.FINE)


def _findings(site: "Site", asked: "Sequence[Outcome]", workers: "Workers", args: Namespace) -> "Iterator[Finding]":
    from latchproof.hazards.report import examine

    def prover(machines: "Sequence[Machine]") -> "Iterator[tuple[int, Verdict]]":
        return cache.prove_each(machines, workers, args, args.file, cores())

    for found in output.progress(examine(site, prover, asked), len(asked), "looking"):
        yield _pastable(found, site, args.file)


def _pastable(found: "Finding", site: "Site", path: str) -> "Finding":
    """Without the ways out that cannot be pasted into this very file, such as one that would make a rule wait for
    itself. (What they change in an included file is taken on trust.)"""
    from latchproof import pipeline
    from latchproof.hazards.edits import apply
    from latchproof.hazards.model import Check, Remedy, Seen
    from latchproof.source import Source

    def reads(remedy: Remedy) -> bool:
        if any(edit.span.source != site.main.name for edit in remedy.edits):
            return True
        text = apply({site.main.name: site.main.text}, [remedy])[site.main.name]
        return pipeline.check_text(Source(site.main.name, text), folder).rules is not None

    if found.state not in ("fails", "not decided") or not isinstance(found.outcome, Check | Seen):
        return found
    folder = Path() if path == "-" else Path(path).parent
    kept = tuple(r for r in found.outcome.remedies if reads(r))
    return replace(found, outcome=replace(found.outcome, remedies=kept))


def _told(found: "Iterable[Finding]", args: Namespace) -> "Iterator[tuple[Finding, ...]]":
    """The findings of each hazard passed on; what fails is written as soon as it is known."""
    from latchproof.show.hazards import bad_news

    for _, several in groupby(found, key=lambda f: f.hazard):
        these = tuple(several)
        if args.format == "text":
            text = bad_news(these, output.style(args, sys.stdout), everything=args.all)
            output.result(text + "\n" if text else "")
        yield these


def _end(found: "Sequence[Sequence[Finding]]", spare: "Sequence[Accepted]", rules: "RuleSet", args: Namespace) -> str:
    from latchproof.show import hazards as shown
    from latchproof.show.verdicts import cautions

    style = output.style(args, sys.stdout)
    open_ = any(shown.worst(several) in CODES for several in found)
    parts = [
        "" if args.all else shown.rest(found, style),
        shown.rests_on(found, rules, style),
        shown.unneeded(spare, style),
        shown.summary(found, style),
        shown.again(found, style),
        "" if open_ else cautions(style),
    ]
    return "\n\n".join(filter(None, parts))


COMMAND = Command(
    "hazards",
    "look for the dangers that every rule set may run into",
    "Looks for forty known dangers of such rules, whether or not the file promises anything about them: proves that "
    "each cannot happen, or shows how it does and what to write instead.",
    _arguments,
    _execute,
)
