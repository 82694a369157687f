"""The cone of influence of a property: the part of the machine that can matter for it, as a system of its own."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from latchproof.machine.model import DT, Constraint, Input, Machine, Parameter, Property, State
from latchproof.machine.terms import Term, Terms, Var, children, variables


@dataclass(frozen=True)
class System:
    """States, inputs and constraints over terms, and a cycle to be looked for: one in which `goal` is true.

    A step takes between `shortest` and `longest` seconds. Everything a step may do is allowed unless a constraint
    forbids it.
    """

    name: str
    kind: Literal["safe", "reach"]
    terms: Terms
    states: tuple[State, ...]
    inputs: tuple[Input, ...]
    parameters: tuple[Parameter, ...]
    requires: tuple[Constraint, ...]
    starts: tuple[Constraint, ...]
    constraints: tuple[Constraint, ...]
    goal: Term
    shortest: Fraction
    longest: Fraction


def cone(machine: Machine, property_: Property, *, facts: bool = True) -> System:
    """The system of a property. Without `facts` the world may do anything: what is proved there holds all the more."""
    arriving = property_.arriving if facts else ()
    return system_for(machine, property_.name, property_.kind, property_.signal, arriving, facts=facts)


def system_for(
    machine: Machine,
    name: str,
    kind: Literal["safe", "reach"],
    goal: Term,
    arriving: tuple[Constraint, ...] = (),
    *,
    facts: bool = True,
) -> System:
    """What `goal` can depend on. A constraint or assumption belongs to it when it shares a variable with it."""
    states = {s.name: s for s in (*machine.states, *machine.watching)}
    inputs = {i.name: i for i in (*machine.inputs, *machine.picks)}
    known = (*machine.constraints, *(a.constraint for a in machine.assumed), *arriving) if facts else ()
    facts_reach = [_closure(f.term, states) for f in known]
    reached: set[str] = set(_closure(goal, states))
    used: list[bool] = [False] * len(known)
    while True:
        world = {n for n in reached if n in states or n in inputs}
        fresh = [i for i, names in enumerate(facts_reach) if not used[i] and (names & world)]
        if not fresh:
            break
        for i in fresh:
            used[i] = True
            reached |= facts_reach[i]
    in_facts = tuple(f for f, u in zip(known, used, strict=True) if u)
    # what ties a cell to one that does not matter, which is free, says nothing
    starts = tuple(s for s in machine.starts if variables((s.term,)) <= reached)
    parameters = {p.name: p for p in machine.parameters}
    requires = _linked_requires(machine, {n for n in reached if n in parameters})
    for r in requires:
        reached |= variables((r.term,))
    return System(
        name,
        kind,
        machine.terms,
        tuple(s for s in states.values() if s.name in reached),
        tuple(i for i in inputs.values() if i.name in reached),
        tuple(p for p in machine.parameters if p.name in reached),
        requires,
        starts,
        in_facts,
        goal,
        machine.rules.cycle.shortest,
        machine.rules.cycle.longest,
    )


def _closure(root: Term, states: dict[str, State]) -> frozenset[str]:
    """Every name below the root, through cells to what they become and start with."""
    return frozenset(_names(root, states))


def _names(root: Term, states: dict[str, State]) -> Iterator[str]:
    """Each name once; each shared part is looked at once."""
    names: set[str] = set()
    seen: set[int] = set()
    waiting = [root]
    while waiting:
        term = waiting.pop()
        if id(term) in seen:
            continue
        seen.add(id(term))
        if not isinstance(term, Var):
            waiting.extend(children(term))
        elif term.name != DT and term.name not in names:
            names.add(term.name)
            yield term.name
            if term.name in states:
                cell = states[term.name]
                waiting += [cell.next] if cell.initial is None else [cell.next, cell.initial]


def _linked_requires(machine: Machine, names: set[str]) -> tuple[Constraint, ...]:
    """The `require` lines that bear on these tunes, directly or through one another."""
    spoken = [variables((r.term,)) for r in machine.requires]
    places: dict[str, list[int]] = {}
    for k, several in enumerate(spoken):
        for name in several:
            places.setdefault(name, []).append(k)
    chosen: set[int] = set()
    waiting = list(names)
    while waiting:
        for k in places.pop(waiting.pop(), ()):
            chosen.add(k)
            waiting.extend(spoken[k])
    return tuple(r for k, r in enumerate(machine.requires) if k in chosen)


def restrict(machine: Machine, property_: Property, names: frozenset[str]) -> Machine:
    """The machine as far as the property and some defined names reach: what is needed to replay a trace of it.

    With a name comes all that is defined of it (`height` brings its age along) and what the world gives it, even where
    that cannot matter (`a or not a`): whoever reads the claim directly asks for it.
    """
    states = {s.name: s for s in (*machine.states, *machine.watching)}
    bases = {name.partition("@")[0] for name in names}
    names = frozenset(name for name in machine.definitions if name.partition("@")[0] in bases)
    system = cone(machine, property_)
    wanted = {s.name for s in system.states} | {i.name for i in system.inputs}
    wanted |= {i.name for i in machine.inputs if i.name.partition("@")[0] in bases}
    for name in names:
        wanted |= _closure(machine.definitions[name], states)
    facts = (*machine.constraints, *(a.constraint for a in machine.assumed))
    used: set[int] = set()
    while fresh := [c for c in facts if id(c) not in used and _closure(c.term, states) & wanted]:
        for c in fresh:
            used.add(id(c))
            wanted |= _closure(c.term, states)
    available = wanted | {p.name for p in machine.parameters} | {DT}
    definitions = {
        name: term
        for name, term in machine.definitions.items()
        if name in names or all(n in available for n in _names(term, states))
    }
    return replace(
        machine,
        states=tuple(s for s in machine.states if s.name in wanted),
        inputs=tuple(i for i in machine.inputs if i.name in wanted),
        constraints=tuple(c for c in machine.constraints if id(c) in used),
        starts=tuple(c for c in machine.starts if variables((c.term,)) <= available),
        definitions=definitions,
        watching=tuple(s for s in machine.watching if s.name in wanted),
        picks=tuple(i for i in machine.picks if i.name in wanted),
        assumed=tuple(a for a in machine.assumed if id(a.constraint) in used),
        properties=(property_,),
    )
