"""Numbers that stand still in flight: their value, and the dimension of any number."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, assert_never

from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet
from latchproof.rules.units import PLAIN, TIME, Dimension, Unit, times


@dataclass(frozen=True, slots=True)
class Numbers:
    """Values of tunes and facts by name (a fact with a span at its middle), what named values stand for, and the
    dimension of everything that has a name."""

    values: Mapping[str, Fraction]
    named: Mapping[str, e.Number]
    dimensions: Mapping[str, Dimension]
    spanned: frozenset[str] = frozenset()
    """Facts with a span."""
    ranges: Mapping[str, tuple[Fraction, Fraction]] = field(default_factory=dict)
    """Of sticks, knobs, sensors and channels."""
    units: Mapping[str, Unit] = field(default_factory=dict)
    """Of tunes and facts, as they are written."""

    def unit(self, x: e.Number, otherwise: Unit) -> Unit:
        """The unit in which a number that stands still is written."""
        wanted = self.dimension(x)
        found = (u for u in _units(x, self) if u.dimension == wanted)
        return next(found, otherwise)

    def range_of(self, x: e.Number) -> tuple[Fraction, Fraction] | None:
        match x:
            case e.Held(name) | e.Reading(name) | e.Output(name) | e.Own(name):
                return self.ranges.get(name)
            case _:
                return None

    def value(self, x: e.Number) -> Fraction | None:
        """None where it changes in flight."""
        match x:
            case e.Constant(value):
                return value
            case e.Parameter(name):
                return self.values[name]
            case e.NamedNumber(name):
                return self.value(self.named[name]) if name in self.named else None
            case e.Plus(left, right) | e.Minus(left, right) | e.Product(left, right) | e.Quotient(left, right):
                a, b = self.value(left), self.value(right)
                return None if a is None or b is None else _made(x, a, b)
            case e.Size(operand):
                inner = self.value(operand)
                return None if inner is None else abs(inner)
            case e.Smallest(operands) | e.Largest(operands):
                several = [v for o in operands if (v := self.value(o)) is not None]
                if len(several) < len(operands):
                    return None
                return min(several) if isinstance(x, e.Smallest) else max(several)
            case _:
                return None

    def tune(self, x: e.Number) -> str | None:
        """The tune or fact that a number is, perhaps under another name."""
        while isinstance(x, e.NamedNumber) and x.name in self.named:
            x = self.named[x.name]
        return x.name if isinstance(x, e.Parameter) else None

    def parameters(self, x: e.Number) -> frozenset[str]:
        """Tunes and facts in a number, also by way of named values."""
        return frozenset(_parameters(x, self.named))

    def dimension(self, x: e.Number) -> Dimension:
        match x:
            case e.Constant(unit=unit):
                return unit.dimension
            case e.Age():
                return TIME
            case (
                e.Parameter(name) | e.Held(name) | e.Controlled(name) | e.Reading(name) | e.Truth(name)
                | e.Output(name) | e.Own(name) | e.NamedNumber(name)
            ):  # fmt: skip
                return self.dimensions.get(name, PLAIN)
            case e.Plus(left, right) | e.Minus(left, right):
                return self.dimension(left) or self.dimension(right)
            case e.Product(left, right):
                return times(self.dimension(left), self.dimension(right))
            case e.Quotient(left, right):
                return times(self.dimension(left), self.dimension(right), -1)
            case e.Size(operand) | e.PreviousNumber(operand):
                return self.dimension(operand)
            case e.Smallest(several) | e.Largest(several) | e.FromTable(values=several):
                return self.dimension(several[0])
            case _:
                assert_never(x)


def _made(x: e.Number, a: Fraction, b: Fraction) -> Fraction | None:
    match x:
        case e.Plus():
            return a + b
        case e.Minus():
            return a - b
        case e.Product():
            return a * b
        case _:
            return a / b if b else None


def _parameters(x: e.Number, named: Mapping[str, e.Number]) -> Iterator[str]:
    stack: list[object] = [x]
    while stack:
        match stack.pop():
            case e.Parameter(name):
                yield name
            case e.NamedNumber(name) if name in named:
                stack.append(named[name])
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))


def _units(x: e.Number, n: Numbers) -> Iterator[Unit]:
    stack: list[object] = [x]
    while stack:
        match stack.pop(0):
            case e.Constant(unit=unit):
                yield unit
            case e.Parameter(name) if name in n.units:
                yield n.units[name]
            case e.NamedNumber(name) if name in n.named:
                stack.append(n.named[name])
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))


def numbers_of(rules: RuleSet) -> Numbers:
    values = {t.name: t.value for t in rules.tunes} | {f.name: (f.low + f.high) / 2 for f in rules.facts}
    declared: tuple[Any, ...] = (
        *rules.tunes, *rules.facts, *rules.controls, *rules.sensors, *rules.channels, *rules.values, *rules.samples
    )  # fmt: skip
    ranged: tuple[Any, ...] = (*rules.controls, *rules.sensors, *rules.channels)
    return Numbers(
        values,
        {v.name: v.value for v in rules.values},
        {x.name: x.unit.dimension for x in declared},
        frozenset(f.name for f in rules.facts if f.low != f.high),
        {x.name: (x.low, x.high) for x in ranged},
        {t.name: t.unit for t in rules.tunes} | {f.name: f.unit for f in rules.facts},
    )
