"""Units of the rule language and their exact factors.

Every number is kept in base units (metre, second, percent point, volt, ampere, degree, degree Celsius, turn, decibel,
cycle) as a `Fraction`; the unit it was written in is kept beside it for showing it again.
Factors: 1 ft = 0.3048 m, 1 h = 3600 s, 1 min = 60 s by definition (SI Brochure, 9th ed.; international foot of 1959).
"""

from dataclasses import dataclass
from fractions import Fraction

Dimension = tuple[tuple[str, int], ...]
"""Base unit and exponent, sorted by base unit; the empty tuple is a plain number."""

PLAIN: Dimension = ()


def dimension(**exponents: int) -> Dimension:
    return tuple(sorted((base, n) for base, n in exponents.items() if n))


def times(a: Dimension, b: Dimension, sign: int = 1) -> Dimension:
    """The dimension of a product, or with `sign=-1` of a quotient."""
    total = dict(a)
    for base, n in b:
        total[base] = total.get(base, 0) + sign * n
    return tuple(sorted((base, n) for base, n in total.items() if n))


@dataclass(frozen=True, slots=True)
class Unit:
    """`factor` base units make one of this unit."""

    symbol: str
    dimension: Dimension
    factor: Fraction = Fraction(1)


TIME = dimension(s=1)
LENGTH = dimension(m=1)
CYCLES = dimension(cycle=1)
PERCENT = dimension(percent=1)

_UNITS = (
    Unit("", PLAIN),
    Unit("m", LENGTH),
    Unit("ft", LENGTH, Fraction("0.3048")),
    Unit("s", TIME),
    Unit("ms", TIME, Fraction(1, 1000)),
    Unit("us", TIME, Fraction(1, 1000000)),
    Unit("min", TIME, Fraction(60)),
    Unit("m/s", dimension(m=1, s=-1)),
    Unit("ft/s", dimension(m=1, s=-1), Fraction("0.3048")),
    Unit("km/h", dimension(m=1, s=-1), Fraction(5, 18)),
    Unit("deg", dimension(deg=1)),
    Unit("deg/s", dimension(deg=1, s=-1)),
    Unit("%", PERCENT),
    Unit("%/s", dimension(percent=1, s=-1)),
    Unit("V", dimension(V=1)),
    Unit("V/s", dimension(V=1, s=-1)),
    Unit("A", dimension(A=1)),
    Unit("W", dimension(V=1, A=1)),
    Unit("mAh", dimension(A=1, s=1), Fraction(36, 10)),
    Unit("degC", dimension(degC=1)),
    Unit("rpm", dimension(turn=1, s=-1), Fraction(1, 60)),
    Unit("Hz", dimension(s=-1)),
    Unit("dB", dimension(dB=1)),
    Unit("dBm", dimension(dBm=1)),
    Unit("cycle", CYCLES),
    Unit("cycles", CYCLES),
)

UNITS: dict[str, Unit] = {u.symbol: u for u in _UNITS}
"""By symbol; the empty symbol is the plain number."""

NO_UNIT = UNITS[""]
