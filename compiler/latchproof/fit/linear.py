"""Comparisons of a number that is worked out, as comparisons of what it is worked out from: `pack / 3 is below 3.5 V`
is `pack is below 10.5 V`."""

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from latchproof.fit.comparing import FLIPPED
from latchproof.fit.shop import Shop
from latchproof.fit.still import Numbers, numbers_of
from latchproof.rules import expressions as e
from latchproof.rules.units import NO_UNIT


@dataclass(frozen=True, slots=True)
class Line:
    """`factor * atom + added`, where `added` is an expression that stands still (None for nothing)."""

    atom: e.Number
    factor: Fraction
    added: e.Number | None = None

    def solved_for(self, bound: e.Number) -> e.Number:
        """What the atom is where the whole is `bound`."""
        span = bound.span
        rest = bound if self.added is None else e.Minus(bound, self.added, span=span)
        by = 1 / self.factor
        if by == 1:
            return rest
        if by.denominator == 1:
            return e.Product(rest, e.Constant(by, NO_UNIT, span=span), span=span)
        return e.Quotient(rest, e.Constant(self.factor, NO_UNIT, span=span), span=span)


def solved(shop: Shop) -> None:
    """Where nothing calculates: a comparison is solved for the one thing in it that varies."""
    if shop.has("calculation"):
        return
    n = numbers_of(shop.rules)

    def change(x: Any) -> Any:
        if not isinstance(x, e.Comparison):
            return x
        made = _solved(x, n)
        if made is None:
            return x
        shop.changed("solved", x.span, late=False)
        return made

    shop.rewrite(change)


def _solved(x: e.Comparison, n: Numbers) -> e.Comparison | None:
    left, right = n.value(x.left) is not None, n.value(x.right) is not None
    if left == right:
        return None
    if left:
        x = replace(x, left=x.right, order=FLIPPED[x.order], right=x.left)
    line = line_of(x.left, n)
    if line is None or line.atom == x.left or not line.factor:
        return None
    bound = line.solved_for(x.right)
    value = n.value(bound)
    if value is not None and not n.parameters(bound):
        bound = e.Constant(value, n.unit(x.right, NO_UNIT), span=x.span)
    order = x.order if line.factor > 0 else FLIPPED[x.order]
    return replace(x, left=line.atom, order=order, right=bound)


def line_of(x: e.Number, n: Numbers) -> Line | None:
    """None where more than one thing varies in it, or a tune multiplies: that may still be rounded."""
    match x:
        case e.NamedNumber(name) if name in n.named:
            return line_of(n.named[name], n)
        case e.Plus(a, b) if n.value(b) is not None:
            return _plus(line_of(a, n), b, 1)
        case e.Plus(a, b) if n.value(a) is not None:
            return _plus(line_of(b, n), a, 1)
        case e.Minus(a, b) if n.value(b) is not None:
            return _plus(line_of(a, n), b, -1)
        case e.Minus(a, b) if n.value(a) is not None:
            inner = line_of(b, n)
            return None if inner is None else _plus(_times(inner, Fraction(-1)), a, 1)
        case e.Product(e.Constant(value), b):
            inner = line_of(b, n)
            return None if inner is None else _times(inner, value)
        case e.Product(a, e.Constant(value)):
            inner = line_of(a, n)
            return None if inner is None else _times(inner, value)
        case e.Quotient(a, e.Constant(value)) if value:
            inner = line_of(a, n)
            return None if inner is None else _times(inner, 1 / value)
        case e.Reading() | e.Held() | e.Output() | e.Age():
            return Line(x, Fraction(1))
        case _:
            return None


def _plus(line: Line | None, y: e.Number, sign: int) -> Line | None:
    if line is None:
        return None
    if sign < 0:
        y = _scaled(y, Fraction(-1))
    return replace(line, added=y if line.added is None else e.Plus(line.added, y, span=y.span))


def _times(line: Line, k: Fraction) -> Line:
    return replace(line, factor=line.factor * k, added=None if line.added is None else _scaled(line.added, k))


def _scaled(x: e.Number, k: Fraction) -> e.Number:
    return e.Product(e.Constant(k, NO_UNIT, span=x.span), x, span=x.span)
