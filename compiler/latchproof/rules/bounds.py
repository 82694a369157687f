"""Does a requirement hold? Decided by bounds: exactly where every number is fixed, else only if no choice meets it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from latchproof.rules.expressions import (
    AllOf,
    AnyOf,
    Comparison,
    Constant,
    Largest,
    Minus,
    NamedNumber,
    Not,
    Number,
    Parameter,
    Plus,
    Product,
    Quotient,
    Signal,
    Size,
    Smallest,
)
from latchproof.rules.limits import LARGEST_FOLDED, NESTING
from latchproof.rules.numbers import Amount

Between = tuple[Fraction, Fraction]
"""The least and the greatest value."""

Spans = Mapping[str, Between]
"""Of each tune and fact."""


@dataclass(slots=True)
class Decision:
    """`amounts` tells what stands behind the names of values; what was found of those is remembered."""

    spans: Spans
    amounts: Mapping[str, Amount | None]
    _found: dict[str, Between | None] = field(default_factory=dict)

    def broken(self, s: Signal) -> bool:
        """Whether no choice of values from the spans meets the requirement, as far as bounds can tell."""
        return self._holds(s) is False

    def _holds(self, s: Signal) -> bool | None:
        """None: it depends, or is not worth the work."""
        match s:
            case Comparison(left=left, order=order, right=right):
                a, b = self._between(left, 0), self._between(right, 0)
                return None if a is None or b is None else _compared(a, order, b)
            case Not(operand=operand):
                inner = self._holds(operand)
                return None if inner is None else not inner
            case AllOf(operands=operands):
                every = [self._holds(o) for o in operands]
                return False if False in every else None if None in every else True
            case AnyOf(operands=operands):
                every = [self._holds(o) for o in operands]
                return True if True in every else None if None in every else False
            case _:
                return None

    def _between(self, n: Number, depth: int) -> Between | None:
        if depth > NESTING:
            return None
        match n:
            case Constant(value=value):
                return value, value
            case Parameter(name=name):
                return self.spans.get(name)
            case NamedNumber(name=name):
                if name not in self._found:
                    amount = self.amounts.get(name)
                    self._found[name] = None
                    if amount is not None:
                        self._found[name] = self._between(amount.number, depth + 1)
                return self._found[name]
            case Plus() | Minus() | Product() | Quotient():
                a, b = self._between(n.left, depth + 1), self._between(n.right, depth + 1)
                return None if a is None or b is None else _sensible(_combined(n, a, b))
            case Size(operand=operand):
                inner = self._between(operand, depth + 1)
                if inner is None:
                    return None
                sizes = abs(inner[0]), abs(inner[1])
                return (Fraction(0) if inner[0] <= 0 <= inner[1] else min(sizes)), max(sizes)
            case Smallest(operands=operands) | Largest(operands=operands):
                found = [self._between(o, depth + 1) for o in operands]
                known = [f for f in found if f is not None]
                pick = min if isinstance(n, Smallest) else max
                return (pick(k[0] for k in known), pick(k[1] for k in known)) if len(known) == len(found) else None
            case _:
                return None


def _compared(a: Between, order: str, b: Between) -> bool | None:
    match order:
        case "<":
            return True if a[1] < b[0] else False if a[0] >= b[1] else None
        case "<=":
            return True if a[1] <= b[0] else False if a[0] > b[1] else None
        case ">":
            return _compared(b, "<", a)
        case ">=":
            return _compared(b, "<=", a)
        case _:
            if a[1] < b[0] or b[1] < a[0]:
                return False
            return True if a[0] == a[1] == b[0] == b[1] else None


def _combined(n: Plus | Minus | Product | Quotient, a: Between, b: Between) -> Between | None:
    match n:
        case Plus():
            return a[0] + b[0], a[1] + b[1]
        case Minus():
            return a[0] - b[1], a[1] - b[0]
        case Product():
            corners = [x * y for x in a for y in b]
        case Quotient():
            if b[0] <= 0 <= b[1]:
                return None
            corners = [x / y for x in a for y in b]
        case _:
            assert_never(n)
    return min(corners), max(corners)


def _sensible(between: Between | None) -> Between | None:
    """Numbers that grow without end are not worth the work."""
    if between is None or any(abs(x.numerator) > LARGEST_FOLDED or x.denominator > LARGEST_FOLDED for x in between):
        return None
    return between
