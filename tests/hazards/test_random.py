"""Random rule sets: whatever they say, every hazard is asked about, every check can be put to the prover, and every
remedy leaves a text without an error, or one that makes a rule wait for itself: the command does not show that one."""

import pytest

from latchproof.hazards.catalogue import CHECKS
from latchproof.hazards.model import Check
from latchproof.hazards.report import machines, outcomes
from latchproof.pipeline import check_text
from latchproof.source import Source
from tests.helpers.generate import generate
from tests.helpers.hazards import mended, remedies_of, site_of
from tests.helpers.rules import ROOT

SEEDS = range(60)
MORE = range(60, 1_000)


def look(seed: int, *, devices: bool) -> tuple[int, int]:
    """How many checks and remedies there were."""
    text = generate(seed, devices=devices)
    if check_text(Source("test.latch", text), ROOT).rules is None:
        return 0, 0
    site = site_of(text)
    asked = outcomes(site)
    assert {o.hazard for o in asked} == set(CHECKS)
    checks = tuple(o for o in asked if isinstance(o, Check))
    made = {p.name for m in machines(checks) for p in m.properties}
    assert made == {c.name for c in checks}
    remedies = [(o.hazard, r) for o in asked for r in remedies_of(o)]
    for hazard, remedy in remedies:
        new = mended(site, [remedy])
        found = check_text(Source("test.latch", new), ROOT).diagnostics
        wrong = [d.title for d in found if d.severity == "error" and d.code != "loop"]
        assert not wrong, f"{hazard}: {remedy.said}\n{wrong}\n{new}"
    return len(checks), len(remedies)


def test_random_rules() -> None:
    counts = [look(seed, devices=seed % 2 == 1) for seed in SEEDS]
    assert sum(checks for checks, _ in counts) > 100
    assert sum(remedies for _, remedies in counts) > 100


@pytest.mark.parametrize(
    ("seed", "devices", "wrong"),
    [
        (134, False, "two levels crossed"),
        (177, True, "a stick driven `up`"),
        (254, True, "a range turned round"),
        (299, False, "a switch whose `for` was not in brackets"),
        (355, False, "two drives of one channel in one rule"),
    ],
)
def test_random_rules_of_which_a_remedy_was_wrong(seed: int, devices: bool, wrong: str) -> None:
    assert look(seed, devices=devices)[1], wrong


@pytest.mark.long
def test_more_random_rules() -> None:
    for seed in MORE:
        look(seed, devices=seed % 2 == 1)
