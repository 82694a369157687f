"""The known dangers, looked for in what a listing says: of the rule file where its proofs hold, else of what is
printed."""

from argparse import Namespace
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import TYPE_CHECKING

from latchproof.cli import cache, exits, output
from latchproof.cli.command import cores

if TYPE_CHECKING:
    from latchproof.hazards.model import Finding
    from latchproof.listing.model import Listing
    from latchproof.machine.model import Machine
    from latchproof.prove.verdicts import Verdict
    from latchproof.prove.workers import Workers
    from latchproof.rules import RuleSet
    from latchproof.source import Source

CODES = {"fails": exits.FAULT, "not decided": exits.UNDECIDED}


def with_dangers(
    listing: "Listing", asked: "Sequence[RuleSet]", sources: "Mapping[str, Source]", args: Namespace,
    workers: "Workers",
) -> "tuple[Listing, int]":  # fmt: skip
    """The listing with what came of each danger, the worst over all kinds of transmitter, and the exit code."""
    from latchproof.listing.model import Danger
    from latchproof.rules.hazards import TITLES
    from latchproof.show.hazards import GRAVEST, worst

    states: dict[str, str] = {}
    for rules in asked:
        found = tuple(_findings(rules, sources, args, workers))
        for hazard, several in groupby(found, key=lambda f: f.hazard):
            here = worst(tuple(several))
            before = states.get(hazard, here)
            states[hazard] = min((here, before), key=list(GRAVEST).index)
    dangers = tuple(Danger(h, TITLES[h], state) for h, state in sorted(states.items()))
    return replace(listing, dangers=dangers), exits.worst(CODES.get(s, exits.FINE) for s in states.values())


def _findings(
    rules: "RuleSet", sources: "Mapping[str, Source]", args: Namespace, workers: "Workers"
) -> "Iterator[Finding]":
    from latchproof.hazards.report import examine, outcomes
    from latchproof.hazards.site import Site
    from latchproof.readback.desk import WHERE
    from latchproof.readback.raised import MOST_ENTRIES
    from latchproof.source import Source

    site = Site(rules, {**sources, WHERE: Source(WHERE, "\n" * (MOST_ENTRIES + 2))})
    asked = outcomes(site)

    def prover(machines: "Sequence[Machine]") -> "Iterator[tuple[int, Verdict]]":
        return cache.prove_each(machines, workers, args, args.file, cores())

    yield from output.progress(examine(site, prover, asked), len(asked), "looking")
