"""Terms to solver expressions: the second reading of the machine, beside the interpreter's.

A `Frame` is one step: expressions for the state before, the inputs, the cycle time, and from them the state after, the
goal, and the facts that must hold.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import z3

from latchproof.machine import terms as t
from latchproof.machine.cone import System
from latchproof.machine.model import DT


def real(value: Fraction | int) -> z3.ArithRef:
    exact = Fraction(value)
    return z3.RatVal(exact.numerator, exact.denominator)


def constant(name: str, sort: t.Sort) -> z3.ExprRef:
    return z3.Bool(name) if sort == "bool" else z3.Real(name)


def encode(roots: Iterable[t.Term], environment: Mapping[str, z3.ExprRef]) -> list[z3.ExprRef]:
    """The roots as solver expressions, variables replaced by what the environment gives them."""
    wanted = tuple(roots)
    done = encode_parts(wanted, environment)
    return [done[id(root)] for root in wanted]


def encode_parts(roots: Iterable[t.Term], environment: Mapping[str, z3.ExprRef]) -> dict[int, z3.ExprRef]:
    """Every term below the roots as a solver expression, by the term's identity."""
    done: dict[int, z3.ExprRef] = {}
    for term in t.walk(roots):
        done[id(term)] = _expression(term, done, environment)
    return done


def _expression(term: t.Term, done: Mapping[int, z3.ExprRef], environment: Mapping[str, z3.ExprRef]) -> z3.ExprRef:
    match term:
        case t.Bool(value):
            return z3.BoolVal(value)
        case t.Real(number):
            return real(number)
        case t.Var(name):
            return environment[name]
        case t.Not(a):
            return z3.Not(done[id(a)])
        case t.And(several):
            return z3.And(*(done[id(a)] for a in several))
        case t.Or(several):
            return z3.Or(*(done[id(a)] for a in several))
        case t.If(condition, a, b):
            return z3.If(done[id(condition)], done[id(a)], done[id(b)])
        case t.Add(several):
            return z3.Sum(*(done[id(a)] for a in several))
        case t.Scale(factor, a):
            return real(factor) * done[id(a)]
        case t.AtMost(a, b):
            return done[id(a)] <= done[id(b)]
        case t.Less(a, b):
            return done[id(a)] < done[id(b)]
        case t.Equal(a, b):
            return done[id(a)] == done[id(b)]


@dataclass(frozen=True)
class Frame:
    """One step from `before`; `allowed` is the conjunction of input ranges and facts, without the cycle time's
    bounds."""

    before: Mapping[str, z3.ExprRef]
    inputs: Mapping[str, z3.ExprRef]
    dt: z3.ArithRef
    after: Mapping[str, z3.ExprRef]
    allowed: z3.BoolRef
    goal: z3.BoolRef


@dataclass(frozen=True)
class Encoder:
    """Solver expressions of one system. Tunes are the same constants in every step."""

    system: System

    def state(self, suffix: str) -> dict[str, z3.ExprRef]:
        return {s.name: constant(f"{s.name}{suffix}", s.sort) for s in self.system.states}

    def inputs(self, suffix: str) -> dict[str, z3.ExprRef]:
        return {i.name: constant(f"{i.name}{suffix}", i.sort) for i in self.system.inputs}

    @property
    def parameters(self) -> dict[str, z3.ArithRef]:
        return {p.name: z3.Real(p.name) for p in self.system.parameters}

    def tuned(self) -> z3.BoolRef:
        """The tunes are in their ranges and meet every `require`."""
        facts: list[z3.BoolRef] = []
        for p in self.system.parameters:
            x = z3.Real(p.name)
            facts += [real(p.low) <= x, x <= real(p.high)]
            if p.steps:
                facts.append(z3.Or(*(x == real(v) for v in p.steps)))
        facts += encode((r.term for r in self.system.requires), self.parameters)
        return z3.And(*facts)

    def initial(self, state: Mapping[str, z3.ExprRef]) -> z3.BoolRef:
        environment = {**state, **self.parameters}
        known = [s for s in self.system.states if s.initial is not None]
        firsts = encode((s.initial for s in known if s.initial is not None), environment)
        facts = [state[s.name] == first for s, first in zip(known, firsts, strict=True)]
        facts += encode((c.term for c in self.system.starts), environment)
        return z3.And(*facts)

    def frame(self, before: Mapping[str, z3.ExprRef], inputs: Mapping[str, z3.ExprRef], dt: z3.ArithRef) -> Frame:
        s = self.system
        environment = {**self.parameters, **before, **inputs, DT: dt}
        roots = [x.next for x in s.states] + [c.term for c in s.constraints] + [s.goal]
        results = encode(roots, environment)
        nexts, facts, goal = results[: len(s.states)], results[len(s.states) : -1], results[-1]
        allowed = z3.And(*self.ranges(inputs), *facts)
        after = {x.name: following for x, following in zip(s.states, nexts, strict=True)}
        return Frame(before, inputs, dt, after, allowed, goal)

    def ranges(self, inputs: Mapping[str, z3.ExprRef]) -> list[z3.BoolRef]:
        bounds: list[z3.BoolRef] = []
        for i in self.system.inputs:
            if i.low is not None and i.high is not None:
                bounds += [real(i.low) <= inputs[i.name], inputs[i.name] <= real(i.high)]
        return bounds

    def ordinary(self, dt: z3.ArithRef) -> z3.BoolRef:
        """The bounds of one cycle's time."""
        return z3.And(real(self.system.shortest) <= dt, dt <= real(self.system.longest))


def equal(a: Mapping[str, z3.ExprRef], b: Mapping[str, z3.ExprRef]) -> z3.BoolRef:
    """Two states agree in every cell of the first."""
    return z3.And(*(a[name] == b[name] for name in a))
