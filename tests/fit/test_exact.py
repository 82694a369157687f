"""What is rewritten does exactly the same: examples by proof, random rule sets by runs."""

from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.fit.fit import fit
from latchproof.prove.workers import Workers
from latchproof.rules.model import RuleSet
from latchproof.transmitter.generic import NAMES, generic
from tests.fit.able import random_transmitter
from tests.fit.alike import first_difference, proved_equal
from tests.helpers.generate import generate
from tests.helpers.rules import ROOT, rules_of

EXAMPLES = sorted((ROOT / "examples").glob("*/*.latch"))


def example(path: Path) -> RuleSet:
    return rules_of(path.read_text(encoding="utf-8"), path.parent)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_run_the_same(path: Path, name: str) -> None:
    fitted = fit(example(path), generic(name))
    for seed in range(3):
        assert first_difference(fitted.rounded, fitted.rules, seed, 80) is None


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_examples_are_proved_the_same(path: Path, name: str, workers: Workers) -> None:
    fitted = fit(example(path), generic(name))
    if fitted.rules == fitted.rounded:
        assert not fitted.changes
        return
    assert proved_equal(fitted.rounded, fitted.rules, workers) == "proved"


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_random_rules_run_the_same(seed: int) -> None:
    fitted = fit(rules_of(generate(seed)), random_transmitter(Random(seed)))
    assert first_difference(fitted.rounded, fitted.rules, seed, 50) is None
