"""Whether two rule sets do the same: in random runs of the interpreter, and by proof."""

from dataclasses import replace
from random import Random

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.prove.prover import prove
from latchproof.prove.workers import Workers
from latchproof.rules.model import RuleSet
from latchproof.run.interpreter import Interpreter
from latchproof.strength.side_by_side import outputs, side_by_side
from tests.helpers.worlds import live


def machine_of_rules(rules: RuleSet) -> Machine:
    """On a transmitter whose entries read this pass's values and start at rest: there a rewriting is exact."""
    device = replace(rules.device, reads="this cycle", starts="reset")
    machine, problems = compile_rules(replace(rules, device=device))
    assert machine is not None, [p.title for p in problems]
    return machine


def first_difference(one: RuleSet, other: RuleSet, seed: int, cycles: int = 60) -> str | None:
    """What is first seen to differ in a random run: a channel, an announcement, or a claim that is broken in one."""
    a, b = machine_of_rules(one), machine_of_rules(other)
    life = live(a, Random(seed), cycles, lawless=True)
    again = Interpreter(b).run(life.world, life.parameters, life.start)
    names = outputs(a)
    claims = {c.name for c in one.claims}
    missing = [n for n in names if n not in b.definitions]
    assert not missing, missing
    for k, (x, y) in enumerate(zip(life.records, again, strict=True)):
        for name in names:
            if x.values[name] != y.values[name]:
                return f"{name} in cycle {k}: {x.values[name]} and {y.values[name]}"
        if claims & {*x.broken} != claims & {*y.broken}:
            return f"claims in cycle {k}: {claims & {*x.broken}} and {claims & {*y.broken}}"
    return None


def proved_equal(one: RuleSet, other: RuleSet, workers: Workers, seconds: float = 60) -> str:
    """The answer to whether a channel or announcement ever differs; claims have no part in it."""
    bare = [replace(r, claims=()) for r in (one, other)]
    a, b = machine_of_rules(bare[0]), machine_of_rules(bare[1])
    assert set(outputs(a)) <= b.definitions.keys()
    both = side_by_side(a, b)
    return prove(both, both.properties[0], None, workers, seconds).answer
