"""Whatever the rules are, every hazard has an answer, its checks can be put to the prover, and its remedies be read."""

from collections import Counter

import pytest

from latchproof.hazards.catalogue import CHECKS
from latchproof.hazards.model import Check
from latchproof.hazards.report import machines, outcomes
from latchproof.hazards.site import Site
from latchproof.pipeline import check_text
from latchproof.source import Source
from tests.helpers.generate import generate
from tests.helpers.hazards import mended, remedies_of
from tests.helpers.rules import ROOT

READ = ("H03", "H05", "H06", "H07", "H08", "H09", "H10", "H11")
"""Hazards whose remedies speak of sensors only. One that puts a role's signal into a rule may lead round in a circle,
where that signal reads what the rule does: nobody arms a guard by what it does, but these rule sets do."""


@pytest.mark.parametrize("seed", range(60))
def test_every_hazard_has_an_answer(seed: int) -> None:
    source = Source("test.latch", generate(1000 + seed, devices=seed % 2 == 0))
    checked = check_text(source, ROOT)
    if checked.rules is None:
        pytest.skip("a rule set with an error")
    site = Site(checked.rules, checked.sources)
    asked = outcomes(site, CHECKS)
    assert {o.hazard for o in asked} == set(CHECKS)
    checks = tuple(o for o in asked if isinstance(o, Check))
    named = Counter((c.hazard, c.variant, c.name) for c in checks)
    assert not [name for name, count in named.items() if count > 1]
    wanted = {(c.variant, c.name) for c in checks}
    assert len(wanted) == sum(len(m.properties) for m in machines(checks))
    for outcome in asked:
        for remedy in remedies_of(outcome) if outcome.hazard in READ else ():
            text = mended(site, [remedy])
            assert check_text(Source("test.latch", text), ROOT).rules is not None, text
