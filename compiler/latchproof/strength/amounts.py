"""By how much a number is moved so that a person would see it: about a tenth, rounded to 1, 2 or 5 times a power of
ten."""

from fractions import Fraction

from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Control, Fact, NamedValue, RuleSet, Sample, Sensor, Tune
from latchproof.rules.units import UNITS, Unit

Measured = Tune | Fact | Control | Sensor | Channel | NamedValue | Sample


def worth(x: e.Number, rules: RuleSet) -> Fraction | None:
    """The number with every tune at its value as written; None where it changes in flight."""
    match x:
        case e.Constant(value):
            return value
        case e.Parameter(name):
            tunes = {t.name: t.value for t in rules.tunes}
            return tunes.get(name, next((f.low for f in rules.facts if f.name == name), None))
        case e.Plus(left, right):
            a, b = worth(left, rules), worth(right, rules)
            return None if a is None or b is None else a + b
        case e.Minus(left, right):
            a, b = worth(left, rules), worth(right, rules)
            return None if a is None or b is None else a - b
        case e.Product(left, right):
            a, b = worth(left, rules), worth(right, rules)
            return None if a is None or b is None else a * b
        case e.Quotient(left, right):
            a, b = worth(left, rules), worth(right, rules)
            return None if a is None or not b else a / b
        case _:
            return None


def unit_of(x: e.Number, rules: RuleSet) -> Unit | None:
    """The unit a number is read in; None where it has to be worked out."""
    things: tuple[Measured, ...] = (*rules.tunes, *rules.facts, *rules.controls, *rules.sensors, *rules.channels)
    things = (*things, *rules.values, *rules.samples)
    match x:
        case e.Constant(unit=unit):
            return unit
        case e.Age():
            return UNITS["s"]
        case (
            e.Parameter(name) | e.Held(name) | e.Controlled(name) | e.Reading(name) | e.Truth(name) | e.Output(name)
            | e.Own(name) | e.NamedNumber(name)
        ):  # fmt: skip
            found = next((t.unit for t in things if t.name == name), None)
            return UNITS[""] if found is None and any(c.name == name for c in rules.counters) else found
        case e.Plus(left, right) | e.Minus(left, right):
            return unit_of(left, rules) or unit_of(right, rules)
        case e.Size(operand) | e.PreviousNumber(operand):
            return unit_of(operand, rules)
        case e.Smallest(operands) | e.Largest(operands):
            return unit_of(operands[0], rules)
        case _:
            return None


def visible(value: Fraction, unit: Unit, finest: Fraction) -> Fraction:
    """About a tenth of the value, at least `finest`, as a round number of the unit (in base units); of nothing, one."""
    tenth = abs(value) / unit.factor / 10
    if not tenth:
        tenth = Fraction(1)
    return unit.factor * _round(max(tenth, finest / unit.factor))


def _round(x: Fraction) -> Fraction:
    """The nearest of 1, 2, 5 times a power of ten; in case of doubt the greater."""
    scale = Fraction(1)
    while scale > x:
        scale /= 10
    while scale * 10 <= x:
        scale *= 10
    return min((k * scale for k in (10, 5, 2, 1)), key=lambda y: abs(y - x))


def finest(x: e.Number, rules: RuleSet) -> Fraction:
    """The smallest difference that can be seen in a number: the step of a sensor, one count of a counter."""
    match x:
        case e.Reading(name) | e.Truth(name):
            return next((s.step or Fraction(0) for s in rules.sensors if s.name == name), Fraction(0))
        case e.NamedNumber(name) if any(c.name == name for c in rules.counters):
            return Fraction(1)
        case _:
            return Fraction(0)


def plus(x: e.Number, amount: Fraction, unit: Unit) -> e.Number:
    """`x` with an amount added, folded into a constant that is already there."""
    match x:
        case e.Constant(value, own):
            return e.Constant(value + amount, own, span=x.span)
        case e.Plus(left, e.Constant() as right):
            return _sum(left, right.value + amount, right.unit)
        case e.Minus(left, e.Constant() as right):
            return _sum(left, amount - right.value, right.unit)
        case _:
            return _sum(x, amount, unit)


def _sum(x: e.Number, amount: Fraction, unit: Unit) -> e.Number:
    if not amount:
        return x
    size = e.Constant(abs(amount), unit, span=x.span)
    return e.Plus(x, size, span=x.span) if amount > 0 else e.Minus(x, size, span=x.span)
