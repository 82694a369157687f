"""The pass before is the one that a transmitter has: of an entry further down, and never of a switch."""

from graphlib import CycleError, TopologicalSorter
from random import Random

import pytest

from latchproof.fit.fit import fit
from latchproof.listing.build import drafted
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet
from latchproof.transmitter.generic import NAMES, generic
from tests.fit.able import able, random_transmitter
from tests.fit.stands import entries, nodes
from tests.fit.test_exact import EXAMPLES, example
from tests.fit.test_rewriting import CASES, HEAD
from tests.helpers.generate import generate
from tests.helpers.rules import rules_of


def can_be_in_order(rules: RuleSet) -> bool:
    """Whether the entries can stand so that what is read now stands above, and what is read late below."""
    desk = drafted(rules)
    graph: TopologicalSorter[str] = TopologicalSorter()
    for d in desk.drafts.values():
        for link in d.links():
            other = desk.alias.get(link.key, link.key)
            if link.mode == "now" and other != d.key:
                graph.add(d.key, other)
            elif link.mode == "earlier" and other != d.key:
                graph.add(other, d.key)
    try:
        graph.prepare()
    except CycleError:
        return False
    return True


def inputs_seen_late(rules: RuleSet) -> list[object]:
    seen_late = (x.operand for entry in entries(rules) for x in nodes(entry) if isinstance(x, e.PreviousSignal))
    return [x for x in seen_late if isinstance(x, e.AtPosition | e.Pressed | e.PreviousSignal | e.Not | e.SensorState)]


@pytest.mark.parametrize("name", NAMES)
def test_examples(name: str) -> None:
    for path in EXAMPLES:
        made = fit(example(path), generic(name)).rules
        assert can_be_in_order(made), path.stem
        assert inputs_seen_late(made) == [], path.stem


@pytest.mark.parametrize("name", CASES)
def test_cases(name: str) -> None:
    text, changes, _ = CASES[name]
    made = fit(rules_of(HEAD + text), able(**changes)).rules
    assert can_be_in_order(made)
    assert inputs_seen_late(made) == []


@pytest.mark.parametrize("seed", range(40))
def test_random(seed: int) -> None:
    made = fit(rules_of(generate(seed)), random_transmitter(Random(seed))).rules
    assert inputs_seen_late(made) == []
    numbers = [x for entry in entries(made) for x in nodes(entry) if isinstance(x, e.PreviousNumber)]
    if not numbers:
        assert can_be_in_order(made)


def test_the_test_sees_a_circle() -> None:
    text = (
        "signal up = go is pressed and not previous of l\nlatch l { set when guard is on  reset when go is pressed }\n"
    )
    assert can_be_in_order(rules_of(HEAD + text + "rule act while up and l { announce tone }\n"))
    text = "signal up = height is fresh and l and not previous of l\nlatch l { set when guard is on }\n"
    assert not can_be_in_order(rules_of(HEAD + text + "rule act while up { announce tone }\n"))
    rules = rules_of(HEAD + text + "rule act while up { announce tone }\n")
    assert can_be_in_order(fit(rules, able()).rules)
    assert {c.kind for c in fit(rules, able()).changes} == {"mirror"}
