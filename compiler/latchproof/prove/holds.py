"""The hold step: one application of the cycle function over a long time in which nothing happens.

Used in search only. With inputs held (a sensor silent, or its frames going on with a reading that moves in a straight
line) every Boolean memory must be the same at the beginning and at the end, and so must every comparison that has a say
in what follows; all numbers being linear in time between comparisons, they are then the same in between, and ordinary
cycles of the same total time do the same. What a hold allows beyond that costs a proof or a trace, never a wrong
verdict: proofs are checked against the ordinary step, traces are replayed.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import assert_never

import z3

from latchproof.machine import terms as t
from latchproof.machine.model import DT
from latchproof.prove.encode import Encoder, Frame, encode_parts, real


@dataclass(frozen=True)
class Hold:
    frame: Frame
    condition: z3.BoolRef


def hold(
    encoder: Encoder,
    before: Mapping[str, z3.ExprRef],
    inputs: Mapping[str, z3.ExprRef],
    time: z3.ArithRef,
    *,
    idle_parts: bool,
) -> Hold:
    """A hold of `time` seconds from a state, and the condition under which it is one (its time at least one cycle).

    With `idle_parts`, comparisons that have no say may change meanwhile: fewer holds make a path, at the price of a
    larger condition. A path is found sooner with it, a proof sooner without.
    """
    system = encoder.system
    frame = encoder.frame(before, inputs, time)
    still = {name: _unmoved(name, x, before) for name, x in inputs.items()}
    nexts = [s.next for s in system.states]
    base = {**encoder.parameters, **before}
    start = encode_parts(nexts, {**base, **still, DT: real(0)})
    echoes = {s.name: frame.after[s.name] for s in system.states if s.echoes}
    end = encode_parts(nexts, {**base, **echoes, **inputs, DT: time})
    if idle_parts:
        constant = _constancy(nexts, start, end)
        same = [constant[id(term)] for term in nexts]
    else:
        same = [_unchanged(term, start, end) for term in t.walk(nexts)]
    for state in system.states:
        if state.sort == "bool":
            same += [start[id(state.next)] == before[state.name], frame.after[state.name] == before[state.name]]
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


def _constancy(
    roots: list[t.Term], start: Mapping[int, z3.ExprRef], end: Mapping[int, z3.ExprRef]
) -> dict[int, z3.BoolRef]:
    """For each term: it goes through the hold on one linear piece (a Boolean: unchanged), whatever the parts that have
    no say do. Of an "and" that is false, one false part that stays is enough; of a choice, only the chosen side
    counts."""
    yes = z3.BoolVal(True)
    done: dict[int, z3.BoolRef] = {}
    for term in t.walk(roots):
        parts = [done[id(c)] for c in t.children(term)]
        match term:
            case t.Bool() | t.Real() | t.Var():
                made = yes
            case t.Not() | t.Scale():
                made = parts[0]
            case t.Add():
                made = z3.And(*parts)
            case t.And(operands):
                blocked = [z3.And(z3.Not(start[id(o)]), p) for o, p in zip(operands, parts, strict=True)]
                made = z3.Or(z3.And(*parts), *blocked)
            case t.Or(operands):
                carried = [z3.And(start[id(o)], p) for o, p in zip(operands, parts, strict=True)]
                made = z3.Or(z3.And(*parts), *carried)
            case t.If(condition, _, _):
                made = z3.And(parts[0], z3.If(start[id(condition)], parts[1], parts[2]))
            case t.AtMost() | t.Less() | t.Equal():
                made = z3.And(_unchanged(term, start, end), *parts)
            case _:
                assert_never(term)
        done[id(term)] = made
    return done


def _unchanged(term: t.Term, start: Mapping[int, z3.ExprRef], end: Mapping[int, z3.ExprRef]) -> z3.BoolRef:
    """A comparison comes out the same at both ends; an equality counts as the two comparisons it is made of."""
    match term:
        case t.AtMost() | t.Less():
            return start[id(term)] == end[id(term)]
        case t.Equal(a, b):
            sides = [(m[id(a)] <= m[id(b)], m[id(b)] <= m[id(a)]) for m in (start, end)]
            return z3.And(sides[0][0] == sides[1][0], sides[0][1] == sides[1][1])
        case _:
            return z3.BoolVal(True)
