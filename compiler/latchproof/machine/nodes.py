"""Every element of a rule set as a node of the dependency graph: what it defines, what it reads, how it is built."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import assert_never

from latchproof.machine import elements
from latchproof.machine.actions import Acting, all_acting, announcements, channel_stack, unordered
from latchproof.machine.builder import Builder
from latchproof.machine.channels import stack
from latchproof.machine.model import State
from latchproof.machine.reads import parts, references
from latchproof.machine.sequences import PhaseEnd, sequence
from latchproof.machine.terms import Term, variables
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Announce,
    Channel,
    Control,
    Counter,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Role,
    Rule,
    RuleSet,
    Sample,
    Sequence,
)
from latchproof.source import Span

Named = Channel | Control | Counter | Latch | NamedSignalDefinition | NamedValue | Role | Rule | Sample | Sequence
ANNOUNCED = ("voice", "tone", "vibration", "announced")


@dataclass(frozen=True, slots=True)
class Node:
    name: str
    defines: tuple[str, ...]
    reads: tuple[tuple[str, e.Located], ...]
    span: Span
    build: Callable[[Builder], None]
    may_read_itself: bool = False


def nodes_of(rules: RuleSet) -> list[Node]:
    """In the order of the text within each kind."""
    logic: tuple[Named, ...] = (*rules.values, *rules.signals, *rules.samples, *rules.latches, *rules.counters)
    doing: tuple[Named, ...] = (*rules.rules, *rules.sequences, *rules.roles, *rules.controls, *rules.channels)
    acting = all_acting(rules)
    return [_node(x, rules, acting) for x in (*logic, *doing)] + [_own(channel) for channel in rules.channels]


def _node(x: Named, rules: RuleSet, acting: Mapping[str, tuple[Acting, ...]]) -> Node:
    match x:
        case NamedValue(name=name, value=value):
            return Node(name, (name,), tuple(references(value)), x.span, lambda b: _define(b, name, b.number(value)))
        case NamedSignalDefinition(name=name, signal=signal) | Role(role=name, signal=signal):
            return _signal(name, signal, x.span)
        case Sample():
            reads = tuple(references((x.value, x.when, x.first)))
            return Node(x.name, (x.name,), reads, x.span, lambda b: _sample(b, x), may_read_itself=True)
        case Latch():
            reads = tuple(references((x.sets, x.resets, x.timeout)))
            return Node(x.name, (x.name,), reads, x.span, lambda b: _latch(b, x), may_read_itself=True)
        case Counter():
            reads = tuple(references((x.counts, x.clears)))
            return Node(x.name, (x.name,), reads, x.span, lambda b: _counter(b, x), may_read_itself=True)
        case Rule():
            everys = tuple(a.every for a in announcements(x.actions))
            reads = tuple(references((x.condition, everys)))
            return Node(x.name, (x.name, *announced(x.name)), reads, x.span, lambda b: _rule(b, x))
        case Sequence():
            everys = tuple(a.every for p in x.phases for a in announcements(p.actions))
            reads = tuple(references((x.condition, tuple((p.lasts, p.until) for p in x.phases), everys)))
            phases = tuple(f"{x.name}.{p.name}" for p in x.phases)
            defines = tuple(dict.fromkeys((x.name, *announced(x.name), *phases)))
            return Node(x.name, defines, reads, x.span, lambda b: _sequence(b, x))
        case Channel() | Control():
            return _output(x, rules, acting.get(x.name, ()))
        case _:
            assert_never(x)


def told(name: str) -> str:
    """The entry that announces for a rule or sequence."""
    return f"{name}.announced"


def announced(name: str) -> tuple[str, ...]:
    """What can be asked about the announcements of a rule or sequence."""
    return tuple(f"{name}.{kind}" for kind in ANNOUNCED)


def _define(b: Builder, name: str, term: Term) -> None:
    b.definitions[name] = term


def _signal(name: str, signal: e.Signal, span: Span) -> Node:
    reads = tuple(references(signal))
    loops = any(read == name for read, _ in reads) and _remembers(signal)

    def build(b: Builder) -> None:
        b.definitions[name] = b.signal(signal)
        if loops:
            b.states.append(State(name, "bool", b.t.false, b.definitions[name]))

    return Node(name, (name,), reads, span, build, may_read_itself=loops)


def _remembers(signal: e.Signal) -> bool:
    """Whether a delay or pulse stands in it, so that a reference to itself has a last cycle to read."""
    stack_: list[object] = [signal]
    while stack_:
        node = stack_.pop()
        if isinstance(node, e.Timed):
            return True
        if not isinstance(node, str):
            stack_.extend(parts(node))
    return False


def _own(channel: Channel) -> Node:
    """What the pilot alone would give: the channel's source with the controls as they are held."""
    name = f"{channel.name}@own"
    reads = tuple((read, where) for read, where in references(channel.source) if not read.endswith("@out"))

    def build(b: Builder) -> None:
        t = b.t
        with b.reading_as(channel.name):
            value = b.worked_out(channel.source, raw=True)
        own = t.clamp(t.real(channel.low), value, t.real(channel.high))
        b.definitions[name] = own

    return Node(name, (name,), reads, channel.span, build)


