"""`latchproof audit`: what stands in the transmitter, held against the listing, and what each difference comes to."""

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output, transmitter_of
from latchproof.cli.command import Command, colour, cores, output_format, stage, time_limit

if TYPE_CHECKING:
    from latchproof.cli.rules_of import Found
    from latchproof.listing.model import Listing
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.readback.audit import AsListed, Audit, Ground, Outcome_
    from latchproof.readback.differences import Difference
    from latchproof.readback.form import Form
    from latchproof.rules import RuleSet
    from latchproof.transmitter.model import Transmitter


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("file", metavar="RULES", help="the rule file that the listing was made of")
    parser.add_argument(
        "entered",
        metavar="AS-ENTERED",
        help="the form, filled in: what `latchproof listing RULES --format csv` wrote, or the listing as text; - is "
        "standard input",
    )
    transmitter_of.option(parser)
    output_format(parser, "text", "json")
    colour(parser)
    stage(parser)
    time_limit(parser)
    cache.cache(parser)
    parser.set_defaults(unproved=True)  # the listing is only made again, not proved


def _execute(args: Namespace) -> int:
    from latchproof import pipeline
    from latchproof.cli.rules_of import rules_of
    from latchproof.diagnostics import Diagnostic
    from latchproof.readback.audit import Ground
    from latchproof.readback.differences import differences
    from latchproof.readback.form import Form, form
    from latchproof.show import audit as show
    from latchproof.source.read import read_bytes

    if args.file == "-" and args.entered == "-":
        output.say("latchproof: only one of RULES and AS-ENTERED can be standard input")
        return exits.MISUSE
    found = rules_of(args.file, args)
    if found.rules is None:
        return found.code
    transmitter = None
    if args.transmitter is not None:
        chosen = transmitter_of.chosen(args.transmitter, args)
        transmitter = chosen.transmitter
        if transmitter is None:
            return exits.worst([found.code, chosen.code])
    data = read_bytes(args.entered)
    if isinstance(data, Diagnostic):
        output.report((data,), {}, args, sys.stderr)
        return exits.MISUSE
    with pipeline.workers() as workers:
        listed = _listing(found.rules, transmitter, args, workers)
        if isinstance(listed, int):
            return listed
        listing, rules = listed
        filled = form(data, listing)
        if not isinstance(filled, Form):
            output.say(show.refused(filled, args.entered))
            return exits.MISUSE
        differ = differences(filled, listing)
        prover = _Prover(rules, args, workers)
        ground = Ground(listing, rules, found.sources, workers, prover, transmitter, args.time_limit)
        style = output.style(args, sys.stdout)
        kept = _kept(ground, found, args, workers)
        if args.format == "text":
            if amiss := show.as_listed(kept, style):
                output.result(amiss + "\n")
            output.result(show.head(listing, filled, len(differ), style) + "\n")
        whole = _judged(ground, differ, args)
    if args.format == "json":
        from latchproof.show.audit_json import as_json

        output.result(as_json(args.file, args.entered, listing, filled, kept, whole))
    else:
        output.result(show.end(whole, listing, filled, style))
    return exits.worst([found.code, prover.code, *_of_listing(kept), *_unread(filled), *_codes(whole)])


def _listing(
    rules: "RuleSet", transmitter: "Transmitter | None", args: Namespace, workers: "Workers"
) -> "tuple[Listing, RuleSet] | int":
    """The listing that the form was made of, made again, and the rules that it was made of."""
    if transmitter is None:
        from latchproof.cli.listing import listing_of

        made = listing_of(rules, args, workers)
        return made if isinstance(made, int) else (made[0], rules)
    from latchproof.cli.listing_on import listing_on
    from latchproof.fit.fit import fit
    from latchproof.readback.sheet import as_shown
    from latchproof.transmitter.variants import on

    made = listing_on(rules, transmitter, args, workers)
    if isinstance(made, int):
        return made
    there = as_shown(fit(rules, transmitter).rules, transmitter)
    first = on(there, transmitter)[0]  # only how entries are read and how long a pass is; `Ground` asks every device
    return made[0], replace(there, device=first.device, cycle=first.cycle)


