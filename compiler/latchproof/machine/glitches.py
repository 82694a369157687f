"""A latch that sets although nothing in the rules says so: entries that read one another late disagreed for a cycle.

Beside the rules as the device reads them runs the same logic read in one cycle, with latches of its own. Whatever keeps
time (delays, time-outs, sequences, channels with their ramps) is taken from the first: there a cycle more or less is no
glitch, and a signal that passes a delay was no glitch either. A latch of the first may set only if in the second its
condition was true at some time within as many cycles as the longest chain of references is late.
"""

from collections.abc import Sequence
from dataclasses import replace

from latchproof.machine.builder import Builder
from latchproof.machine.model import Constraint, Glitch, Property, State
from latchproof.machine.names import Names
from latchproof.machine.nodes import Node
from latchproof.machine.product import OTHER, beside
from latchproof.machine.reading import Reading
from latchproof.machine.sensors import sensor
from latchproof.machine.terms import Term, Terms, sort_of
from latchproof.rules.model import Latch, RuleSet


def glitches(
    b: Builder, reading: Reading, rules: RuleSet, nodes: Sequence[Node]
) -> tuple[tuple[Property, ...], tuple[Constraint, ...]]:
    """A property for each latch, and what is known of the second machine's memory at power-up: it is the first one's.

    Adds the memory of both to the builder's. `nodes` are in the order of evaluation.
    """
    chain = reading.longest_chain()
    if not chain or not rules.latches:
        return (), ()
    t = b.t
    other, known = _at_once(b, reading, rules, nodes)
    sets = [other.sets[latch.name] for latch in rules.latches]
    states, early = beside(t, other.states, sets, known)
    mine = {s.name: s for s in b.states}
    starts: list[Constraint] = []
    for s in states:
        first = mine.get(s.name.removeprefix(OTHER))
        wakes = first is not None and first.initial is None
        b.states.append(replace(s, initial=None) if wakes else s)
        if first is not None and wakes:
            starts.append(Constraint(_same(t, s, first), "one power-up"))
    awake = rules.device.starts == "any"
    made = [_glitch(b, latch, now, chain, awake=awake) for latch, now in zip(rules.latches, early, strict=True)]
    return tuple(made), tuple(starts)


def _same(t: Terms, s: State, other: State) -> Term:
    one, two = t.var(s.name, s.sort), t.var(other.name, other.sort)
    return t.same(one, two) if s.sort == "bool" else t.equal(one, two)


def _glitch(b: Builder, latch: Latch, early: Term, chain: int, *, awake: bool) -> Property:
    """`awake`: memory may hold anything at power-up, and what comes of that in the first cycles is no glitch."""
    t, name = b.t, f"glitch {latch.name}"
    meant, now = early, early
    for k in range(1, chain + 1):
        before = t.var(f"{name}@{k}", "bool")
        b.states.append(State(before.name, "bool", t.bool(awake), now))
        meant, now = t.any(meant, before), before
    begins = t.all(b.definitions[latch.name], t.not_(t.var(latch.name, "bool")))
    return Property(f"glitch.{latch.name}", "safe", t.all(begins, t.not_(meant)), unwritten=Glitch(latch.name))


def _at_once(b: Builder, reading: Reading, rules: RuleSet, nodes: Sequence[Node]) -> tuple[Builder, dict[str, Term]]:
    """The logic read in one cycle, and what of it is taken from the first machine."""
    other, known = Builder(Terms(), Names(rules)), dict[str, Term]()
    other.given = {}

    def given(name: str, term: Term) -> Term:
        known[f"given {name}"] = term
        return other.t.var(f"given {name}", sort_of(term))

    for s in rules.sensors:
        other.definitions.update(sensor(other.t, s).definitions)
    if other.names.pulse is not None:
        other.definitions[other.names.pulse] = given(other.names.pulse, b.definitions[other.names.pulse])
    timed = {latch.name: latch for latch in rules.latches if latch.timeout is not None}
    logic = {s.name for s in rules.signals} | {c.name for c in rules.counters} | {r.role for r in rules.roles}
    logic |= {v.name for v in rules.values} | {s.name for s in rules.samples}
    logic |= {latch.name for latch in rules.latches} - timed.keys()
    for node in nodes:
        other.owner = node.name
        if node.name in logic:
            node.build(other)
            continue
        for name in node.defines:
            other.definitions[name] = given(name, b.definitions[name])
        if node.name in timed:
            other.sets[node.name] = other.t.any(*(other.signal(s) for s in timed[node.name].sets))
    other.owner = None
    other.finish()
    for (own, x), name in other.given.items():
        known[name] = reading.entries[own, x].output
    return other, known
