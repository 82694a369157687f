"""What a proof rests on: with anything else let loose, its invariant still passes the three checks."""

import pytest

from latchproof.prove.prover import prove_all
from latchproof.prove.workers import Workers
from latchproof.strength.rests_on import rests_on
from tests.helpers.rules import machine_of

RULES = """switch guard positions off, on
button test
sensor height { from 0 m to 100 m  step 1 m  stale after 1 s }
stick throttle from 0 % to 100 %
tune floor = 30 m from 20 m to 40 m
tune release = 60 m from 40 m to 70 m
require release is at least floor + 10 m
channel motor { follows throttle  from 0 % to 100 % }
channel lamp { rests at 0 %  from 0 % to 100 % }
signal low = height is below floor and height is fresh
signal allowed = guard is on
latch saving { set when low and allowed  reset when not allowed }
rule climb while saving { drive motor to 80 %  announce voice "low" }
rule shine while test is pressed { drive lamp to 50 % }
assume lit: never test is pressed and guard is off assumed
"""

CASES = {
    "never saving while guard is off": ("saving", "allowed"),
    "never saving and not allowed": ("saving",),
    "whenever climb.voice then saving": ("climb",),
    "always lamp is at most 50 %": ("shine",),
    "always release is above floor": ("require release is at least floor + 10 m",),
    "never lamp is driven while guard is off": ("shine", "assumption lit"),
    "never height is below 0 m": (),
}


@pytest.mark.parametrize("claim", CASES)
def test_names_in_the_file(workers: Workers, claim: str) -> None:
    machine = machine_of(RULES + f"claim c: {claim}\n")
    (verdict,) = prove_all(machine, workers, time_limit=60, at_once=1)
    assert verdict.answer == "proved"
    assert rests_on(machine, verdict, workers, 60) == CASES[claim]


def test_an_example_rests_on_nothing_that_could_be_let_loose(workers: Workers) -> None:
    machine = machine_of(RULES + "claim c: can saving\n")
    (verdict,) = prove_all(machine, workers, time_limit=60, at_once=1)
    assert rests_on(machine, verdict, workers, 60) is None
