"""The rule set as a picture: the named things and what each reads, in this cycle or from the one before.

Unlike the order of evaluation this graph has the rules between their conditions and the channels they act on, and it
has the references to the cycle before. It says what a reader may want to see; nothing is evaluated by it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from latchproof.machine.actions import acting_on
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Button,
    Channel,
    Control,
    Counter,
    Fact,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Pulse,
    Role,
    Rule,
    RuleSet,
    Sample,
    Sensor,
    Sequence,
    Switch,
    Tune,
)

Thing = (
    Button
    | Channel
    | Control
    | Counter
    | Fact
    | Latch
    | NamedSignalDefinition
    | NamedValue
    | Pulse
    | Role
    | Rule
    | Sample
    | Sensor
    | Sequence
    | Switch
    | Tune
)


OWN = "@own"
"""Marks a mention of what the pilot alone would give a channel."""


@dataclass(frozen=True, slots=True)
class Link:
    """`target` reads `source`; `memory`: as it was in the cycle before."""

    source: str
    target: str
    memory: bool


@dataclass(frozen=True)
class Overview:
    """Everything with a name, in the order of the text within each kind, and who reads whom."""

    things: dict[str, Thing]
    links: tuple[Link, ...]

    def reaching(self, names: Iterable[str]) -> frozenset[str]:
        """The names themselves and everything they depend on, over any number of cycles."""
        sources: dict[str, list[str]] = {}
        for link in self.links:
            sources.setdefault(link.target, []).append(link.source)
        seen = {name for name in names if name in self.things}
        waiting = list(seen)
        while waiting:
            for source in sources.get(waiting.pop(), ()):
                if source not in seen:
                    seen.add(source)
                    waiting.append(source)
        return frozenset(seen)


def overview(rules: RuleSet) -> Overview:
    things = things_of(rules)
    links: dict[Link, None] = {}
    for name, thing in things.items():
        for read, memory in _given(_reads(thing, rules), rules):
            source = owner(read, things)
            if source is not None:
                links[Link(source, name, memory or source == name)] = None
    plain = {(link.source, link.target) for link in links if not link.memory}
    kept = (link for link in links if not link.memory or (link.source, link.target) not in plain)
    return Overview(things, tuple(kept))


def things_of(rules: RuleSet) -> dict[str, Thing]:
    """By name. A role gives its name only where nothing else has it."""
    given: tuple[Thing, ...] = () if rules.device.pulse is None else (rules.device.pulse,)
    inputs: tuple[Thing, ...] = (*given, *rules.switches, *rules.buttons, *rules.controls, *rules.sensors)
    numbers: tuple[Thing, ...] = (*rules.tunes, *rules.facts)
    logic: tuple[Thing, ...] = (*rules.values, *rules.signals, *rules.samples, *rules.latches, *rules.counters)
    doing: tuple[Thing, ...] = (*rules.rules, *rules.sequences, *rules.channels)
    named = {_name(thing): thing for thing in (*inputs, *numbers, *logic, *doing)}
    return named | {role.role: role for role in rules.roles if role.role not in named}


def owner(name: str, things: dict[str, Thing]) -> str | None:
    """Whose name it is: `recover` for `recover.voice`, `gear` for its phase `gear.lift`."""
    if name in things:
        return name
    whole = name.rpartition(".")[0]
    return whole if whole in things else None


def mentions(x: object) -> Iterator[tuple[str, bool]]:
    """Every name below `x`, and whether it is meant as it was in the cycle before."""
    return ((name.removesuffix(OWN), before) for name, before in _mentions(x))


def _mentions(x: object) -> Iterator[tuple[str, bool]]:
    """The same, with `OWN` behind a name of which the pilot's own value is meant."""
    stack: list[tuple[object, bool]] = [(x, False)]
    while stack:
        node, before = stack.pop()
        match node:
            case str() | None:
                continue
            case e.PreviousNumber(operand) | e.PreviousSignal(operand):
                stack.append((operand, True))
            case (
                e.Controlled(name)
                | e.ChannelState(name)
                | e.NamedSignal(name)
                | e.NamedNumber(name)
                | e.Output(name)
                | e.Parameter(name)
                | e.Held(name)
                | e.Pressed(name)
                | e.Reading(name)
                | e.Truth(name)
                | e.Age(name)
                | e.SensorState(name)
                | e.AtPosition(name)
            ):
                yield name, before
            case e.Own(name):
                yield f"{name}{OWN}", before
            case e.FromTable(name, values):
                yield name, before
                stack.extend((value, before) for value in values)
            case _:
                stack.extend((part, before) for part in parts(node))


def _reads(thing: Thing, rules: RuleSet) -> Iterator[tuple[str, bool]]:
    match thing:
        case Channel(name=name, source=source):
            yield from _mentions(source)
            yield from _acted_on(name, rules)
        case Control(name=name):
            yield from _acted_on(name, rules)
        case Rule(condition=condition):
            yield from _mentions(condition)
        case Sequence(condition=condition, phases=phases):
            yield from _mentions((condition, tuple((p.lasts, p.until) for p in phases)))
        case _:
            yield from _mentions(thing)


def _given(reads: Iterable[tuple[str, bool]], rules: RuleSet) -> Iterator[tuple[str, bool]]:
    """The pilot's own value of a channel is no reading of the channel, but of what it follows."""
    channels = {f"{c.name}{OWN}": c for c in rules.channels}
    for name, before in reads:
        if name in channels:
            yield from ((read, before or earlier) for read, earlier in _mentions(channels[name].source))
        else:
            yield name.removesuffix(OWN), before


def _acted_on(name: str, rules: RuleSet) -> Iterator[tuple[str, bool]]:
    for acting in acting_on(rules, name):
        yield acting.rule, False
        yield from _mentions(tuple(p for p in parts(acting.action) if not isinstance(p, str)))


def _name(thing: Thing) -> str:
    return thing.role if isinstance(thing, Role) else thing.name
