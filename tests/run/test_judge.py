"""Claims read directly on short runs, the expected cycle worked out by hand: every form, in and out of scopes.

A row: the claim over buttons `a`, `b` and `w`; what each does, a digit a cycle; the cycle in which it is found broken
(or fulfilled), and the one that this goes back to. Cycles take 0.1 s. The monitors of the machine must say the same.
"""

from fractions import Fraction

import pytest

from latchproof.machine.model import Machine
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, Record, World
from latchproof.run.judge import Finding, judge
from tests.helpers.rules import machine_of

HEAD = """rules "Judged" version "1"
cycle from 10 ms to 1 s
button pa  button pb  button pw
stick x from 0 % to 100 %
signal a = pa is pressed  signal b = pb is pressed  signal w = pw is pressed
"""
Row = tuple[str, str, str, str, tuple[int, int] | None]
ROWS: list[Row] = [
    # claim, a, b, w, (cycle, since)
    ("never a", "0010", "", "", (2, 2)),
    ("never a", "0000", "", "", None),
    ("always a", "1101", "", "", (2, 2)),
    ("never a while w", "1011", "", "0001", (3, 3)),
    ("never a while w", "1010", "", "0101", None),
    ("never a since w", "1001", "", "0100", (3, 3)),
    ("never a since w", "1000", "", "0100", None),
    ("never a since w", "0100", "", "1000", (1, 1)),
    # the same cycle
    ("whenever a then b", "0110", "0100", "", (2, 2)),
    ("whenever a then b", "0110", "0110", "", None),
    ("whenever a then b within 0 s", "0110", "0100", "", (2, 2)),
    # a cycle at elapsed <= D has the answer
    ("whenever a then b within 0.2 s", "0100000", "0001000", "", None),
    ("whenever a then b within 0.2 s", "0100000", "0000100", "", (4, 1)),
    ("whenever a then b within 0.2 s", "0111000", "0000000", "", (4, 1)),
    ("whenever a then b within 0.2 s", "0100", "0000", "", None),
    ("whenever a then b within 0.25 s", "0100000", "0000100", "", (4, 1)),
    ("whenever a then b within 2 cycles", "0100000", "0001000", "", None),
    ("whenever a then b within 2 cycles", "0100000", "0000100", "", (4, 1)),
    ("whenever a then b within 0.2 s", "0101000000", "0010000000", "", (6, 3)),
    # what is pending is forgotten with the scope
    ("whenever a then b within 0.2 s while w", "0100000", "", "1110111", None),
    ("whenever a then b within 0.2 s while w", "0100000", "", "1111111", (4, 1)),
    ("whenever a then b within 0.2 s since w", "0100000", "", "1001000", None),
    # only the first in the scope is guarded, and the same cycle counts
    ("before a comes b", "0010", "0100", "", None),
    ("before a comes b", "0010", "0010", "", None),
    ("before a comes b", "0010", "0001", "", (2, 2)),
    ("before a comes b while w", "0001", "1000", "1011", (3, 3)),
    ("before a comes b since w", "0001", "1000", "0110", (3, 3)),
    ("before a comes b since w", "0001", "0100", "0110", None),
    # N + 1 beginnings within D
    ("starts of a at most 1 in 0.2 s", "010100", "", "", (3, 1)),
    ("starts of a at most 1 in 0.2 s", "010010", "", "", None),
    ("starts of a at most 1 in 0.1 s", "101", "", "", None),
    ("starts of a at most 2 in 0.4 s", "10101", "", "", (4, 0)),
    ("starts of a at most 2 in 4 cycles", "10101", "", "", (4, 0)),
    ("starts of a at most 2 in 3 cycles", "10101", "", "", None),
    ("starts of a at most 1 in 1 s while w", "10101", "", "11011", None),
    # strictly later, and elapsed < D
    ("for 0.2 s after a never b", "0100", "0100", "", None),
    ("for 0.2 s after a never b", "0100", "0010", "", (2, 1)),
    ("for 0.2 s after a never b", "01000", "00010", "", None),
    ("for 0.2 s after a never b", "01100", "00010", "", (3, 2)),
    ("for 2 cycles after a never b", "01000", "00010", "", (3, 1)),
    ("for 2 cycles after a never b", "01000", "00001", "", None),
    ("for 0.3 s after a never b while w", "01000", "00010", "11011", None),
    # from the first cycle that sees it true to the first that sees it false
    ("length of a at most 0.2 s", "011000", "", "", None),
    ("length of a at most 0.2 s", "011100", "", "", (4, 1)),
    ("length of a at most 0.2 s", "011110", "", "", (4, 1)),
    ("length of a at least 0.2 s", "011000", "", "", None),
    ("length of a at least 0.2 s", "010000", "", "", (2, 1)),
    ("length of a at least 0.2 s", "000001", "", "", None),
    ("length of a at least 2 cycles", "010000", "", "", (2, 1)),
    ("length of a at most 0.2 s while w", "0111110", "", "0001111", (6, 3)),
    ("length of a at least 0.5 s while w", "0111110", "", "0011111", None),
    # reached in later cycles, one after the other
    ("can a then b", "0100", "0010", "", (2, 1)),
    ("can a then b", "0110", "0100", "", None),
    ("can a then b then a", "0101", "0010", "", (3, 1)),
    ("can a then b while w", "0100", "0001", "1101", None),
    ("can a then b since w", "1000", "0011", "0100", None),
]  # fmt: skip


