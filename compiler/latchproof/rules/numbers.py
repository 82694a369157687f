"""Arithmetic on resolved numbers: unit, how much the number varies, between what bounds it lies. Fixed numbers fold."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import IntEnum
from fractions import Fraction

from latchproof.rules.expressions import (
    Constant,
    Largest,
    Minus,
    Number,
    Plus,
    PreviousNumber,
    Product,
    Quotient,
    Size,
    Smallest,
)
from latchproof.rules.limits import DEGREE, LARGEST_FOLDED
from latchproof.rules.units import NO_UNIT, PLAIN, UNITS, Unit, dimension, times
from latchproof.rules.words import unit_for
from latchproof.source import Span

_DB, _DBM = dimension(dB=1), dimension(dBm=1)

Operation = Callable[[Fraction, Fraction], Fraction]


class Varies(IntEnum):
    """FIXED: one number. STEPPED: a few, one proof each. TUNED: stands still during a flight. FLYING: anything."""

    FIXED = 0
    STEPPED = 1
    TUNED = 2
    FLYING = 3


@dataclass(frozen=True, slots=True)
class Amount:
    """A resolved number and what is known of it.

    `unit` is what it is shown in, None where it is not known yet (a value that refers to its own previous one).
    `low` and `high` bound it in base units; None where no bound is known. `measured`: a sensor has a part in it.
    `held`: a stick or knob has a part in it, other than by memory. `degree`: how many tunes in steps are multiplied
    with one another at most.
    """

    number: Number
    unit: Unit | None
    varies: Varies
    low: Fraction | None = None
    high: Fraction | None = None
    measured: bool = False
    held: bool = False
    degree: int = 0

    @property
    def constant(self) -> Fraction | None:
        return self.number.value if isinstance(self.number, Constant) else None


class TooLargeError(Exception):
    """A fixed number came out beyond all sense."""


def fixed(value: Fraction, unit: Unit, span: Span) -> Amount:
    """A constant, `value` in base units."""
    if abs(value.numerator) > LARGEST_FOLDED or value.denominator > LARGEST_FOLDED:
        raise TooLargeError
    return Amount(Constant(value, unit, span=span), unit, Varies.FIXED, value, value)


def sum_unit(left: Unit | None, right: Unit | None, operator: str) -> Unit | None:
    """The unit of a sum or difference of two different-but-related units, None if they do not mix.

    Decibels may be added to a power in dBm, and two such powers differ by decibels.
    """
    if left is None or right is None:
        return left or right
    if left.dimension == right.dimension:
        return UNITS["dB"] if left.dimension == _DBM and operator == "-" else left
    if left.dimension == _DBM and right.dimension == _DB:
        return left
    return right if operator == "+" and left.dimension == _DB and right.dimension == _DBM else None


def _joined(
    a: Amount, b: Amount, number: Number, unit: Unit | None, low: Fraction | None, high: Fraction | None
) -> Amount:
    varies, degree = max(a.varies, b.varies), max(a.degree, b.degree)
    return Amount(number, unit, varies, low, high, a.measured or b.measured, a.held or b.held, degree)


def _multiplied(a: Amount, b: Amount, number: Number, unit: Unit | None, f: Operation) -> Amount:
    if a.degree + b.degree > DEGREE:
        raise TooLargeError
    low, high = _corners(a, b, f)
    return replace(_joined(a, b, number, unit, low, high), degree=a.degree + b.degree)


def plus(a: Amount, b: Amount, unit: Unit | None, span: Span) -> Amount:
    if a.constant is not None and b.constant is not None and unit is not None:
        return fixed(a.constant + b.constant, unit, span)
    low = None if a.low is None or b.low is None else a.low + b.low
    high = None if a.high is None or b.high is None else a.high + b.high
    return _joined(a, b, Plus(a.number, b.number, span=span), unit, low, high)


def minus(a: Amount, b: Amount, unit: Unit | None, span: Span) -> Amount:
    if a.constant is not None and b.constant is not None and unit is not None:
        return fixed(a.constant - b.constant, unit, span)
    low = None if a.low is None or b.high is None else a.low - b.high
    high = None if a.high is None or b.low is None else a.high - b.low
    return _joined(a, b, Minus(a.number, b.number, span=span), unit, low, high)


def negative(a: Amount, span: Span) -> Amount:
    zero = Amount(Constant(Fraction(0), a.unit or NO_UNIT, span=span), a.unit, Varies.FIXED, Fraction(0), Fraction(0))
    return minus(zero, a, a.unit, span)


def product_unit(a: Unit | None, b: Unit | None, sign: int) -> Unit | None:
    """Of a product, or with `sign=-1` of a quotient. A plain factor leaves the unit as it was written."""
    if a is None or b is None:
        return None
    if b.dimension == PLAIN:
        return a
    if a.dimension == PLAIN and sign > 0:
        return b
    return unit_for(times(a.dimension, b.dimension, sign))


def product(a: Amount, b: Amount, span: Span) -> Amount:
    unit = product_unit(a.unit, b.unit, 1)
    if a.constant is not None and b.constant is not None and unit is not None:
        return fixed(a.constant * b.constant, unit, span)
    return _multiplied(a, b, Product(a.number, b.number, span=span), unit, lambda x, y: x * y)


def may_be_zero(a: Amount) -> bool:
    return a.low is None or a.high is None or a.low <= 0 <= a.high


def quotient(a: Amount, b: Amount, span: Span) -> Amount:
    """`b` is known not to be zero."""
    unit = product_unit(a.unit, b.unit, -1)
    if a.constant is not None and b.constant is not None and unit is not None:
        return fixed(a.constant / b.constant, unit, span)
    return _multiplied(a, b, Quotient(a.number, b.number, span=span), unit, lambda x, y: x / y)


def _corners(a: Amount, b: Amount, f: Operation) -> tuple[Fraction, Fraction] | tuple[None, None]:
    if a.low is None or a.high is None or b.low is None or b.high is None:
        return None, None
    found = [f(x, y) for x in (a.low, a.high) for y in (b.low, b.high)]
    return _bounded(min(found)), _bounded(max(found))


def _bounded(x: Fraction) -> Fraction:
    """Bounds are only for messages about negative amounts and the like; they must not grow without end."""
    if abs(x.numerator) > LARGEST_FOLDED or x.denominator > LARGEST_FOLDED:
        raise TooLargeError
    return x


def size(a: Amount, span: Span) -> Amount:
    if a.constant is not None and a.unit is not None:
        return fixed(abs(a.constant), a.unit, span)
    low, high = Fraction(0), None
    if a.low is not None and a.high is not None:
        high = max(abs(a.low), abs(a.high))
        low = Fraction(0) if a.low <= 0 <= a.high else min(abs(a.low), abs(a.high))
    return Amount(Size(a.number, span=span), a.unit, a.varies, low, high, a.measured, a.held, a.degree)


def extreme(amounts: tuple[Amount, ...], unit: Unit | None, largest: bool, span: Span) -> Amount:
    """The smallest or the largest of several."""
    pick = max if largest else min
    constants = [a.constant for a in amounts if a.constant is not None]
    if len(constants) == len(amounts) and unit is not None:
        return fixed(pick(constants), unit, span)
    numbers = tuple(a.number for a in amounts)
    number: Number = Largest(numbers, span=span) if largest else Smallest(numbers, span=span)
    lows, highs = [a.low for a in amounts], [a.high for a in amounts]
    return Amount(
        number,
        unit,
        max(a.varies for a in amounts),
        _pick_bound(lows, pick, any_known=largest),
        _pick_bound(highs, pick, any_known=not largest),
        any(a.measured for a in amounts),
        any(a.held for a in amounts),
        max(a.degree for a in amounts),
    )


def _pick_bound(bounds: list[Fraction | None], pick: Callable[..., Fraction], any_known: bool) -> Fraction | None:
    """`larger of` is at least every known lower bound, but at most an upper bound only if all are known."""
    known = [b for b in bounds if b is not None]
    return pick(known) if known and (any_known or len(known) == len(bounds)) else None


def previous(a: Amount, span: Span) -> Amount:
    """The value in the last cycle; 0 in the first."""
    low = None if a.low is None else min(a.low, Fraction(0))
    high = None if a.high is None else max(a.high, Fraction(0))
    return Amount(PreviousNumber(a.number, span=span), a.unit, Varies.FLYING, low, high, a.measured)