class _Prover:
    """Proves with what is known of the rule file; keeps what it finds apart from that. `code`: of a fault of ours."""

    def __init__(self, rules: "RuleSet", args: Namespace, workers: "Workers") -> None:
        from latchproof import pipeline

        self.args, self.workers, self.code = args, workers, exits.FINE
        machine = pipeline.machine(rules)
        shelf = cache.shelf_of(machine, args, args.file)
        kept = {p.name: None if shelf is None else shelf.lately(p.name) for p in machine.properties}
        self.hints = {name: k for name, k in kept.items() if k is not None}

    def __call__(self, machines: "Sequence[Machine]") -> "Iterator[tuple[int, Verdict]]":
        from latchproof.cli.codes import code

        there = f"{self.args.file} as entered"
        for place, v in cache.prove_each(machines, self.workers, self.args, there, cores(), self.hints):
            if v.broken:
                self.code = code(v)
            yield place, v


def _judged(ground: "Ground", differ: "Sequence[Difference]", args: Namespace) -> "Audit":
    """Each difference is written as soon as it is judged."""
    from latchproof.readback.audit import Audit, audit
    from latchproof.show import audit as show

    style = output.style(args, sys.stdout)
    for count, found in enumerate(output.progress(audit(ground, differ), len(differ) + 1, "judging"), 1):
        if isinstance(found, Audit):
            return found
        if args.format == "text":
            output.result(show.judged(found, count, ground.listing, style) + "\n")
    raise AssertionError("an audit ends with its whole")


def _kept(ground: "Ground", found: "Found", args: Namespace, workers: "Workers") -> "AsListed":
    """What the listing comes to; a stage that only warns is not blamed for what the full rules are proved to do."""
    from latchproof.cards.warn_only import is_warn_only
    from latchproof.cli.listing import proved

    if found.whole is None or not ground.as_listed.fails or not is_warn_only(found.whole, args.stage):
        return ground.as_listed
    failing = {v.claim for v in ground.known.values() if v.answer == "refuted"}
    asked = replace(found.whole, claims=tuple(c for c in found.whole.claims if c.name in failing))
    return ground.without({v.claim for v in proved(asked, args, workers) if v.answer == "proved"})


def _of_listing(kept: "AsListed") -> "Iterator[int]":
    """What the listing does not keep counts, whatever was typed."""
    if kept.fails:
        yield exits.FAULT
    if kept.open:
        yield exits.UNDECIDED


def _unread(filled: "Form") -> "Iterator[int]":
    """What nobody read back is not as listed, only not known to be anything else."""
    if filled.unread:
        yield exits.UNDECIDED


def _codes(whole: "Audit") -> "Iterator[int]":
    for judged in whole.each:
        yield _code(judged.outcome)
    yield _code(whole.together)
    if whole.against:
        yield exits.FAULT


def _code(outcome: "Outcome_ | None") -> int:
    from latchproof.show.audit import verdict

    if outcome is None:
        return exits.FINE
    return {"harmless": exits.FINE, "not decided": exits.UNDECIDED}.get(verdict(outcome), exits.FAULT)


COMMAND = Command(
    "audit",
    "hold what the transmitter shows against the listing",
    "Reads a filled-in form (`latchproof listing RULES --format csv` makes it), names every difference from the "
    "listing, and proves what it comes to: nothing, something else that keeps every promise, or danger, with a flight "
    "that shows it. What the listing itself does not keep is told first. Exit code: 0 all is read back, and is as "
    "listed or shows nothing; 1 something differs, or the listing does not keep a promise; 2 the form was refused; 3 "
    "something is not read back yet, or not decided.",
    _arguments,
    _execute,
)
