"""Units and exact numbers, against values worked out by hand."""

from fractions import Fraction

import pytest

from latchproof.rules import expressions as ex
from latchproof.rules.numbers import sum_unit
from latchproof.rules.units import UNITS, dimension, times
from latchproof.rules.words import per_second, shown, unit_for
from latchproof.syntax.numerals import UNITS as WRITTEN
from tests.rules.reading import value


@pytest.mark.parametrize(
    ("text", "base"),
    [
        ("46 m", Fraction(46)),
        ("100 ft", Fraction("30.48")),
        ("1.5 min", Fraction(90)),
        ("250 ms", Fraction(1, 4)),
        ("20 us", Fraction(1, 50_000)),
        ("36 km/h", Fraction(10)),
        ("10 ft/s", Fraction("3.048")),
        ("2200 mAh", Fraction(7920)),
        ("600 rpm", Fraction(10)),
        ("0.1 V", Fraction(1, 10)),
        ("-3 m", Fraction(-3)),
        ("− 3 m", Fraction(-3)),
        ("2 * 3 m + 1 ft", Fraction("6.3048")),
        ("1 / 3", Fraction(1, 3)),
        ("10 m / 4 s", Fraction(5, 2)),
        ("12 V * 2 A", Fraction(24)),
        ("24 W / 2 A", Fraction(12)),
        ("1 A * 60 min / 1000 mAh", Fraction(1)),
        ("7 m/s * 2 s", Fraction(14)),
        ("36 km/h * 2 s", Fraction(20)),
        ("600 rpm * 2 s", Fraction(20)),
        ("1 / 2 s", Fraction(1, 2)),
        ("size of (3 m - 5 m)", Fraction(2)),
        ("smaller of (3 m, 100 ft, 4 m)", Fraction(3)),
        ("larger of (3 m, 100 ft, 4 m)", Fraction("30.48")),
        ("-90 dBm + 3 dB", Fraction(-87)),
        ("-90 dBm - -80 dBm", Fraction(-10)),
        ("((((2 m))))", Fraction(2)),
    ],
)
def test_fixed_numbers_are_folded_exactly(text: str, base: Fraction) -> None:
    found = value(text)
    assert isinstance(found, ex.Constant)
    assert found.value == base


@pytest.mark.parametrize(
    ("text", "symbol"),
    [
        ("2 * 3 ft", "ft"),
        ("3 ft / 2", "ft"),
        ("12 V * 2 A", "W"),
        ("24 W / 2 A", "V"),
        ("10 m / 4 s", "m/s"),
        ("7 m/s * 2 s", "m"),
        ("2 A * 3 s", "mAh"),
        ("1 / 2 s", "Hz"),
        ("6 m / 3 m", ""),
        ("-90 dBm - -80 dBm", "dB"),
        ("-90 dBm + 3 dB", "dBm"),
        ("3 dB + -90 dBm", "dBm"),
        ("3 m * 2 m", "m^2"),
        ("3 m / (2 s * 1 s)", "m/s^2"),
        ("3 / 2 m", "1/m"),
        ("3 % * 2 %", "%^2"),
    ],
)
def test_the_unit_to_show_it_in(text: str, symbol: str) -> None:
    found = value(text)
    assert isinstance(found, ex.Constant)
    assert found.unit.symbol == symbol


def test_dimensions() -> None:
    metre, second = dimension(m=1), dimension(s=1)
    assert times(metre, second, -1) == dimension(m=1, s=-1)
    assert times(dimension(m=1, s=-1), second) == metre
    assert times(metre, metre, -1) == ()
    assert unit_for(times(UNITS["V"].dimension, UNITS["A"].dimension)).symbol == "W"


@pytest.mark.parametrize("symbol", UNITS)
def test_every_unit_is_its_own_sum(symbol: str) -> None:
    unit = UNITS[symbol]
    total = sum_unit(unit, unit, "+")
    assert total is not None
    assert total.dimension == unit.dimension


@pytest.mark.parametrize(
    ("symbol", "rate"),
    [
        ("m", "m/s"),
        ("ft", "ft/s"),
        ("%", "%/s"),
        ("V", "V/s"),
        ("deg", "deg/s"),
        ("A", "A/s"),
        ("", "Hz"),
        ("km/h", "m/s^2"),
    ],
)
def test_rates(symbol: str, rate: str) -> None:
    assert per_second(UNITS[symbol]).symbol == rate
    assert per_second(UNITS[symbol]).dimension == times(UNITS[symbol].dimension, dimension(s=1), -1)


@pytest.mark.parametrize(
    ("base", "symbol", "text"),
    [
        (Fraction(46), "m", "46 m"),
        (Fraction("30.48"), "ft", "100 ft"),
        (Fraction(1, 4), "ms", "250 ms"),
        (Fraction(-5, 2), "V", "-2.5 V"),
        (Fraction(1, 3), "", "about 0.3333"),
        (Fraction(-1, 3), "s", "about -0.3333 s"),
        (Fraction(0), "%", "0 %"),
        (Fraction(1, 100_000_000), "m", "0.00000001 m"),
    ],
)
def test_numbers_as_a_person_says_them(base: Fraction, symbol: str, text: str) -> None:
    assert shown(base, UNITS[symbol]) == text


def test_the_text_and_the_rules_know_the_same_units() -> None:
    assert set(WRITTEN) == set(UNITS) - {""}
