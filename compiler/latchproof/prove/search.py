"""Bounded search with holds: the inputs that reach the goal in the fewest moments.

Once a model is found its free choices are made as a person would make them (`choose`).
"""

from collections.abc import Mapping
from fractions import Fraction
from math import inf
from time import monotonic

import z3

from latchproof.prove.choose import choose
from latchproof.prove.encode import Encoder
from latchproof.prove.found import Found as Found
from latchproof.prove.found import Stretch
from latchproof.prove.unrolling import Step, Unrolling, exact, is_true, number
from latchproof.run.program import Exact


def search(encoder: Encoder, *, holds: bool, deepest: int, seconds: float = inf) -> Found:
    """The goal in the fewest moments, up to `deepest`, or as deep as one comes in so many seconds."""
    engine = Unrolling(encoder, holds=holds)
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


def _told(engine: Unrolling, depth: int) -> Found:
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
