"""Numbers that stand still: tunes at their chosen value, facts, and what is made of them; and the units of numbers."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Control, Counter, Fact, NamedValue, RuleSet, Sample, Sensor, Tune
from latchproof.rules.units import NO_UNIT, PLAIN, UNITS, Unit, times
from latchproof.rules.words import unit_for


@dataclass(frozen=True, slots=True)
class Names:
    """What the rule set declares, by name."""

    tunes: dict[str, Tune] = field(default_factory=dict)
    facts: dict[str, Fact] = field(default_factory=dict)
    sensors: dict[str, Sensor] = field(default_factory=dict)
    controls: dict[str, Control] = field(default_factory=dict)
    channels: dict[str, Channel] = field(default_factory=dict)
    values: dict[str, NamedValue] = field(default_factory=dict)
    samples: dict[str, Sample] = field(default_factory=dict)
    counters: dict[str, Counter] = field(default_factory=dict)


def names_of(rules: RuleSet) -> Names:
    return Names(
        {x.name: x for x in rules.tunes}, {x.name: x for x in rules.facts}, {x.name: x for x in rules.sensors},
        {x.name: x for x in rules.controls}, {x.name: x for x in rules.channels}, {x.name: x for x in rules.values},
        {x.name: x for x in rules.samples}, {x.name: x for x in rules.counters},
    )  # fmt: skip


def fixed(x: e.Number, n: Names) -> Fraction | None:
    """Its value, if nothing in it changes in flight. A fact with a span is taken at its middle, and that is said."""
    match x:
        case e.Constant(value=value):
            return value
        case e.Parameter(name=name) if name in n.tunes:
            return n.tunes[name].value
        case e.Parameter(name=name):
            fact = n.facts[name]
            return (fact.low + fact.high) / 2
        case e.NamedNumber(name=name) if name in n.values:
            return fixed(n.values[name].value, n)
        case e.Plus() | e.Minus() | e.Product() | e.Quotient():
            a, b = fixed(x.left, n), fixed(x.right, n)
            return None if a is None or b is None else _made(x, a, b)
        case e.Size(operand=operand):
            inner = fixed(operand, n)
            return None if inner is None else abs(inner)
        case e.Smallest(operands=operands) | e.Largest(operands=operands):
            found = [fixed(o, n) for o in operands]
            known = [v for v in found if v is not None]
            if len(known) < len(found):
                return None
            return min(known) if isinstance(x, e.Smallest) else max(known)
        case _:
            return None


def _made(x: e.Plus | e.Minus | e.Product | e.Quotient, a: Fraction, b: Fraction) -> Fraction | None:
    match x:
        case e.Plus():
            return a + b
        case e.Minus():
            return a - b
        case e.Product():
            return a * b
        case e.Quotient():
            return a / b if b else None
        case _:
            assert_never(x)


def parameters(x: object, n: Names) -> frozenset[str]:
    """Tunes and facts that stand in an expression, also through values that stand still."""
    found: set[str] = set()
    stack: list[object] = [x]
    while stack:
        node = stack.pop()
        match node:
            case e.Parameter(name=name):
                found.add(name)
            case e.NamedNumber(name=name) if name in n.values and fixed(node, n) is not None:
                stack.append(n.values[name].value)
            case str() | None:
                pass
            case _:
                stack.extend(parts(node))
    return frozenset(found)


def unit_of(x: e.Number, n: Names) -> Unit:
    """The unit that it was written in, or that its parts bring along."""
    match x:
        case e.Constant(unit=unit):
            return unit
        case e.Parameter(name=name):
            return n.tunes[name].unit if name in n.tunes else n.facts[name].unit
        case e.Held(control=name) | e.Controlled(control=name):
            return n.controls[name].unit
        case e.Reading(sensor=name) | e.Truth(sensor=name):
            return n.sensors[name].unit
        case e.Age():
            return UNITS["s"]
        case e.Output(channel=name) | e.Own(channel=name):
            return n.channels[name].unit if name in n.channels else n.controls[name].unit
        case e.NamedNumber(name=name):
            if name in n.values:
                return n.values[name].unit
            return n.samples[name].unit if name in n.samples else NO_UNIT
        case e.Plus(left=left, right=right) | e.Minus(left=left, right=right):
            first = unit_of(left, n)
            return first if not _bare(left) else unit_of(right, n)
        case e.Product(left=left, right=right) | e.Quotient(left=left, right=right):
            return _combined(unit_of(left, n), unit_of(right, n), 1 if isinstance(x, e.Product) else -1)
        case e.Size(operand=operand) | e.PreviousNumber(operand=operand):
            return unit_of(operand, n)
        case e.Smallest(operands=several) | e.Largest(operands=several) | e.FromTable(values=several):
            return unit_of(several[0], n)
        case _:
            assert_never(x)


def _bare(x: e.Number) -> bool:
    """The zero in `0 - x`, which may have no unit of its own."""
    return isinstance(x, e.Constant) and not x.value and x.unit.dimension == PLAIN


def _combined(a: Unit, b: Unit, sign: int) -> Unit:
    if b.dimension == PLAIN:
        return a
    if a.dimension == PLAIN and sign > 0:
        return b
    return unit_for(times(a.dimension, b.dimension, sign))
