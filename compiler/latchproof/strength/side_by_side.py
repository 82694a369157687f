"""Two versions of the rules in the same world: a machine that has both and a promise that nobody sees a difference."""

from dataclasses import replace

from latchproof.machine.model import Machine, Property, State
from latchproof.machine.product import OTHER, translated
from latchproof.machine.terms import Term, Terms, sort_of

DIFFERENCE = "a difference"


def side_by_side(one: Machine, other: Machine) -> Machine:
    """Both with the same inputs, tunes and facts; its only property is broken in a cycle in which a channel or an
    announcement differs.

    Memory that is the same in both is there once. Facts that speak of what the rules do are taken from the first: until
    the first difference, there is none in what the rules do.
    """
    t = one.terms
    mine = {s.name: s for s in one.states}
    shared = {s.name for s in other.states if s.name in mine and mine[s.name].sort == s.sort}
    while True:
        meant: dict[str, Term] = {s.name: t.var(OTHER + s.name, s.sort) for s in other.states if s.name not in shared}
        nexts = translated(t, (s.next for s in other.states), meant)
        apart = {
            s.name
            for s, after in zip(other.states, nexts, strict=True)
            if s.name in shared and (after is not mine[s.name].next or _starts_apart(t, s, mine[s.name]))
        }
        if not apart:
            break
        shared -= apart
    own = tuple(
        State(OTHER + s.name, s.sort, _first(t, s), after, s.flows, s.echoes)
        for s, after in zip(other.states, nexts, strict=True)
        if s.name not in shared
    )
    seen = [name for name in outputs(one) if name in other.definitions]
    there = translated(t, (other.definitions[name] for name in seen), meant)
    differs = t.any(*(_differ(t, one.definitions[name], x) for name, x in zip(seen, there, strict=True)))
    return replace(one, states=(*one.states, *own), properties=(Property(DIFFERENCE, "safe", differs),))


def outputs(machine: Machine) -> tuple[str, ...]:
    """What the model or the pilot can notice: channels, and announcements."""
    rules = machine.rules
    names = [x.name for x in rules.rules] + [x.name for x in rules.sequences]
    told = [f"{name}.{kind}" for name in names for kind in ("voice", "tone", "vibration", "announced")]
    return tuple(n for n in (*(c.name for c in rules.channels), *told) if n in machine.definitions)


def _first(t: Terms, s: State) -> Term | None:
    return None if s.initial is None else translated(t, (s.initial,), {})[0]


def _starts_apart(t: Terms, a: State, b: State) -> bool:
    return _first(t, a) is not b.initial


def _differ(t: Terms, a: Term, b: Term) -> Term:
    return t.not_(t.equal(a, b)) if sort_of(a) == "number" else t.not_(t.same(a, b))
