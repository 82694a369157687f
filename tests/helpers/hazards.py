"""Rule texts looked at for hazards, for tests: what was asked, what came of it, and the text after a remedy."""

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

from latchproof.hazards import edits
from latchproof.hazards.model import Check, Finding, Outcome, Remedy, Seen
from latchproof.hazards.report import examine, outcomes
from latchproof.hazards.site import Site
from latchproof.machine.model import Machine
from latchproof.pipeline import check_text
from latchproof.prove.prover import prove_each
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.source import Source
from tests.helpers.rules import ROOT

SECONDS = 60.0
"""For each check. They take a fraction of one when the machine has nothing else to do."""
WORSE = ("proved", "not applicable", "procedure", "not named", "not decided", "fails")
"""States from good to bad."""


def site_of(text: str, folder: Path = ROOT, name: str = "test.latch") -> Site:
    checked = check_text(Source(name, text), folder)
    assert checked.rules is not None, "\n".join([text, *(f"{d.code}: {d.title}" for d in checked.diagnostics)])
    return Site(checked.rules, checked.sources)


def findings(site: Site, hazards: Iterable[str], workers: Workers) -> tuple[Finding, ...]:
    """What comes of these hazards in the rule set, every check proved or shown to fail."""

    def prover(machines: Sequence[Machine]) -> Iterator[tuple[int, Verdict]]:
        return prove_each(machines, workers, time_limit=SECONDS, at_once=2)

    return tuple(examine(site, prover, outcomes(site, hazards)))


def remedies_of(outcome: Outcome) -> tuple[Remedy, ...]:
    return outcome.remedies if isinstance(outcome, Check | Seen) else ()


def mended(site: Site, remedies: Iterable[Remedy]) -> str:
    """The text of the rule file itself after these remedies."""
    texts = {name: source.text for name, source in site.sources.items()}
    return edits.apply(texts, remedies)[site.main.name]


def worst(found: Iterable[Finding]) -> dict[tuple[str, str], int]:
    """For each hazard and what it was looked for in: how bad it is, the higher the worse."""
    bad: dict[tuple[str, str], int] = {}
    for f in found:
        key = (f.hazard, f.about)
        bad[key] = max(bad.get(key, 0), WORSE.index(f.state))
    return bad
