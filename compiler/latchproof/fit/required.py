"""Whether a rule set's requirements hold at given values of its tunes, for every value of a fact with a span."""

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from itertools import product

from latchproof.fit.still import Numbers, numbers_of
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Require, RuleSet
from latchproof.run.expressions import compared

MOST_SPANS = 6
"""Facts with a span whose ends are all tried together; more are taken at their middle."""


def broken(rules: RuleSet, tunes: Mapping[str, Fraction]) -> Require | None:
    """The first requirement that does not hold."""
    base = numbers_of(rules)
    values = {**base.values, **tunes}
    for r in rules.requires:
        spans = [f for f in rules.facts if f.low != f.high and f.name in _names(r.condition, base)][:MOST_SPANS]
        for corner in product(*((f.low, f.high) for f in spans)):
            at = replace(base, values={**values, **{f.name: v for f, v in zip(spans, corner, strict=True)}})
            if _holds(r.condition, at) is False:
                return r
    return None


def speaking_of(rules: RuleSet, r: Require) -> frozenset[str]:
    """The tunes that a requirement is about."""
    return _names(r.condition, numbers_of(rules)) & {t.name for t in rules.tunes}


def _names(x: object, numbers: Numbers) -> frozenset[str]:
    found: set[str] = set()
    stack: list[object] = [x]
    while stack:
        match stack.pop():
            case e.Parameter(name):
                found.add(name)
            case e.NamedNumber(name) if name in numbers.named:
                stack.append(numbers.named[name])
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))
    return frozenset(found)


def _holds(x: e.Signal, n: Numbers) -> bool | None:
    """None for something that is no matter of numbers that stand still."""
    match x:
        case e.Comparison(left, order, right):
            a, b = n.value(left), n.value(right)
            return None if a is None or b is None else compared(a, order, b)
        case e.Not(operand):
            inner = _holds(operand, n)
            return None if inner is None else not inner
        case e.AllOf(operands) | e.AnyOf(operands):
            told = [_holds(o, n) for o in operands]
            decisive = isinstance(x, e.AnyOf)
            if decisive in told:
                return decisive
            return None if None in told else not decisive
        case e.ExactlyOne(operands):
            told = [_holds(o, n) for o in operands]
            return None if None in told else sum(y is True for y in told) == 1
        case _:
            return None
