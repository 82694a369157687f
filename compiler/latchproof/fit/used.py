"""What becomes entries: all that the model's doing hangs on. What only promises speak of is none and stays as it is."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, RuleSet


@dataclass(frozen=True, slots=True)
class Used:
    """Names of definitions, roles, rules and sequences, and of the channels and controls that take entries."""

    names: frozenset[str]

    def has(self, x: Any) -> bool:
        """Whether a part of the rule set is among them."""
        return getattr(x, "role", None) in self.names or getattr(x, "name", None) in self.names


def used(rules: RuleSet) -> Used:
    named: tuple[Any, ...] = (*rules.values, *rules.samples, *rules.signals, *rules.latches, *rules.counters)
    things: dict[str, Any] = {x.name: x for x in (*named, *rules.rules, *rules.sequences)}
    things |= {str(r.role): r for r in rules.roles}
    channels = {c.name: c for c in rules.channels}
    acting = (*(r.actions for r in rules.rules), *(p.actions for s in rules.sequences for p in s.phases))
    acted = {a.channel for actions in acting for a in actions if not isinstance(a, Announce)}
    waiting: list[object] = [*rules.rules, *rules.sequences]
    found: set[str] = {r.name for r in rules.rules} | {s.name for s in rules.sequences} | acted - channels.keys()
    waiting += [channels[name] for name in sorted(acted & channels.keys())]
    found |= acted & channels.keys()
    # a channel that follows a control on which something acts receives what was made of it
    waiting += [c for c in rules.channels if acted & set(_controls(c.source))]
    while waiting:
        for name in _names(waiting.pop()):
            if name in found or name not in things.keys() | channels.keys():
                continue
            found.add(name)
            waiting.append(things.get(name) or channels[name])
    found |= {c.name for c in rules.channels if acted & set(_controls(c.source))}
    return Used(frozenset(found))


def _names(x: object) -> Iterator[str]:
    stack: list[object] = [x]
    while stack:
        match stack.pop():
            case e.NamedSignal(name):
                yield name
                yield name.rpartition(".")[0]
            case e.NamedNumber(name) | e.Output(name) | e.ChannelState(name):
                yield name
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))


def _controls(x: object) -> Iterator[str]:
    stack: list[object] = [x]
    while stack:
        match stack.pop():
            case e.Controlled(name):
                yield name
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))
