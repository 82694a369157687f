"""The separate path to text: read back by a solver it gives the interpreter's values."""

import re
from fractions import Fraction
from random import Random

import pytest
import z3

from latchproof.machine.cone import cone
from latchproof.machine.model import DT
from latchproof.prove.smtlib import (
    FORBIDDEN,
    declarations,
    define,
    number,
    start,
    step,
    symbol,
    three_queries,
    tunes,
)
from latchproof.prove.solvers import ask
from latchproof.run.interpreter import Interpreter
from latchproof.run.program import Exact
from tests.helpers.generate import generate
from tests.helpers.proofs import arriving
from tests.helpers.rules import machine_of
from tests.helpers.worlds import live


def literal(value: Exact) -> str:
    return str(value).lower() if isinstance(value, bool) else number(value)


def holds(lines: list[str]) -> bool:
    solver = z3.Solver()
    solver.from_string("\n".join(lines))
    return bool(solver.check() == z3.sat)


@pytest.mark.parametrize("seed", range(500, 530))
def test_start_and_step_as_text_say_what_the_interpreter_does(seed: int) -> None:
    """Given the cycle's values the step is possible, and with any of its results turned round it is not."""
    machine = machine_of(generate(seed))
    property_ = machine.properties[0]
    life = live(machine, Random(seed), 12, arriving=arriving(property_))
    system = cone(machine, property_)
    given = [f"(= {symbol(p.name)} {literal(life.parameters.get(p.name, p.value))})" for p in system.parameters]
    state: dict[str, Exact] = Interpreter(machine).start(life.parameters, life.start)
    head = ["(set-logic ALL)", *declarations(system), *tunes(system)]
    for k, record in enumerate(life.records):
        known = given + [f"(= {symbol(s.name)} {literal(state[s.name])})" for s in system.states]
        if k == 0:
            assert holds([*head, *start(system), *(f"(assert {x})" for x in known)])
        known += [f"(= {symbol(i.name)} {literal(record.inputs[i.name])})" for i in system.inputs]
        known.append(f"(= {symbol(DT)} {literal(record.dt)})")
        told = [f"(= {symbol(f'next {s.name}')} {literal(record.after[s.name])})" for s in system.states]
        told.append(f"(= {symbol(FORBIDDEN)} {literal(property_.name in record.broken)})")
        lines = [*head, *step(system), *(f"(assert {x})" for x in known)]
        allowed = not any(c.why in record.violated for c in system.constraints)
        assert holds(lines) == allowed
        if allowed and k % 4 == 0:
            assert not holds([*lines, f"(assert (not (and {' '.join(told)})))"]), f"cycle {k}"
        state = dict(record.after)


def test_numbers_are_exact() -> None:
    assert number(Fraction(-1, 3)) == "(- (/ 1.0 3.0))"
    assert number(Fraction(5)) == "5.0"


def test_shared_parts_are_written_once() -> None:
    machine = machine_of(generate(3))
    lines = define([(s.name, s.next) for s in machine.states], "part")
    bodies = [line.split(" ", 4)[4] for line in lines if re.match(r"\(define-fun \|part \d+\|", line)]
    assert bodies
    assert len(bodies) == len(set(bodies))


def test_three_queries_fail_one_by_one() -> None:
    """Not true at the start, not kept, not enough: each is the business of one of the three."""
    machine = machine_of(
        """rules "Three" version "1"
        button a  button b
        latch on { set when a is pressed  reset when b is pressed }
        claim c: never on and (on for 1 cycle)
        """
    )
    system = cone(machine, machine.properties[0])
    cell = symbol(next(s.name for s in system.states if s.name == "on"))

    def answers(invariant: str) -> list[bool]:
        return [ask("z3", q.script()) == "sat" for q in three_queries(system, [invariant])]

    assert answers("false") == [True, False, False]
    assert answers(f"(not {cell})")[:2] == [False, True]
    assert answers("true") == [False, False, True]
