"""`latchproof cards`: what to do at the field, and what makes it void."""

import sys
from argparse import ArgumentParser, Namespace
from dataclasses import replace
from typing import TYPE_CHECKING

from latchproof.cards.kinds import KINDS
from latchproof.cli import cache, exits, output, transmitter_of
from latchproof.cli.codes import code
from latchproof.cli.command import Command, colour, cores, output_format, rule_file, time_limit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from latchproof.cards.given import Given, Staged
    from latchproof.cards.kinds import Kind
    from latchproof.cards.model import Cards
    from latchproof.cards.since import Since
    from latchproof.hazards.model import Finding
    from latchproof.hazards.site import Site
    from latchproof.listing.model import Listing
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules import RuleSet
    from latchproof.transmitter.model import Transmitter

PATIENCE = 60.0


def _arguments(parser: ArgumentParser) -> None:
    rule_file(parser)
    transmitter_of.option(parser)
    parser.add_argument("--only", action="append", choices=KINDS, help="this card only; may be given several times")
    parser.add_argument("--since", metavar="OLD", help="an earlier version of the rules: works out what is void by it")
    parser.add_argument(
        "--since-transmitter",
        metavar="NAME-OR-FILE",
        help="the earlier description of the transmitter, if that has changed",
    )
    output_format(parser, "text", "markdown", "html", "json")
    colour(parser)
    time_limit(parser, PATIENCE)
    cache.cache(parser)
    parser.add_argument("--unproved", action="store_true", help="print at once, marked as not proved yet")


def _execute(args: Namespace) -> int:
    from latchproof.cards.build import build
    from latchproof.cli.cards_since import since_of
    from latchproof.cli.rules_of import rules_of
    from latchproof.hazards.site import Site
    from latchproof.prove.workers import loading

    args.stage = None  # the cards speak of all stages
    if args.since_transmitter is not None and args.transmitter is None:
        output.say("latchproof: --since-transmitter is what the transmitter was; --transmitter says what it is now")
        return exits.MISUSE
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    transmitter = None
    if args.transmitter is not None:
        chosen = transmitter_of.chosen(args.transmitter, args)
        if chosen.transmitter is None:
            return exits.worst([found.code, chosen.code])
        transmitter = chosen.transmitter
    only = tuple(k for k in KINDS if k in (args.only or KINDS))
    site = Site(found.rules, found.sources)
    with loading() as workers:
        made = listing(found.rules, transmitter, args, workers)
        if isinstance(made, int):
            return exits.worst([found.code, made])
        first, verdicts = made
        since: Since | None = None
        if args.since is not None or args.since_transmitter is not None:
            compared = since_of(found.rules, transmitter, args, workers)
            if isinstance(compared, int):
                return exits.worst([found.code, compared])
            since = compared
        given, codes = _given(site, first, transmitter, only, args, workers)
    _show(build(given, since, only), args)
    return exits.worst([found.code, *codes, *(code(v) for v in verdicts or ())])


def listing(
    rules: "RuleSet", transmitter: "Transmitter | None", args: Namespace, workers: "Workers"
) -> "tuple[Listing, tuple[Verdict, ...] | None] | int":
    """The same listing that `latchproof listing` prints."""
    from latchproof.cli.listing import listing_of
    from latchproof.cli.listing_on import listing_on

    if transmitter is None:
        return listing_of(rules, args, workers)
    return listing_on(rules, transmitter, args, workers)


def _given(
    site: "Site",
    first: "Listing",
    transmitter: "Transmitter | None",
    only: "Sequence[Kind]",
    args: Namespace,
    workers: "Workers",
) -> "tuple[Given, list[int]]":
    from latchproof.cards.given import Given
    from latchproof.hazards.model import Procedure
    from latchproof.hazards.report import outcomes

    asked = outcomes(site)
    steps = tuple(x for x in asked if isinstance(x, Procedure))
    given = Given(site, first, _stages(site, args, workers, only), steps, transmitter=transmitter)
    codes = [exits.FAULT for s in given.stages if s.left is not None and s.left.open]
    if "officer" in only and not args.unproved:
        from latchproof.cards.bounds import bounds, questions

        verdicts = _proved(questions(site), args, workers, "timing")
        findings = tuple(_findings(site, asked, args, workers))
        given = replace(given, findings=findings, bounds=bounds(site, verdicts))
    return given, codes


def _stages(site: "Site", args: Namespace, workers: "Workers", only: "Sequence[Kind]") -> "tuple[Staged, ...]":
    from latchproof.cards.given import Staged
    from latchproof.cards.warn_only import left, only_claims
    from latchproof.hazards.site import Site
    from latchproof.listing import build
    from latchproof.machine.stage import at_stage

    if not {"officer", "first-flight"} & set(only):
        return ()
    made = []
    for s in site.rules.stages:
        rules = at_stage(site.rules, s.name)
        ask = s.warn_only and not args.unproved
        verdicts = _proved(only_claims(rules, site.rules), args, workers, "proving") if ask else None
        mine = None if verdicts is None else left(verdicts)
        made.append(Staged(s, Site(rules, site.sources), build(rules, None, s.name), mine))
    return tuple(made)


def _proved(rules: "RuleSet", args: Namespace, workers: "Workers", doing: str) -> "tuple[Verdict, ...]":
    from latchproof import pipeline

    if not rules.claims:
        return ()
    wanted = {c.name for c in rules.claims}
    machine = pipeline.machine(rules)
    machine = replace(machine, properties=tuple(p for p in machine.properties if p.name in wanted))
    arriving = cache.prove(machine, workers, args, args.file, cores())
    return tuple(output.progress(arriving, len(machine.properties), doing))


def _findings(site: "Site", asked: "Sequence[object]", args: Namespace, workers: "Workers") -> "Iterator[Finding]":
    from latchproof.hazards.report import examine, outcomes

    def prover(machines: "Sequence[Machine]") -> "Iterator[tuple[int, Verdict]]":
        return cache.prove_each(machines, workers, args, args.file, cores())

    yield from output.progress(examine(site, prover, outcomes(site)), len(asked), "looking")


def _show(cards: "Cards", args: Namespace) -> None:
    from latchproof.show import cards_html, cards_json, cards_markdown, cards_text

    match args.format:
        case "html":
            output.result(cards_html.render(cards).removesuffix("\n"))
        case "markdown":
            output.result(cards_markdown.render(cards).removesuffix("\n"))
        case "json":
            output.result(cards_json.render(cards))
        case _:
            output.result(cards_text.render(cards, output.style(args, sys.stdout)).removesuffix("\n"))


COMMAND = Command(
    "cards",
    "print what to do at the field, and what makes it void",
    "Prints the cards for before a flight, for failsafe and range, for the first flight by stages, one page for the "
    "safety officer, and what makes which of them void. What they say of the rules is proved first.",
    _arguments,
    _execute,
)
