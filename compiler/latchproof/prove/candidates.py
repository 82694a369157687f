"""Facts that often hold of such machines, offered to the filter in `induction`: signs, ranges, and who implies whom."""

from collections.abc import Mapping, Sequence
from itertools import pairwise, permutations

import z3

from latchproof.machine.model import State
from latchproof.machine.terms import Real, Var, children, values_of, walk
from latchproof.prove.encode import Encoder, real
from latchproof.prove.twins import twins

MOST_PAIRED = 24
"""Above this many Boolean cells not all pairs are tried: the filter's cost grows with their square."""
FURTHEST = 60
"""Terms that are looked at for what a cell reads."""
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
    pairs = [*permutations(names, 2)] if len(names) <= MOST_PAIRED else neighbours(system.states)
    facts += [z3.Implies(state[a], state[b]) for a, b in pairs]
    if len(names) <= MOST_PAIRED:
        facts += [z3.Or(z3.Not(state[a]), z3.Not(state[b])) for a, b in pairs if a < b]
    times = [s.name for s in numbers if s.flows]
    if len(times) <= MOST_PAIRED:
        facts += [z3.Implies(z3.Not(state[f]), state[x] == 0) for x in times for f in names if f.partition("@")[0] in x]
        facts += [state[a] <= state[b] for a, b in permutations(times, 2)]
    return facts


def neighbours(states: Sequence[State]) -> list[tuple[str, str]]:
    """Pairs of Boolean cells, both ways round, of which one reads the other, as it was or as it becomes, with no cell
    in between."""
    flags = {s.name for s in states if s.sort == "bool"}
    made = {id(s.next): s.name for s in states if s.sort == "bool"}
    pairs: dict[tuple[str, str], None] = {}
    for s in states:
        if s.sort != "bool":
            continue
        seen: set[int] = set()
        waiting = [*children(s.next)]
        while waiting and len(seen) < FURTHEST:
            term = waiting.pop()
            if id(term) in seen:
                continue
            seen.add(id(term))
            read = made.get(id(term)) or (term.name if isinstance(term, Var) else "")
            if read in flags and read != s.name:
                pairs |= {(s.name, read): None, (read, s.name): None}
            else:
                waiting.extend(children(term))
    return list(pairs)
