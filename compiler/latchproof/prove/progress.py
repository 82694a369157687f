"""Facts must not stop time: in every reachable state some allowed step exists, else everything would be "proved" there.

A few ways of going on are tried as witnesses. Either one of them is allowed in every state within the sensors' ranges,
or the Horn engine shows that no state in which all of them are forbidden can be reached, by an invariant that is
checked here.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import product

import z3

from latchproof.prove.encode import Encoder, real
from latchproof.prove.horn import horn

OF_SENSORS = frozenset({"frame", "reading", "truth"})
MOST_CHOICES = 16
"""Ways to go on that are tried beyond those in which nothing moves."""

Choice = Mapping[str, z3.ExprRef]
"""What switches and sticks do in a way of going on."""


def always_goes_on(encoder: Encoder) -> bool | None:
    """True when some step is possible in every reachable state; None when that is not settled."""
    state = encoder.state("")
    solver = z3.SolverFor("QF_LRA")
    solver.add(encoder.tuned(), *_in_ranges(encoder, state))
    blocked = []
    still: Choice = {}
    for frames, dt in product((False, True), (encoder.system.shortest, encoder.system.longest)):
        blocked.append(_blocked(encoder, state, still, dt, frames=frames))
        if solver.check(blocked[-1]) == z3.unsat:
            return True
        solver.add(blocked[-1])
    for choice in _choices(encoder, state, solver):
        for frames, dt in product((False, True), (encoder.system.shortest, encoder.system.longest)):
            blocked.append(_blocked(encoder, state, choice, dt, frames=frames))
            solver.add(blocked[-1])
        if solver.check() == z3.unsat:
            return True
    stuck = z3.And(*blocked)
    answer = horn(encoder, "ordinary and holds", stuck)
    if answer.invariant is None:
        return None
    return True if _holds(encoder, state, answer.invariant, stuck) else None


def _choices(encoder: Encoder, state: Mapping[str, z3.ExprRef], solver: z3.Solver) -> Iterator[Choice]:
    """What switches and sticks may do in a state in which nothing that was tried so far is allowed."""
    inputs, dt = encoder.inputs("@in"), z3.Real("@dt")
    frame = encoder.frame(state, inputs, dt)
    free = [i.name for i in encoder.system.inputs if i.name.partition("@")[2] not in OF_SENSORS]
    for _ in range(MOST_CHOICES):
        solver.push()
        solver.add(encoder.ordinary(dt), frame.allowed)
        found = solver.check() == z3.sat
        choice = {name: solver.model().eval(inputs[name], model_completion=True) for name in free} if found else None
        solver.pop()
        if choice is None:
            return
        yield choice


def _blocked(
    encoder: Encoder, state: Mapping[str, z3.ExprRef], choice: Choice, dt: Fraction, *, frames: bool
) -> z3.BoolRef:
    inputs = {**_witness(encoder, state, frames=frames), **choice}
    return z3.Not(encoder.frame(state, inputs, real(dt)).allowed)


def _holds(encoder: Encoder, state: Mapping[str, z3.ExprRef], invariant: str, stuck: z3.BoolRef) -> bool:
    """The invariant is true at the start, kept by ordinary steps, and excludes being stuck."""
    names = {**encoder.parameters, **state}
    known = z3.parse_smt2_string(f"(assert {invariant})", decls=names)[0]
    inputs, dt = encoder.inputs("@in"), z3.Real("@dt")
    frame = encoder.frame(state, inputs, dt)
    after = z3.substitute(known, *[(state[name], frame.after[name]) for name in state])
    queries = (
        (encoder.tuned(), encoder.initial(state), z3.Not(known)),
        (encoder.tuned(), encoder.ordinary(dt), frame.allowed, known, z3.Not(after)),
        (encoder.tuned(), known, stuck),
    )
    for query in queries:
        solver = z3.Solver()
        solver.add(*query)
        if solver.check() != z3.unsat:
            return False
    return True


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
