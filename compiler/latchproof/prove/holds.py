"""The hold step: one application of the cycle function over a long time in which nothing happens.

Used in search only. With inputs held (a sensor silent, or its frames going on with a reading that moves in a straight line),
every Boolean memory and every comparison must be the same at the beginning and at the end; all numbers being linear in time
between comparisons, they are then the same in between, and ordinary cycles of the same total time do the same. What it
allows beyond that costs a proof or a trace, never a wrong verdict: proofs are checked against the ordinary step, traces are
replayed.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import z3

from latchproof.machine.model import DT
from latchproof.machine.terms import AtMost, Comparison, Equal, Less, walk
from latchproof.prove.encode import Encoder, Frame, encode, real


@dataclass(frozen=True)
class Hold:
    frame: Frame
    condition: z3.BoolRef


def hold(
    encoder: Encoder, before: Mapping[str, z3.ExprRef], inputs: Mapping[str, z3.ExprRef], time: z3.ArithRef
) -> Hold:
    """A hold of `time` seconds from a state, and the condition under which it is one (its time at least one cycle)."""
    system = encoder.system
    frame = encoder.frame(before, inputs, time)
    still = {name: _unmoved(name, x, before) for name, x in inputs.items()}
    atoms = comparisons(encoder)
    base = {**encoder.parameters, **before}
    at_start = encode([*atoms, *(s.next for s in system.states)], {**base, **still, DT: real(0)})
    at_end = encode(atoms, {**base, **inputs, DT: time})
    same = [a == b for a, b in zip(at_start[: len(atoms)], at_end, strict=True)]
    for state, settled in zip(system.states, at_start[len(atoms) :], strict=True):
        if state.sort == "bool":
            same += [settled == before[state.name], frame.after[state.name] == before[state.name]]
        elif not state.flows:
            same.append(frame.after[state.name] == before[state.name])
    return Hold(frame, z3.And(real(system.shortest) <= time, frame.allowed, *same))


def _unmoved(name: str, x: z3.ExprRef, before: Mapping[str, z3.ExprRef]) -> z3.ExprRef:
    """At the beginning of a hold a reading and the truth behind it are still where they were."""
    sensor, _, part = name.partition("@")
    match part:
        case "reading":
            return before.get(f"{sensor}@last", x)
        case "truth":
            return before.get(f"{sensor}@was", x)
        case _:
            return x


def comparisons(encoder: Encoder) -> list[Comparison]:
    """Every comparison that decides anything; an equality counts as the two comparisons it is made of."""
    system = encoder.system
    found: list[Comparison] = []
    for term in walk([*(s.next for s in system.states), system.goal]):
        match term:
            case AtMost() | Less():
                found.append(term)
            case Equal(a, b):
                found += [AtMost(a, b), AtMost(b, a)]
            case _:
                pass
    return found