def lived(machine: Machine, *rows: str, x: str = "", pick: int | None = None) -> tuple[Record, ...]:
    n = max(len(row) for row in (*rows, x))
    columns = {name: row or "0" * n for name, row in zip(("pa", "pb", "pw"), rows, strict=False)}
    heights = x or "0" * n
    world = []
    for k in range(n):
        inputs = {name: row[k] == "1" for name, row in columns.items()} | {"x": Fraction(10 * int(heights[k]))}
        inputs |= {i.name: k == pick for i in machine.picks}
        world.append(World(Fraction(1, 10), inputs))
    return Interpreter(machine).run(world)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r[0]}: {r[1]} {r[2]} {r[3]}".rstrip())
def test_the_cycle_that_breaks_a_claim(row: Row) -> None:
    claim, a, b, w, expected = row
    n = len(a)
    machine = machine_of(f"{HEAD}claim c: {claim}\n")
    records = lived(machine, a, b or "0" * n, w or "0" * n)
    finding = judge(machine.rules.claims[0], Reader(machine, records, {}))
    assert finding == (expected and Finding(*expected))
    watched = lived(machine, a, b or "0" * n, w or "0" * n, pick=None if expected is None else expected[1])
    spoken = next((k for k, r in enumerate(watched) if "c" in r.broken), None)
    assert spoken == (expected and expected[0]), "the machine's monitor says otherwise"


STEPS: list[tuple[str, str, tuple[int, int] | None]] = [
    ("step of x at most 20 % in 0.1 s", "024686420", None),
    ("step of x at most 19 % in 0.1 s", "0246", (1, 0)),
    ("step of x at most 30 % in 0.2 s", "01356", (3, 1)),
    ("step of x at most 30 % in 0.2 s", "964", (2, 0)),
    ("step of x at most 30 % in 2 cycles", "964", (2, 0)),
    ("step of x at most 30 % in 1 cycle", "9641", None),
    ("step of (0.5 * x) at most 15 % in 0.1 s", "0369", None),
]  # fmt: skip


@pytest.mark.parametrize(("claim", "x", "expected"), STEPS)
def test_the_cycle_that_breaks_a_step(claim: str, x: str, expected: tuple[int, int] | None) -> None:
    machine = machine_of(f"{HEAD}claim c: {claim}\n")
    records = lived(machine, "", "", "", x=x)
    assert judge(machine.rules.claims[0], Reader(machine, records, {})) == (expected and Finding(*expected))
    watched = lived(machine, "", "", "", x=x, pick=None if expected is None else expected[1])
    assert next((k for k, r in enumerate(watched) if "c" in r.broken), None) == (expected and expected[0])


def test_assumptions_are_read_the_same_way() -> None:
    machine = machine_of(f"{HEAD}assume calm: whenever a then b within 0.2 s\n")
    records = lived(machine, "0100000", "0000000", "0000000")
    assert judge(machine.rules.assumptions[0], Reader(machine, records, {})) == Finding(4, 1)
    assert [r.violated for r in records].index(("assumption calm",)) == 4
