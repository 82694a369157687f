"""Tests and numbers read aloud, with the names of the rule file and without entry numbers: for what an entry is for."""

from fractions import Fraction
from typing import assert_never

from latchproof.listing import amounts
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

ORDER: dict[e.Order, str] = {"<": "below", "<=": "at most", ">": "above", ">=": "at least", "==": "equal to"}
STATE = {"free": "the pilot's own", "driven": "driven", "moved": "moved", "limited": "limited"}


def word(name: str) -> str:
    """`motor_stop` as `motor stop`, `restart.locked` as `restart locked`."""
    return name.replace("_", " ").replace(".", " ")


def number(x: e.Number) -> str:
    match x:
        case e.Constant(value=value, unit=unit):
            return amounts.quantity(value, unit)
        case e.Parameter(name=name) | e.Held(control=name) | e.Controlled(control=name) | e.Reading(sensor=name):
            return word(name)
        case e.Output(channel=name) | e.NamedNumber(name=name):
            return word(name)
        case e.Truth(sensor=name):
            return f"the true {word(name)}"
        case e.Age(sensor=name):
            return f"the time since {word(name)} was last heard"
        case e.Own(channel=name):
            return f"the pilot's own {word(name)}"
        case e.Plus(left=left, right=right):
            return f"{number(left)} + {_bracketed(right)}"
        case e.Minus(left=e.Constant(value=Fraction(numerator=0)), right=right):
            return f"minus {_bracketed(right)}"
        case e.Minus(left=left, right=right):
            return f"{number(left)} - {_bracketed(right)}"
        case e.Product(left=left, right=right):
            return f"{_bracketed(left)} times {_bracketed(right)}"
        case e.Quotient(left=left, right=right):
            return f"{_bracketed(left)} divided by {_bracketed(right)}"
        case e.Size(operand=operand):
            return f"the size of {_bracketed(operand)}"
        case e.Smallest(operands=operands):
            return f"the smaller of {' and '.join(number(o) for o in operands)}"
        case e.Largest(operands=operands):
            return f"the larger of {' and '.join(number(o) for o in operands)}"
        case e.PreviousNumber(operand=operand):
            return f"{_bracketed(operand)} one pass earlier"
        case e.FromTable(switch=switch):
            return f"the value for the position of {word(switch)}"
        case _:
            assert_never(x)


def _bracketed(x: e.Number) -> str:
    return f"({number(x)})" if isinstance(x, e.Plus | e.Minus | e.Product | e.Quotient) else number(x)


def duration(d: e.Duration) -> str:
    if d.in_cycles and isinstance(d.amount, e.Constant):
        return amounts.passes(d.amount.value)[0]
    return number(d.amount)


def signal(x: e.Signal, rules: RuleSet, positive: bool = True) -> str:
    """`height is below floor`; with `positive=False` the opposite."""
    yes, no = ("is", "") if positive else ("is not", "not ")
    match x:
        case e.AtPosition(switch=switch, position=position):
            names = next(s.positions for s in rules.switches if s.name == switch)
            if not positive and len(names) == 2:
                return f"{word(switch)} is {word(names[1 - position])}"
            return f"{word(switch)} {yes} {word(names[position])}"
        case e.Pressed(button=name):
            return f"{word(name)} is {'held down' if positive else 'not held down'}"
        case e.NamedSignal(name=name):
            return f"{no}{word(name)}"
        case e.Comparison(left=left, order=order, right=right):
            return f"{number(left)} {yes} {ORDER[order]} {number(right)}"
        case e.RateComparison(subject=subject, order=order, bound=bound, unit=unit, size=size):
            what = "how fast" if not size else "how fast, up or down,"
            return f"{what} {number(subject)} changes {yes} {ORDER[order]} {amounts.quantity(bound, unit)}"
        case e.Band(subject=subject, enter=enter, leave=leave):
            band = f"{ORDER[enter[0]]} {number(enter[1])} until {ORDER[leave[0]]} {number(leave[1])}"
            return f"{number(subject)} {yes} {band}"
        case e.SensorState(sensor=name, state=state):
            return f"{word(name)} {yes} {state}"
        case e.ChannelState(channel=name, state=state):
            return f"{word(name)} {yes} {STATE[state]}"
        case e.Not(operand=operand):
            return signal(operand, rules, not positive)
        case e.AllOf(operands=operands) | e.AnyOf(operands=operands):
            between = " and " if isinstance(x, e.AllOf) else " or "
            inside = between.join(_part(o, rules) for o in operands)
            return inside if positive else f"not ({inside})"
        case e.ExactlyOne(operands=operands):
            return f"{no}exactly one of ({', '.join(signal(o, rules) for o in operands)})"
        case e.Timed(kind=kind, operand=operand, duration=lasts):
            how = {"for": "for", "extended": "prolonged by", "pulsed": "as a pulse of"}[kind]
            return f"{no}{_part(operand, rules)} {how} {duration(lasts)}"
        case e.Edge(kind=kind, operand=operand):
            becomes = "begins to be so" if kind == "begins" else "is no longer so"
            return f"{no}the moment when this {becomes}: {signal(operand, rules)}"
        case e.PreviousSignal(operand=operand):
            return f"{_part(operand, rules, positive)} one pass earlier"
        case _:
            assert_never(x)


def _part(x: e.Signal, rules: RuleSet, positive: bool = True) -> str:
    inner = signal(x, rules, positive)
    return f"({inner})" if isinstance(x, e.AllOf | e.AnyOf | e.Timed) else inner
