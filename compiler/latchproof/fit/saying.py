"""Expressions in the words of the language, for messages; long ones are cut short."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from latchproof.rules import expressions as e
from latchproof.rules.words import shown

LONGEST = 60

_ORDERS: dict[e.Order, str] = {
    "<": "is below", "<=": "is at most", ">": "is above", ">=": "is at least", "==": "is equal to",
}  # fmt: skip

_SUMS: dict[type, str] = {e.Plus: "+", e.Minus: "-", e.Product: "*", e.Quotient: "/"}


Positions = Mapping[str, tuple[str, ...]]
"""Of each switch."""


def said(x: e.Signal | e.Number, positions: Positions = MappingProxyType({})) -> str:
    text = _said(x, 4, positions)
    return text if len(text) <= LONGEST else text[: LONGEST - 4].rstrip() + " ..."


def _said(x: e.Signal | e.Number, depth: int, positions: Positions) -> str:
    if depth < 0:
        return "..."

    def go(y: e.Signal | e.Number) -> str:
        return _said(y, depth - 1, positions)

    match x:
        case e.Constant(value, unit):
            return shown(value, unit)
        case e.Parameter(name) | e.Held(name) | e.Controlled(name) | e.Reading(name) | e.Output(name):
            return name
        case e.NamedNumber(name) | e.NamedSignal(name):
            return name
        case e.Truth(name):
            return f"truth of {name}"
        case e.Age(name):
            return f"age of {name}"
        case e.Own(name):
            return f"pilot_value of {name}"
        case e.Plus(a, b) | e.Minus(a, b) | e.Product(a, b) | e.Quotient(a, b):
            return f"{_inside(a, go)} {_SUMS[type(x)]} {_inside(b, go)}"
        case e.Size(a):
            return f"size of ({go(a)})"
        case e.Smallest(several) | e.Largest(several):
            word = "smaller" if isinstance(x, e.Smallest) else "larger"
            return f"{word} of ({', '.join(go(y) for y in several)})"
        case e.PreviousNumber(a) | e.PreviousSignal(a):
            return f"previous of {go(a)}"
        case e.FromTable(switch):
            return f"{switch} as a table"
        case e.AtPosition(switch, position):
            known = positions.get(switch)
            return f"{switch} is {known[position]}" if known else f"{switch} is in position {position + 1}"
        case e.Pressed(button):
            return f"{button} is pressed"
        case e.Comparison(left, order, right):
            return f"{go(left)} {_ORDERS[order]} {go(right)}"
        case e.RateComparison(subject, order, bound, unit):
            return f"rate of {go(subject)} {_ORDERS[order]} {shown(bound, unit)}"
        case e.Band(subject, (enter, a), (leave, b)):
            until = _ORDERS[leave].removeprefix("is ")
            return f"{go(subject)} {_ORDERS[enter]} {go(a)} until {until} {go(b)}"
        case e.SensorState(name, state) | e.ChannelState(name, state):
            return f"{name} is {state}"
        case e.Not(a):
            return f"not ({go(a)})"
        case e.AllOf(several) | e.AnyOf(several):
            between = " and " if isinstance(x, e.AllOf) else " or "
            return between.join(_inside(y, go) for y in several) or ("always" if isinstance(x, e.AllOf) else "never")
        case e.ExactlyOne(several):
            return f"exactly_one of ({', '.join(go(y) for y in several)})"
        case e.Timed(kind, a, lasts):
            time = f"{go(lasts.amount)}{' cycles' if lasts.in_cycles else ''}"
            return f"{_inside(a, go)} {kind} {time}"
        case e.Edge(kind, a):
            return f"{_inside(a, go)} {kind}"


def _inside(x: e.Signal | e.Number, go: Callable[[e.Signal | e.Number], str]) -> str:
    several = (e.AllOf, e.AnyOf, e.Plus, e.Minus, e.Timed)
    return f"({go(x)})" if isinstance(x, several) else go(x)
