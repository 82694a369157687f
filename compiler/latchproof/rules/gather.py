"""Every statement by itself: from the tree to the model, each kind into its list."""

from dataclasses import dataclass, field
from typing import TypeVar

from latchproof.rules import model
from latchproof.rules.actions import rule, sequence
from latchproof.rules.channels import channel
from latchproof.rules.claims import accepted, assumption, claim, role
from latchproof.rules.device import device
from latchproof.rules.inputs import control, cycle, sensor, switch
from latchproof.rules.kinds import number
from latchproof.rules.logic import checked_signal, counter, latch
from latchproof.rules.order import precedences
from latchproof.rules.parts import Expansion, Placed
from latchproof.rules.quantities import fact, tune
from latchproof.rules.scope import Entity, Env
from latchproof.rules.stages import require
from latchproof.rules.units import NO_UNIT
from latchproof.source import Span
from latchproof.syntax import tree

_Item = TypeVar("_Item")


@dataclass(slots=True)
class Gathered:
    """The statements of the rule set so far, each kind in the order of the text."""

    cycles: list[model.Cycle] = field(default_factory=list)
    devices: list[model.Device] = field(default_factory=list)
    facts: list[model.Fact] = field(default_factory=list)
    tunes: list[model.Tune] = field(default_factory=list)
    requires: list[model.Require] = field(default_factory=list)
    switches: list[model.Switch] = field(default_factory=list)
    buttons: list[model.Button] = field(default_factory=list)
    controls: list[model.Control] = field(default_factory=list)
    sensors: list[model.Sensor] = field(default_factory=list)
    channels: list[model.Channel] = field(default_factory=list)
    values: list[model.NamedValue] = field(default_factory=list)
    samples: list[model.Sample] = field(default_factory=list)
    signals: list[model.NamedSignalDefinition] = field(default_factory=list)
    latches: list[model.Latch] = field(default_factory=list)
    counters: list[model.Counter] = field(default_factory=list)
    rules: list[model.Rule] = field(default_factory=list)
    sequences: list[model.Sequence] = field(default_factory=list)
    precedences: list[model.Precedence] = field(default_factory=list)
    roles: list[model.Role] = field(default_factory=list)
    claims: list[model.Claim] = field(default_factory=list)
    assumptions: list[model.Assumption] = field(default_factory=list)
    accepted: list[model.Accepted] = field(default_factory=list)
    stages: list[tree.Stage] = field(default_factory=list)


def handed_over(expansion: Expansion, got: Gathered) -> None:
    """What a part takes and is no thing with a name of its own becomes a value or signal of its own."""
    for use, _, inner, inner_env in expansion.uses:
        if inner.rehearsal:
            continue
        for name, entity in inner.names.items():
            if entity is None or not isinstance(entity.node, tree.Binding) or entity.name != inner.prefix + name:
                continue
            env = inner_env.named(entity)
            if entity.kind == "signal":
                signal = checked_signal(entity.node.value, env)
                if signal is not None:
                    got.signals.append(model.NamedSignalDefinition(entity.name, signal, span=use.span))
            else:
                _value(entity, use.span, env, got)


def _value(entity: Entity, place: Span, env: Env, got: Gathered) -> None:
    amount = env.book.amounts.get(entity.name)
    if amount is not None:
        got.values.append(model.NamedValue(entity.name, amount.number, amount.unit or NO_UNIT, span=place))


def statement(placed: Placed, got: Gathered) -> None:
    s, env = placed.statement, placed.env
    match s:
        case tree.Include() | tree.Part() | tree.Use():
            pass
        case tree.Cycle():
            _add(got.cycles, cycle(s, env))
        case tree.Device():
            got.devices.append(device(s, env))
        case tree.Fact(name=name):
            _add(got.facts, fact(s, env.full(name.text), env))
        case tree.Tune(name=name):
            _add(got.tunes, tune(s, env.full(name.text), env))
        case tree.Require():
            _add(got.requires, require(s, env))
        case tree.Value(name=name):
            entity = env.scope.names.get(name.text)
            if entity is not None and entity.node is s:
                _value(entity, s.span, env, got)
        case tree.Sample():
            _sample(s, env, got)
        case tree.Signal(name=name):
            signal = checked_signal(s.value, env)
            if signal is not None:
                got.signals.append(model.NamedSignalDefinition(env.full(name.text), signal, span=s.span))
        case tree.Switch(name=name):
            _add(got.switches, switch(s, env.full(name.text), env))
        case tree.Button(name=name):
            got.buttons.append(model.Button(env.full(name.text), span=s.span))
        case tree.Control(name=name):
            _add(got.controls, control(s, env.full(name.text), env))
        case tree.Sensor(name=name):
            _add(got.sensors, sensor(s, env.full(name.text), env))
        case tree.Channel(name=name):
            _add(got.channels, channel(s, env.full(name.text), env))
        case tree.Latch(name=name):
            _add(got.latches, latch(s, env.full(name.text), env))
        case tree.Counter(name=name):
            _add(got.counters, counter(s, env.full(name.text), env))
        case tree.Rule(name=name):
            _add(got.rules, rule(s, env.full(name.text), env))
        case tree.Sequence(name=name):
            _add(got.sequences, sequence(s, env.full(name.text), env))
        case tree.Priority():
            got.precedences += precedences(s, env)
        case tree.Role():
            _add(got.roles, role(s, env))
        case tree.Claim(name=name):
            _add(got.claims, claim(s, env.full(name.text), env))
        case tree.Assume(name=name):
            _add(got.assumptions, assumption(s, env.full(name.text), env))
        case tree.Accept():
            _add(got.accepted, accepted(s, env))
        case tree.Stage():
            got.stages.append(s)


def _add(to: list[_Item], item: _Item | None) -> None:
    if item is not None:
        to.append(item)


def _sample(s: tree.Sample, env: Env, got: Gathered) -> None:
    name = env.full(s.name.text)
    amount = env.book.amounts.get(name)
    when = checked_signal(s.when, env)
    if amount is None or when is None:
        return
    value, first = number(s.value, env), number(s.first, env)
    if value is not None and first is not None:
        unit = amount.unit or NO_UNIT
        got.samples.append(model.Sample(name, value.number, when, first.number, unit, span=s.span))
