"""Bounded search with holds: the inputs that reach the goal in the fewest moments.

A moment is one ordinary cycle in which the world may change, and then a hold in which it does not (or nothing). Once a
model is found its free choices are made as a person would make them: leave alone what need not change, then round
numbers.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import inf
from time import monotonic

import z3

from latchproof.prove.encode import Encoder, constant, equal, real
from latchproof.prove.holds import hold
from latchproof.run.program import Exact


@dataclass(frozen=True, slots=True)
class Stretch:
    """One cycle of `dt` seconds with `inputs`, then (if `wait` is not 0) `wait` seconds with `meanwhile`."""

    dt: Fraction
    inputs: Mapping[str, Exact]
    wait: Fraction
    meanwhile: Mapping[str, Exact]


@dataclass(frozen=True, slots=True)
class Found:
    """`reached` None: not found up to `depth` moments."""

    depth: int
    stretches: tuple[Stretch, ...] | None = None
    parameters: Mapping[str, Fraction] | None = None
    start: Mapping[str, Exact] | None = None


@dataclass(frozen=True)
class Step:
    before: Mapping[str, z3.ExprRef]
    inputs: Mapping[str, z3.ExprRef]
    dt: z3.ArithRef
    goal: z3.BoolRef
    waits: z3.BoolRef
    meanwhile: Mapping[str, z3.ExprRef]
    wait: z3.ArithRef


class Search:
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


def search(encoder: Encoder, *, holds: bool, deepest: int, seconds: float = inf) -> Found:
    """The goal in the fewest moments, up to `deepest`, or as deep as one comes in so many seconds."""
    engine = Search(encoder, holds=holds)
    end = monotonic() + seconds
    for depth in range(1, deepest + 1):
        if monotonic() > end:
            return Found(depth - 1)
        engine.deepen()
        reached = engine.reached()
        if reached is None:
            return Found(depth - 1)
        if reached:
            return _told(engine, depth)
    return Found(deepest)


def _told(engine: Search, depth: int) -> Found:
    from latchproof.prove.choose import choose

    engine.solver.add(engine.steps[-1].goal, z3.Not(engine.steps[-1].waits))
    model = choose(engine)
    system = engine.encoder.system

    def values(step: Step, inputs: Mapping[str, z3.ExprRef]) -> dict[str, Exact]:
        """A reading without its frame stays what was shown before."""
        made = {name: exact(model.eval(v, model_completion=True)) for name, v in inputs.items()}
        for name in made:
            sensor, _, kind = name.partition("@")
            shown = step.before.get(f"{sensor}@last")
            if kind == "reading" and shown is not None and not made[f"{sensor}@frame"]:
                made[name] = number(model, shown)
        return made

    stretches = tuple(
        Stretch(
            number(model, s.dt),
            values(s, s.inputs),
            number(model, s.wait) if is_true(model, s.waits) else Fraction(0),
            values(s, s.meanwhile),
        )
        for s in engine.steps
    )
    parameters = {p: number(model, x) for p, x in engine.encoder.parameters.items()}
    free = {
        s.name: exact(model.eval(engine.first[s.name], model_completion=True))
        for s in system.states
        if s.initial is None
    }
    return Found(depth, stretches, parameters, free)


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
