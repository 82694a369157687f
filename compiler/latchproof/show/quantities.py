"""Numbers with units as a person says them: `31 m`, `0.25 s`, `35 %`; shortened ones say `about`."""

from fractions import Fraction

from latchproof.rules.units import UNITS, Unit

PLACES = 3
"""Decimals that a person still reads; what needs more is shortened."""

FINEST = 15

SECONDS = UNITS["s"]


def quantity(value: Fraction, unit: Unit, places: int = PLACES) -> str:
    """`value` (in base units) in `unit`: exact if that needs few decimals, else `about` the nearest that does not."""
    digits, exact = _digits(value / unit.factor, places)
    return f"{'' if exact else 'about '}{digits}{_symbol(digits, unit)}"


def seconds(value: Fraction) -> str:
    return quantity(value, SECONDS)


def apart(a: Fraction, b: Fraction, unit: Unit) -> tuple[str, str]:
    """Two numbers beside each other: with as many decimals as it takes to tell them apart if they differ."""
    for places in range(PLACES, FINEST + 1):
        pair = quantity(a, unit, places), quantity(b, unit, places)
        if a == b or pair[0].removeprefix("about ") != pair[1].removeprefix("about "):
            return pair
    side = "just above" if a > b else "just below"
    return f"{side} {quantity(b, unit)}", quantity(b, unit)


def span(low: Fraction, high: Fraction, unit: Unit) -> str:
    """`4 ms to 25 ms`."""
    return quantity(low, unit) if low == high else f"{quantity(low, unit)} to {quantity(high, unit)}"


def decimal(value: Fraction) -> str:
    """Exactly: a decimal if there is one of reasonable length, else a fraction (`1/3`)."""
    digits, exact = _digits(value, FINEST)
    return digits if exact else f"{value.numerator}/{value.denominator}"


def rounded(value: Fraction, places: int) -> str:
    """At most so many decimals, without a word about what was left out: for tables that other programs read."""
    return _digits(value, places)[0]


def _digits(x: Fraction, places: int) -> tuple[str, bool]:
    """At most `places` decimals, more only where nothing but zeros would be left; and whether that is all of it."""
    while True:
        scaled = round(abs(x) * 10**places)
        exact = Fraction(scaled, 10**places) == abs(x)
        if exact or scaled >= 10 or places >= 30:
            break
        places += 1
    whole, rest = divmod(scaled, 10**places)
    fraction = f"{rest:0{places}d}".rstrip("0") if places else ""
    text = f"{whole}.{fraction}" if fraction else str(whole)
    return (f"-{text}" if x < 0 and scaled else text), exact


def _symbol(digits: str, unit: Unit) -> str:
    if unit.symbol in ("cycle", "cycles"):
        return " cycle" if digits == "1" else " cycles"
    return f" {unit.symbol}" if unit.symbol else ""
