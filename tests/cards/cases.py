"""Cards of rule sets, without proofs or with them, for the tests of this room and of its renderers."""

from functools import cache

from latchproof.cards.build import build
from latchproof.cards.given import Given, Staged
from latchproof.cards.model import Cards
from latchproof.hazards.model import Procedure
from latchproof.hazards.report import outcomes
from latchproof.hazards.site import Site
from latchproof.listing.build import build as listed
from latchproof.machine.stage import at_stage
from latchproof.pipeline import check_text
from latchproof.rules import RuleSet
from latchproof.source import Source
from tests.listing.cases import EVERYTHING, EXAMPLES

TEXTS = {p.stem: p for p in EXAMPLES}


@cache
def site_of(name: str) -> Site:
    """An example by its name, or `everything`."""
    if name == "everything":
        checked = check_text(Source("case.latch", 'rules "Case" version "1"\n' + EVERYTHING), EXAMPLES[0].parent)
    else:
        path = TEXTS[name]
        checked = check_text(Source(path.name, path.read_text(encoding="utf-8")), path.parent)
    assert checked.rules is not None, checked.diagnostics
    return Site(checked.rules, checked.sources)


def given(site: Site) -> Given:
    """Nothing is proved."""
    steps = tuple(x for x in outcomes(site) if isinstance(x, Procedure))
    return Given(site, listed(site.rules), tuple(staged(site.rules, site)), steps)


def staged(rules: RuleSet, site: Site) -> list[Staged]:
    found = []
    for s in rules.stages:
        here = at_stage(rules, s.name)
        found.append(Staged(s, Site(here, site.sources), listed(here, None, s.name)))
    return found


@cache
def cards(name: str) -> Cards:
    return build(given(site_of(name)))


NAMES = (*TEXTS, "everything")
