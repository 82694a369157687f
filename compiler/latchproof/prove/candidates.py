"""Facts that often hold of such machines, offered to the filter in `induction`: signs, ranges, and who implies whom."""

from collections.abc import Mapping
from itertools import pairwise, permutations

import z3

from latchproof.machine.terms import Real, values_of, walk
from latchproof.prove.encode import Encoder, real
from latchproof.prove.twins import twins

MOST_PAIRED = 24
"""Above this many Boolean cells pairs are not tried: the filter's cost grows with their square."""
MOST_BOUNDS = 500
"""Above this many numbers that bound a cell only those are tried that it may become."""


def candidates(encoder: Encoder, state: Mapping[str, z3.ExprRef]) -> list[z3.BoolRef]:
    system = encoder.system
    numbers = [s for s in system.states if s.sort == "number"]
    flags = [s for s in system.states if s.sort == "bool"]
    facts: list[z3.BoolRef] = [state[s.name] >= 0 for s in numbers]
    bounds = {s.name: sorted({t.value for t in walk((s.next,)) if isinstance(t, Real)}) for s in numbers}
    if sum(len(several) for several in bounds.values()) > MOST_BOUNDS:
        bounds = {s.name: sorted({t.value for t in values_of(s.next) if isinstance(t, Real)}) for s in numbers}
    for name, several in bounds.items():
        for bound in several:
            facts += [state[name] <= real(bound), state[name] >= real(bound)]
    for same in twins(system.states):
        facts += [state[a] == state[b] for a, b in pairwise(same)]
    for i in system.inputs:
        if i.low is None or i.high is None:
            continue
        for name in (f"{i.name.partition('@')[0]}@last", f"{i.name.partition('@')[0]}@was"):
            if name in state:
                facts += [state[name] >= real(i.low), state[name] <= real(i.high)]
    names = [s.name for s in flags]
    facts += [z3.Not(state[n]) for n in names]
    if len(names) <= MOST_PAIRED:
        facts += [z3.Implies(state[a], state[b]) for a, b in permutations(names, 2)]
        facts += [z3.Or(z3.Not(state[a]), z3.Not(state[b])) for a, b in permutations(names, 2) if a < b]
    times = [s.name for s in numbers if s.flows]
    if len(times) <= MOST_PAIRED:
        facts += [z3.Implies(z3.Not(state[f]), state[x] == 0) for x in times for f in names if f.partition("@")[0] in x]
        facts += [state[a] <= state[b] for a, b in permutations(times, 2)]
    return facts
