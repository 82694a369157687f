"""Facts must not stop time: in every reachable state some allowed step exists, else everything would be "proved" there.

A few ways of going on are tried as witnesses: for one of them it must hold, in every state that ordinary steps can reach,
that the step it gives is allowed. Failing that, the inputs are eliminated and a state that allows no step is looked for.
"""

from collections.abc import Mapping
from itertools import product

import z3

from latchproof.prove.encode import Encoder, real


def always_goes_on(encoder: Encoder) -> bool | None:
    """True when some step is possible in every state within the sensors' ranges; None when that is not settled."""
    state = encoder.state("")
    for frames, dt in product((False, True), (encoder.system.shortest, encoder.system.longest)):
        inputs = _witness(encoder, state, frames=frames)
        frame = encoder.frame(state, inputs, real(dt))
        solver = z3.SolverFor("QF_LRA")
        solver.add(encoder.tuned(), *_in_ranges(encoder, state), z3.Not(frame.allowed))
        if solver.check() == z3.unsat:
            return True
    return None


def _witness(encoder: Encoder, state: Mapping[str, z3.ExprRef], *, frames: bool) -> dict[str, z3.ExprRef]:
    """Nothing moves: truths and readings stay, frames all arrive (showing the truth) or all do not."""
    inputs: dict[str, z3.ExprRef] = {}
    for i in encoder.system.inputs:
        sensor, _, kind = i.name.partition("@")
        truth = state.get(f"{sensor}@was")
        match kind:
            case "frame":
                inputs[i.name] = z3.BoolVal(frames)
            case "truth" if truth is not None:
                inputs[i.name] = truth
            case "reading":
                inputs[i.name] = truth if truth is not None else state.get(f"{sensor}@last", real(i.low or 0))
            case _ if i.sort == "bool":
                inputs[i.name] = z3.BoolVal(False)
            case _:
                inputs[i.name] = real(max(i.low or 0, min(i.high or 0, 0)))
    return inputs


def _in_ranges(encoder: Encoder, state: Mapping[str, z3.ExprRef]) -> list[z3.BoolRef]:
    """Readings and truths lie in their ranges in every state: kept by every step, since the inputs do."""
    bounds: list[z3.BoolRef] = []
    for i in encoder.system.inputs:
        sensor, _, kind = i.name.partition("@")
        cell = state.get(f"{sensor}@{'was' if kind == 'truth' else 'last'}")
        if kind in {"truth", "reading"} and cell is not None and i.low is not None and i.high is not None:
            bounds += [real(i.low) <= cell, cell <= real(i.high)]
    return bounds


