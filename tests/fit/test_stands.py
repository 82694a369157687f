"""What is fitted uses nothing that the transmitter has not got, or says so."""

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from latchproof.fit.fit import fit
from latchproof.transmitter.generic import NAMES, generic
from tests.fit.able import able, random_transmitter
from tests.fit.stands import missing, unaccounted
from tests.fit.test_exact import EXAMPLES, example
from tests.helpers.generate import generate
from tests.helpers.rules import rules_of


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_random_rules_on_random_transmitters(seed: int) -> None:
    t = random_transmitter(Random(seed))
    fitted = fit(rules_of(generate(seed)), t)
    assert unaccounted(fitted.rules, t, {m.kind for m in fitted.misfits}) == set()


@pytest.mark.parametrize("name", NAMES)
def test_examples(name: str) -> None:
    for path in EXAMPLES:
        fitted = fit(example(path), generic(name))
        assert unaccounted(fitted.rules, generic(name), {m.kind for m in fitted.misfits}) == set(), path.stem


def test_what_can_be_done_is_left_alone() -> None:
    for path in EXAMPLES:
        rules = example(path)
        if not rules.sequences:
            fitted = fit(rules, able(gates={"inputs": 9}))
            assert {c.kind for c in fitted.changes} <= {"mirror"}, path.stem
            assert fitted.misfits == (), path.stem
            assert {r.reason for r in fitted.roundings} <= {"middle of a fact"}, path.stem
            assert fitted.rules == fitted.rounded or fitted.changes


def test_fitting_again_changes_nothing() -> None:
    """What stands in a transmitter stands in it: all numbers are on its steps and nothing is left to rewrite."""
    for path in EXAMPLES:
        for name in ("typical", "rich"):
            once = fit(example(path), generic(name))
            again = fit(once.rules, generic(name))
            assert again.roundings == (), (path.stem, name)
            assert again.rules == once.rules, (path.stem, name, again.changes)


def test_the_search_sees_what_is_missing() -> None:
    rules = rules_of(
        'rules "r" cycle from 10 ms to 20 ms\nswitch s positions off, on\nbutton b\n'
        "channel c { rests at 0 % from 0 % to 100 % }\n"
        "latch x { set when b is pressed begins reset when not (s is on and b is pressed and s is off) }\n"
        'rule r while (x or s is off) extended 1 s { drive c to 10 % announce voice "a" }\n'
    )
    t = able(
        gates={"inputs": 2, "kinds": frozenset({"all"}), "inverts": False},
        delays={"kinds": frozenset({"on"})},
        room={"absent": frozenset({"latch", "edge"})},
        sounds={"voice": False},
        actions={"kinds": frozenset({"move"})},
    )
    found = missing(rules, t)
    assert {"gate any", "wide gate", "inversion", "edge", "latch", "delay extended", "voice", "drive"} <= found