def _any(b: Builder, signals: tuple[e.Signal, ...]) -> Term:
    return b.t.any(*(b.operand(s) for s in signals))


def _sample(b: Builder, x: Sample) -> None:
    first = b.amount(x.first)
    at_start = first if variables((first,)) <= b.names.tunes.keys() | b.names.facts.keys() else b.t.zero
    holds = b.span_of(e.NamedNumber(x.name, span=x.span))
    element = elements.sample(b.t, x.name, b.amount(x.value), b.operand(x.when), first, at_start, holds)
    b.definitions[x.name] = b.keep(element)


def _latch(b: Builder, x: Latch) -> None:
    timeout = None
    if x.timeout is not None:
        until, blocked = x.timeout.blocked_until, x.timeout.blocked_for
        timeout = elements.TimeOut(
            b.span(x.timeout.duration),
            None if until is None else b.operand(until),
            None if blocked is None else b.span(blocked),
        )
    b.sets[x.name] = _any(b, x.sets)
    element = elements.latch(b.t, x.name, b.sets[x.name], _any(b, x.resets), set_wins=x.set_wins, timeout=timeout)
    b.definitions[x.name] = b.keep(element)


def _counter(b: Builder, x: Counter) -> None:
    element = elements.counter(b.t, x.name, b.operand(x.counts), _any(b, x.clears), x.limit)
    b.definitions[x.name] = b.keep(element)


def _rule(b: Builder, x: Rule) -> None:
    b.definitions[x.name] = b.signal(x.condition)
    with b.reading_as(told(x.name), x.name):
        _announce(b, x.name, [(b.operand(x.condition), a) for a in announcements(x.actions)])


def _sequence(b: Builder, x: Sequence) -> None:
    condition = b.operand(x.condition)
    ends = tuple(
        PhaseEnd(None if p.lasts is None else b.span(p.lasts), None if p.until is None else b.operand(p.until))
        for p in x.phases
    )
    phases = sequence(b.t, x.name, condition, ends)
    b.states.extend(phases.states)
    b.definitions[x.name] = condition
    active = {f"{x.name}.{p.name}": on for on, p in zip(phases.active, x.phases, strict=True)}
    with b.reading_as(told(x.name), x.name):
        made = [(b.seen(name, active[name]), a) for name, a in _said_in(x)]
        _announce(b, x.name, made)
    b.definitions.update(active)


def _said_in(x: Sequence) -> list[tuple[str, Announce]]:
    return [(f"{x.name}.{p.name}", a) for p in x.phases for a in announcements(p.actions)]


def _announce(b: Builder, name: str, made: list[tuple[Term, Announce]]) -> None:
    for kind in ("voice", "tone", "vibration"):
        b.definitions[f"{name}.{kind}"] = b.t.any(*(on for on, a in made if a.means == kind))
    starts = []
    for on, a in made:
        every = None if a.every is None else b.span(a.every)
        starts.append(b.keep(elements.repeater(b.t, b.fresh("announce"), on, every)))
    b.definitions[f"{name}.announced"] = b.t.any(*starts)


def _output(x: Channel | Control, rules: RuleSet, acting: tuple[Acting, ...]) -> Node:
    told = tuple((a.condition, _amounts(a.action)) for a in acting)
    states = tuple(f"{x.name}@{state}" for state in ("free", "driven", "moved", "limited"))
    if isinstance(x, Channel):
        reads = (*references((x.source, told)), *references(e.Own(x.name, span=x.span)))
        return Node(x.name, (x.name, *states), reads, x.span, lambda b: _channel(b, x, rules, acting, x.name))
    main = f"{x.name}@out"
    return Node(main, (main, *states), tuple(references(told)), x.span, lambda b: _channel(b, x, rules, acting, main))


def _amounts(action: object) -> tuple[object, ...]:
    """The numbers of an action; its channel is what it acts on, not something it reads."""
    return tuple(p for p in parts(action) if not isinstance(p, str))


def _channel(b: Builder, x: Channel | Control, rules: RuleSet, acting: tuple[Acting, ...], main: str) -> None:
    layers, drives = channel_stack(b, x, rules, acting)
    made = stack(b.t, layers)
    b.states.extend(made.states)
    b.definitions[main] = made.value
    for state in ("free", "driven", "moved", "limited"):
        b.definitions[f"{x.name}@{state}"] = getattr(made, state)
    whose = [layer.rule for several in (layers.moves, layers.limits, layers.drives) for layer in several]
    for rule, acts in zip(whose, made.layers, strict=True):
        b.acting.setdefault(rule, {}).setdefault(x.name, []).append(acts)
    meetings: dict[tuple[str, str], list[Term]] = {}
    for i, j in unordered(drives, rules):
        (acts_i, value_i), (acts_j, value_j) = made.acting[i], made.acting[j]
        both = b.t.all(acts_i, acts_j, b.t.not_(b.t.equal(value_i, value_j)))
        meetings.setdefault((drives[i].rule, drives[j].rule), []).append(both)
    b.fights += [(x.name, one, other, b.t.any(*terms)) for (one, other), terms in meetings.items()]
