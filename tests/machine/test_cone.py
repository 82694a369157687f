"""The cone of influence: nothing that matters is left out, and what cannot matter is."""

from random import Random

import pytest

from latchproof.machine.cone import cone, restrict
from latchproof.machine.flat import flatten, unflatten
from latchproof.machine.terms import variables
from latchproof.run.interpreter import Interpreter, World
from tests.helpers.generate import generate
from tests.helpers.rules import machine_of
from tests.helpers.worlds import live

TWO = """rules "Two halves" version "1"
switch one positions off, on
switch other positions off, on
sensor near { from 0 m to 10 m  changes from -1 m/s to 1 m/s }
sensor far { from 0 m to 10 m  changes from -1 m/s to 1 m/s }
tune low = 2 m from 1 m to 3 m
tune high = 5 m from 4 m to 6 m
tune alone = 5 m from 4 m to 6 m
require high is above low
latch rescue { set when one is on and near is below low  reset when one is off }
latch second { set when other is on and far is below alone  reset when other is off }
claim c: never rescue
"""


def test_the_other_half_is_left_out() -> None:
    machine = machine_of(TWO)
    system = cone(machine, machine.properties[0])
    names = {x.name for x in (*system.states, *system.inputs)}
    assert {"rescue", "one@1", "near@frame", "near@reading", "near@truth", "near@was", "near@last"} <= names
    assert not {n for n in names if n.startswith(("second", "other", "far"))}
    assert {p.name for p in system.parameters} == {"low", "high"}, "a tune that a `require` ties to one that matters"
    assert [r.why for r in system.requires] == [machine.requires[0].why]
    assert {c.why for c in system.constraints} == {"change of near", "error of near"}


def test_an_assumption_ties_halves_together() -> None:
    tied = TWO + "assume tie: whenever one is on then other is on\n"
    machine = machine_of(tied)
    names = {i.name for i in cone(machine, machine.properties[0]).inputs}
    assert "other@1" in names


@pytest.mark.parametrize("seed", range(40))
def test_a_cone_is_closed_and_says_the_same(seed: int) -> None:
    """Every variable that it reads is in it; its part of the machine runs as the whole does; the flat form keeps it."""
    machine = machine_of(generate(seed))
    life = live(machine, Random(seed), 25)
    for property_ in machine.properties:
        system = cone(machine, property_)
        roots = [s.next for s in system.states] + [s.initial for s in system.states if s.initial is not None]
        roots += [c.term for c in (*system.requires, *system.starts, *system.constraints)] + [system.goal]
        known = {x.name for x in (*system.states, *system.inputs, *system.parameters)} | {"@dt"}
        assert variables(roots) <= known
        part = restrict(machine, property_, frozenset())
        inputs = {i.name for i in (*part.inputs, *part.picks)}
        world = [World(w.dt, {n: v for n, v in w.inputs.items() if n in inputs}) for w in life.world]
        records = Interpreter(part).run(world, life.parameters, life.start)
        for k, (whole, alone) in enumerate(zip(life.records, records, strict=True)):
            assert (property_.name in alone.broken) == (property_.name in whole.broken), k
            assert all(whole.values[name] == value for name, value in alone.values.items())
        flat = flatten(system)
        again = flatten(unflatten(flat))
        assert (again.operations, again.roots) == (flat.operations, flat.roots)
