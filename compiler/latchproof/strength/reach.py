"""Which elements the outputs depend on, in this cycle or by way of an earlier one."""

from collections.abc import Iterator
from dataclasses import dataclass

from latchproof.machine.reads import references
from latchproof.rules.model import (
    Counter,
    Latch,
    NamedSignalDefinition,
    NamedValue,
    Rule,
    RuleSet,
    Sample,
    Sequence,
)
from latchproof.source import Span

Named = NamedValue | NamedSignalDefinition | Sample | Latch | Counter | Rule | Sequence


@dataclass(frozen=True, slots=True)
class Element:
    """`content` is what it is made of."""

    name: str
    span: Span
    content: object


def elements(rules: RuleSet) -> Iterator[Element]:
    named: tuple[Named, ...] = (*rules.values, *rules.signals, *rules.samples, *rules.latches, *rules.counters)
    for x in (*named, *rules.rules, *rules.sequences):
        yield Element(x.name, x.span, x)
    for role in rules.roles:
        yield Element(role.role, role.span, role)


def that_matter(rules: RuleSet) -> frozenset[str]:
    """Rules and sequences, what channels follow, and all that these read."""
    content = {x.name: x.content for x in elements(rules)}
    found: set[str] = set()
    waiting: list[object] = [*rules.rules, *rules.sequences, *(c.source for c in rules.channels)]
    found |= {x.name for x in rules.rules} | {x.name for x in rules.sequences}
    while waiting:
        for name, _ in references(waiting.pop(), earlier=True):
            for known in (name, name.rpartition(".")[0], name.partition("@")[0]):
                if known in content and known not in found:
                    found.add(known)
                    waiting.append(content[known])
    return frozenset(found)
