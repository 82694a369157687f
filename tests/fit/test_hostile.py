"""Rules that nobody would write: what is made of them stays small, and takes no long time."""

import time
from itertools import pairwise

import pytest

from latchproof.fit.fit import fit
from latchproof.fit.shop import fewer_than
from latchproof.fit.used import used
from latchproof.rules.model import RuleSet
from latchproof.transmitter.generic import NAMES, generic
from tests.fit.alike import first_difference
from tests.helpers.rules import rules_of

HEAD = (
    'rules "r"\ncycle from 10 ms to 20 ms\nswitch s positions off, on\nbutton b\nstick t from 0 % to 100 %\n'
    "channel c { rests at 0 % from 0 % to 100 % }\n"
)

SHAPES = {
    "edges": "(({}) begins)",
    "passes": "(({}) for 3 cycles)",
    "off-delays": "(({}) extended 1 s)",
    "pulses": "(({}) pulsed 1 s)",
    "exactly one": "exactly_one of ({}, s is on, s is off)",
    "gates": "(not ({}) and s is on)",
}


def nested(shape: str, deep: int) -> RuleSet:
    x = "b is pressed"
    for _ in range(deep):
        x = SHAPES[shape].format(x)
    return rules_of(HEAD + f"rule r while {x} {{ drive c to 10 % }}\n")


@pytest.mark.parametrize("shape", SHAPES)
def test_deep(shape: str) -> None:
    rules = nested(shape, 22)
    for name in NAMES:
        start = time.process_time()
        made = fit(rules, generic(name))
        assert time.process_time() - start < 5
        assert fewer_than(20_000, (made.rules.signals, made.rules.latches, made.rules.rules))


@pytest.mark.parametrize("shape", SHAPES)
def test_deep_and_the_same(shape: str) -> None:
    made = fit(nested(shape, 12), generic("small"))
    assert first_difference(made.rounded, made.rules, 1, 40) is None


def test_wide() -> None:
    several = " or ".join(f"t is above {k % 100} %" for k in range(400))
    for name in NAMES:
        made = fit(rules_of(HEAD + f"rule r while {several} {{ drive c to 10 % }}\n"), generic(name))
        assert first_difference(made.rounded, made.rules, 1, 10) is None


def test_a_long_sum() -> None:
    several = " + ".join(f"0.01 * t + {k} %" for k in range(48))
    for name in NAMES:
        fit(rules_of(HEAD + f"rule r while {several} is above 3 % {{ drive c to 10 % }}\n"), generic(name))


def test_many_tunes_in_requirements() -> None:
    names = [f"height_{x}" for x in "abcdefghijkl"]
    text = HEAD + "sensor h { from 0 m to 100 m }\n"
    text += "".join(f"tune {n} = {k}.3 m from 0 m to 60 m\n" for k, n in enumerate(names, 20))
    text += "".join(f"require {n} is above {m}\n" for m, n in pairwise(names))
    text += "".join(f"rule r{n} while h is below {n} and not (h is above {n}) {{ announce tone }}\n" for n in names)
    start = time.process_time()
    for name in NAMES:
        made = fit(rules_of(text), generic(name))
        assert "require" not in {m.kind for m in made.misfits} or name == "small"
    assert time.process_time() - start < 20


def test_nothing_is_used_where_nothing_is_done() -> None:
    assert used(rules_of(HEAD)).names == frozenset()
