"""Signals put together and negated as a pilot would write them."""

from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

OPPOSITE: dict[e.Order, e.Order] = {"<": ">=", "<=": ">", ">": "<=", ">=": "<"}


def negated(x: e.Signal, rules: RuleSet) -> e.Signal:
    """`height is fresh` for `not height is stale`, `guard is off` for `not guard is on`."""
    match x:
        case e.Not(operand):
            return operand
        case e.Comparison(left, order, right) if order in OPPOSITE:
            return e.Comparison(left, OPPOSITE[order], right, span=x.span)
        case e.SensorState(sensor, "stale"):
            return e.SensorState(sensor, "fresh", span=x.span)
        case e.SensorState(sensor, "fresh"):
            return e.SensorState(sensor, "stale", span=x.span)
        case e.AtPosition(switch, position) if _positions(switch, rules) == 2:
            return e.AtPosition(switch, 1 - position, span=x.span)
        case _:
            return e.Not(x, span=x.span)


def all_of(*signals: e.Signal) -> e.Signal:
    """One `and` of all, without brackets inside brackets."""
    flat = [p for s in signals for p in (s.operands if isinstance(s, e.AllOf) else (s,))]
    several = tuple(dict.fromkeys(flat))
    return several[0] if len(several) == 1 else e.AllOf(several, span=several[0].span)


def any_of(*signals: e.Signal) -> e.Signal:
    flat = [p for s in signals for p in (s.operands if isinstance(s, e.AnyOf) else (s,))]
    several = tuple(dict.fromkeys(flat))
    return several[0] if len(several) == 1 else e.AnyOf(several, span=several[0].span)


def _positions(switch: str, rules: RuleSet) -> int:
    return next(len(s.positions) for s in rules.switches if s.name == switch)
