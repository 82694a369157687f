"""The solver's reading of a machine at given inputs: what its expressions come to, one cycle after the other."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction

import z3

from latchproof.machine.cone import System
from latchproof.machine.model import DT, Machine
from latchproof.machine.terms import Term
from latchproof.prove.encode import Encoder, encode
from latchproof.run.interpreter import World
from latchproof.run.program import Exact


def whole_system(machine: Machine, goal: Term) -> System:
    """All of the machine as a system."""
    return System(
        "all", "safe", machine.terms, (*machine.states, *machine.watching), (*machine.inputs, *machine.picks),
        machine.parameters, machine.requires, machine.starts,
        (*machine.constraints, *(a.constraint for a in machine.assumed)), goal,
        machine.rules.cycle.shortest, machine.rules.cycle.longest,
    )  # fmt: skip


def at(formula: z3.ExprRef, variables: Sequence[z3.ExprRef], values: Iterable[Exact]) -> z3.ExprRef:
    """A formula at given values. Past z3's own `substitute`, which looks at every sort again."""
    numerals = [numeral(v) for v in values]
    count = len(numerals)
    here, there = (z3.Ast * count)(*(x.as_ast() for x in variables)), (z3.Ast * count)(*(x.as_ast() for x in numerals))
    put_in = z3.Z3_substitute(formula.ctx_ref(), formula.as_ast(), count, here, there)
    return z3.simplify(z3.z3._to_expr_ref(put_in, formula.ctx))


def numeral(value: Exact) -> z3.ExprRef:
    return z3.BoolVal(value) if isinstance(value, bool) else z3.RealVal(str(Fraction(value)))


def value_of(x: z3.ExprRef) -> Exact:
    """Of an expression that came to a value."""
    if z3.is_bool(x):
        assert z3.is_true(x) or z3.is_false(x), f"not a value: {x}"
        return z3.is_true(x)
    assert z3.is_rational_value(x), f"not a value: {x}"
    return Fraction(x.numerator_as_long(), x.denominator_as_long())


def solve(
    machine: Machine, world: Sequence[World], names: Sequence[str], start: Mapping[str, Exact]
) -> list[dict[str, Exact]]:
    """The named definitions in each cycle. `start`: memory that may start as it likes."""
    encoder = Encoder(whole_system(machine, machine.terms.true))
    before, inputs = encoder.state(""), encoder.inputs("@in")
    frame = encoder.frame(before, inputs, z3.Real(DT))
    environment = {**encoder.parameters, **before, **inputs, DT: z3.Real(DT)}
    wanted = encode([machine.definitions[name] for name in names], environment)
    variables = [*encoder.parameters.values(), *before.values(), *inputs.values(), z3.Real(DT)]
    tuned = [p.value for p in machine.parameters]
    firsts = encode([s.initial for s in encoder.system.states if s.initial is not None], encoder.parameters)
    known = iter(at(x, variables[: len(tuned)], tuned) for x in firsts)
    state = {s.name: start[s.name] if s.initial is None else value_of(next(known)) for s in encoder.system.states}
    told = []
    for w in world:
        given = [*tuned, *state.values(), *(w.inputs[name] for name in inputs), w.dt]
        told.append({n: value_of(at(x, variables, given)) for n, x in zip(names, wanted, strict=True)})
        state = {name: value_of(at(x, variables, given)) for name, x in frame.after.items()}
    return told
