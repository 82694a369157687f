"""The facts of the world by themselves: what they say and remember, without the claim that they were gathered for."""

from dataclasses import replace

from latchproof.machine.cone import System
from latchproof.machine.terms import Term, variables


def facts_alone(system: System) -> System:
    """The part of a system that its constraints speak of. The same for all claims that rest on the same facts."""
    states = {s.name: s for s in system.states}
    reached: set[str] = set()
    waiting: list[Term] = [c.term for c in system.constraints]
    while waiting:
        for name in variables((waiting.pop(),)) - reached:
            reached.add(name)
            if name in states:
                first = states[name].initial
                waiting += [states[name].next] if first is None else [states[name].next, first]
    tuned = {p.name for p in system.parameters}
    linked: set[int] = set()
    while fresh := [r for r in system.requires if id(r) not in linked and variables((r.term,)) & reached & tuned]:
        linked |= {id(r) for r in fresh}
        reached |= variables(r.term for r in fresh)
    return replace(
        system,
        name="facts",
        kind="safe",
        states=tuple(s for s in system.states if s.name in reached),
        inputs=tuple(i for i in system.inputs if i.name in reached),
        parameters=tuple(p for p in system.parameters if p.name in reached),
        requires=tuple(r for r in system.requires if id(r) in linked),
        starts=tuple(c for c in system.starts if variables((c.term,)) & reached),
        goal=system.terms.false,
    )
