"""Expressions of the rules in the words of the language, with the unit each number is read in."""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from latchproof.machine.overview import Thing, things_of
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Channel,
    Control,
    Counter,
    Fact,
    NamedValue,
    RuleSet,
    Sample,
    Sensor,
    Switch,
    Tune,
)  # fmt: skip
from latchproof.rules.units import NO_UNIT, UNITS, Unit, times
from latchproof.rules.words import per_second, unit_for
from latchproof.show.quantities import quantity

RELATION: dict[e.Order, str] = {
    "<": "below", "<=": "at most", ">": "above", ">=": "at least", "==": "equal to",
}  # fmt: skip


@dataclass(frozen=True)
class Wording:
    rules: RuleSet
    things: dict[str, Thing] = field(default_factory=dict)

    @classmethod
    def of(cls, rules: RuleSet) -> "Wording":
        return cls(rules, things_of(rules))

    # ---------- names

    def position(self, switch: str, place: int) -> str:
        thing = self.things[switch]
        assert isinstance(thing, Switch)
        return thing.positions[place]

    def unit_of_name(self, name: str) -> Unit:
        match self.things.get(name):
            case Tune(unit=unit) | Fact(unit=unit) | Control(unit=unit) | Sensor(unit=unit) | Channel(unit=unit):
                return unit
            case NamedValue(unit=unit) | Sample(unit=unit):
                return unit
            case Counter() | _:
                return NO_UNIT

    # ---------- numbers

    def unit(self, x: e.Number) -> Unit:
        match x:
            case e.Constant(unit=unit):
                return unit
            case e.Age():
                return UNITS["s"]
            case (
                e.Parameter(name) | e.Held(name) | e.Controlled(name) | e.Reading(name) | e.Truth(name) | e.Output(name)
                | e.Own(name) | e.NamedNumber(name)
            ):  # fmt: skip
                return self.unit_of_name(name)
            case e.Plus(left, right) | e.Minus(left, right):
                return self.unit(right if isinstance(left, e.Constant) else left)
            case e.Product(left, right) | e.Quotient(left, right):
                a, b = self.unit(left), self.unit(right)
                if not b.dimension:
                    return a
                if not a.dimension and isinstance(x, e.Product):
                    return b
                return unit_for(times(a.dimension, b.dimension, 1 if isinstance(x, e.Product) else -1))
            case e.Size(operand) | e.PreviousNumber(operand):
                return self.unit(operand)
            case e.Smallest(operands) | e.Largest(operands) | e.FromTable(_, operands):
                named = (o for o in operands if not isinstance(o, e.Constant))
                return self.unit(next(named, operands[0]))
            case _:
                assert_never(x)

    def number(self, x: e.Number) -> str:
        match x:
            case e.Constant(value, unit):
                return quantity(value, unit)
            case (
                e.Parameter(name)
                | e.Held(name)
                | e.Controlled(name)
                | e.Reading(name)
                | e.Output(name)
                | e.NamedNumber(name)
            ):
                return name
            case e.Truth(name):
                return f"truth of {name}"
            case e.Age(name):
                return f"age of {name}"
            case e.Own(name):
                return f"pilot_value of {name}"
            case e.Plus(left, right):
                return f"{self.number(left)} + {self._closed(right)}"
            case e.Minus(left, right):
                return f"{self.number(left)} - {self._closed(right)}"
            case e.Product(left, right):
                return f"{self._closed(left)} * {self._closed(right)}"
            case e.Quotient(left, right):
                return f"{self._closed(left)} / {self._closed(right)}"
            case e.Size(operand):
                return f"size of ({self.number(operand)})"
            case e.Smallest(operands):
                return f"smaller of ({', '.join(map(self.number, operands))})"
            case e.Largest(operands):
                return f"larger of ({', '.join(map(self.number, operands))})"
            case e.PreviousNumber(operand):
                return f"previous of {self._closed(operand)}"
            case e.FromTable(switch, values):
                return ", ".join(f"{self.position(switch, k)} {self.number(v)}" for k, v in enumerate(values))
            case _:
                assert_never(x)

    def _closed(self, x: e.Number) -> str:
        text = self.number(x)
        return f"({text})" if isinstance(x, e.Plus | e.Minus | e.Product | e.Quotient) else text

    def duration(self, d: e.Duration, value: Fraction | None = None) -> str:
        """`3 s`, `2 cycles`; the name of a tune with the value it has."""
        unit = UNITS["cycles"] if d.in_cycles else self.unit(d.amount)
        if isinstance(d.amount, e.Constant):
            return quantity(d.amount.value, unit)
        named = self.number(d.amount)
        return named if value is None else f"{named} ({quantity(value, unit)})"

    # ---------- signals

    def signal(self, x: e.Signal) -> str:
        match x:
            case e.AtPosition(switch, place):
                return f"{switch} is {self.position(switch, place)}"
            case e.Pressed(button):
                return f"{button} is pressed"
            case e.NamedSignal(name):
                return name if name in self.things else name.replace(".acting@", " on ").removesuffix(".acting")
            case e.Comparison(left, order, right):
                return f"{self.number(left)} is {RELATION[order]} {self.number(right)}"
            case e.RateComparison():
                subject = f"rate of {self._closed(x.subject)}"
                whole = f"size of ({subject})" if x.size else subject
                return f"{whole} is {RELATION[x.order]} {quantity(x.bound, self.rate_unit(x))}"
            case e.Band(subject, (enter, low), (leave, high)):
                band = f"{RELATION[enter]} {self.number(low)} until {RELATION[leave]} {self.number(high)}"
                return f"{self.number(subject)} is {band}"
            case e.SensorState(name, state) | e.ChannelState(name, state):
                return f"{name} is {state}"
            case e.Not(operand):
                return f"not {self._grouped(operand)}"
            case e.AllOf(operands):
                return " and ".join(map(self._grouped, operands))
            case e.AnyOf(operands):
                return " or ".join(map(self._grouped, operands))
            case e.ExactlyOne(operands):
                return f"exactly_one of ({', '.join(map(self.signal, operands))})"
            case e.Timed(kind, operand, duration):
                return f"{self._grouped(operand)} {kind} {self.duration(duration)}"
            case e.Edge(kind, operand):
                return f"{self._grouped(operand)} {kind}"
            case e.PreviousSignal(operand):
                return f"previous of {self._grouped(operand)}"
            case _:
                assert_never(x)

    def rate_unit(self, x: e.RateComparison) -> Unit:
        return x.unit if x.unit.dimension != self.unit(x.subject).dimension else per_second(x.unit)

    def _grouped(self, x: e.Signal) -> str:
        text = self.signal(x)
        return f"({text})" if isinstance(x, e.AllOf | e.AnyOf | e.Timed | e.Edge | e.Not) else text
