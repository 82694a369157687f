"""Claims that allow for some cycles, counted by hand: monitor and direct reading on the same runs."""

from fractions import Fraction

import pytest

from latchproof.machine.allowance import allowed
from latchproof.machine.compile import compile_rules
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, World
from latchproof.run.judge import judge
from tests.helpers.rules import rules_of

HEAD = """rules "x" version "1"
cycle from 10 ms to 10 ms
button a
button b
signal s = a is pressed
signal t = b is pressed
latch l { set when s  reset when t }
channel c 1 { rests at 0 %  from 0 % to 100 % }
rule r while l { drive c to 50 %  announce tone }
"""


def first_broken(claim: str, allowance: int, a: str, b: str) -> int | None:
    """The cycle in which it is seen broken, by the monitor and by direct reading. `a` and `b`: 1 for a pressed button,
    a character a cycle."""
    machine, _ = compile_rules(rules_of(f"{HEAD}claim k: {claim}\n"), allowances={"k": allowance})
    assert machine is not None
    world = [World(Fraction(1, 100), {"a": p == "1", "b": q == "1"}) for p, q in zip(a, b, strict=True)]
    records = Interpreter(machine).run(world)
    spoken = next((k for k, r in enumerate(records) if r.broken), None)
    finding = judge(machine.rules.claims[0], Reader(machine, records, {}))
    assert spoken == (None if finding is None else finding.cycle)
    return spoken


@pytest.mark.parametrize(
    ("claim", "allowance", "a", "b", "broken"),
    [
        ("never s", 0, "0110", "0000", 1),
        ("never s", 1, "0110", "0000", 2),
        ("never s", 2, "0110", "0000", None),
        ("never s", 2, "0110111", "0000000", 6),
        ("always s", 1, "10100", "00000", 4),
        ("never s while t", 1, "01110", "00110", 3),
        ("whenever s then t", 0, "0100", "0010", 1),
        ("whenever s then t", 1, "0100", "0010", None),
        ("whenever s then t", 1, "0100", "0001", 2),
        ("whenever s then t", 2, "0110000", "0010000", None),
        # the cause in 4 has not come to its answer after 2 cycles more
        ("whenever s then t", 2, "0100100", "0010000", 6),
        ("whenever s then t within 20 ms", 0, "01000000", "00000100", 4),
        # within 20 ms: in 1, 2 or 3; two more are 4 and 5
        ("whenever s then t within 20 ms", 2, "01000000", "00000100", None),
        ("whenever s then t within 20 ms", 2, "01000000", "00000010", 6),
        ("whenever s then t within 2 cycles", 1, "01000000", "00000100", 5),
        ("before s comes t", 0, "0100", "0010", 1),
        ("before s comes t", 1, "0100", "0010", None),
        ("before s comes t", 1, "0100", "0001", 2),
        ("for 40 ms after s never t", 0, "010000", "001000", 2),
        ("for 40 ms after s never t", 1, "010000", "001000", None),
        ("for 40 ms after s never t", 1, "010000", "001100", 3),
        # the younger cause does not make the older one forgotten
        ("for 40 ms after s never t", 1, "0110000", "0001000", 3),
        ("for 40 ms after s never t", 2, "0110000", "0001000", None),
        ("for 40 ms after s never t", 3, "0100000", "0000010", None),
        # of the window always one of the longest cycles is left: of 30 ms no more than two are taken
        ("for 30 ms after s never t", 9, "0100000", "0011000", None),
        ("for 3 cycles after s never t", 9, "0100000", "0001100", 4),
        ("length of s at most 20 ms", 0, "0111110", "0000000", 4),
        ("length of s at most 20 ms", 1, "0111110", "0000000", 5),
        ("length of s at most 20 ms", 2, "0111100", "0000000", None),
        ("length of s at least 40 ms", 0, "0111000", "0000000", 4),
        ("length of s at least 40 ms", 1, "0111000", "0000000", None),
        ("length of s at least 40 ms", 1, "0110000", "0000000", 3),
        ("can s then t", 3, "0100", "0010", 2),
    ],
)  # fmt: skip
def test_by_hand(claim: str, allowance: int, a: str, b: str, broken: int | None) -> None:
    assert first_broken(claim, allowance, a, b) == broken


@pytest.mark.parametrize(
    ("claim", "most", "left"),
    [
        ("never s", 4, 4),
        ("never (s begins)", 4, 0),
        ("always not (s ends)", 4, 0),
        ("never r.announced", 4, 0),
        ("never (t pulsed 30 ms)", 4, 0),
        ("never (t pulsed 30 ms)", 2, 2),
        ("whenever s begins then t", 4, 4),
        ("before s comes t", 4, 4),
        ("for 30 ms after s never t", 4, 2),
        ("for 3 cycles after s never t", 4, 2),
        ("for 10 ms after s never t", 4, 0),
        ("length of s at least 30 ms", 4, 2),
        ("length of s at most 30 ms", 4, 4),
        ("starts of s at most 1 in 30 ms", 4, 0),
        ("step of c at most 5 % in 30 ms", 4, 0),
        ("can s then t", 4, 0),
    ],
)
def test_no_allowance_empties_a_claim(claim: str, most: int, left: int) -> None:
    rules = rules_of(f"{HEAD}claim k: {claim}\nclaim hard strict: {claim}\n")
    named = {c.name: c for c in rules.claims}
    assert allowed(named["k"], most, rules) == left
    assert allowed(named["hard"], most, rules) == 0


def test_a_name_for_a_moment_is_a_moment() -> None:
    rules = rules_of(HEAD + "signal kick = s begins and t\nclaim k: never kick\n")
    assert allowed(rules.claims[0], 3, rules) == 0
