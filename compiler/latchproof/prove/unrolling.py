"""A system unrolled moment by moment in one solver.

A moment is one ordinary cycle in which the world may change, and then a hold in which it does not (or nothing).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import z3

from latchproof.prove.encode import Encoder, constant, equal, real
from latchproof.prove.holds import hold
from latchproof.run.program import Exact


@dataclass(frozen=True)
class Step:
    before: Mapping[str, z3.ExprRef]
    inputs: Mapping[str, z3.ExprRef]
    dt: z3.ArithRef
    goal: z3.BoolRef
    waits: z3.BoolRef
    meanwhile: Mapping[str, z3.ExprRef]
    wait: z3.ArithRef


class Unrolling:
    """One solver that is made one moment deeper at a time."""

    def __init__(self, encoder: Encoder, *, holds: bool) -> None:
        self.encoder, self.holds = encoder, holds
        self.solver = z3.SolverFor("QF_LRA") if self._reals_only else z3.Solver()
        self.steps: list[Step] = []
        self.first = encoder.state("@0")
        self.state: Mapping[str, z3.ExprRef] = self.first
        self.solver.add(encoder.tuned(), encoder.initial(self.first))

    @property
    def _reals_only(self) -> bool:
        """Any time of at least one cycle is made of whole cycles when the longest is twice the shortest."""
        system = self.encoder.system
        return not self.holds or system.longest >= 2 * system.shortest

    def deepen(self) -> None:
        k, encoder = len(self.steps), self.encoder
        inputs, dt = encoder.inputs(f"@{k}"), z3.Real(f"@dt@{k}")
        frame = encoder.frame(self.state, inputs, dt)
        middle = encoder.state(f"@m{k}")
        self.solver.add(encoder.ordinary(dt), frame.allowed, equal(middle, frame.after))
        if not self.holds:
            self.steps.append(Step(self.state, inputs, dt, frame.goal, z3.BoolVal(False), inputs, real(0)))
            self.state = middle
            return
        wait, waits = z3.Real(f"@wait@{k}"), z3.Bool(f"@waits@{k}")
        meanwhile = self._held(inputs, k)
        long = hold(encoder, middle, meanwhile, wait, idle_parts=True)
        after = encoder.state(f"@{k + 1}")
        self.solver.add(
            z3.Implies(waits, z3.And(long.condition, equal(after, long.frame.after))),
            z3.Implies(z3.Not(waits), z3.And(wait == 0, equal(after, middle))),
        )
        if not self._reals_only:
            self.solver.add(self._whole(wait, k))
        self.steps.append(Step(self.state, inputs, dt, frame.goal, waits, meanwhile, wait))
        self.state = after

    def _held(self, inputs: Mapping[str, z3.ExprRef], k: int) -> dict[str, z3.ExprRef]:
        """Switches and sticks stay; frames, readings and truths have a way of their own during a hold."""
        return {
            name: constant(f"{name}@h{k}", "bool" if z3.is_bool(x) else "number") if _of_sensor(name) else x
            for name, x in inputs.items()
        }

    def _whole(self, wait: z3.ArithRef, k: int) -> z3.BoolRef:
        """The wait is some whole number of cycles between shortest and longest."""
        n = z3.ToReal(z3.Int(f"@cycles@{k}"))
        system = self.encoder.system
        return z3.And(n * real(system.shortest) <= wait, wait <= n * real(system.longest))

    def reached(self) -> bool | None:
        """Whether the goal can be reached in the last moment; None when the solver gives up."""
        answer = self.solver.check(self.steps[-1].goal)
        return None if answer == z3.unknown else answer == z3.sat


def _of_sensor(name: str) -> bool:
    return name.partition("@")[2] in {"frame", "reading", "truth"}


def is_true(model: z3.ModelRef, x: z3.BoolRef) -> bool:
    return bool(z3.is_true(model.eval(x, model_completion=True)))


def number(model: z3.ModelRef, x: z3.ArithRef) -> Fraction:
    value = exact(model.eval(x, model_completion=True))
    return Fraction(value)


def exact(value: z3.ExprRef) -> Exact:
    if z3.is_bool(value):
        return bool(z3.is_true(value))
    if z3.is_int_value(value):
        return Fraction(value.as_long())
    return Fraction(value.numerator_as_long(), value.denominator_as_long())
