"""Numbers as a person copies them."""

from fractions import Fraction

import pytest

from latchproof.listing import amounts
from latchproof.rules.units import UNITS


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("5", "5"), ("1/2", "0.5"), ("-1/2", "-0.5"), ("0", "0"), ("40", "40"), ("123456789", "123456789"),
        ("1/1000", "0.001"), ("1/3", "about 0.333"), ("-200/3", "about -66.667"), ("1/300", "about 0.00333"),
    ],
)  # fmt: skip
def test_digits(value: str, text: str) -> None:
    assert amounts.digits(Fraction(value)) == text


@pytest.mark.parametrize(
    ("value", "unit", "text", "other"),
    [
        ("46", "m", "46 m", "151 ft"), ("2", "m", "2 m", "6.6 ft"), ("360", "ft", "about 1181.102 ft", "360 m"),
        ("5", "m/s", "5 m/s", "16.4 ft/s, 18 km/h"), ("3.7", "V", "3.7 V", ""), ("0", "degC", "0 degC",
        "32 degrees Fahrenheit"),
    ],
)  # fmt: skip
def test_both_units(value: str, unit: str, text: str, other: str) -> None:
    shown = amounts.quantity(Fraction(value), UNITS[unit])
    assert shown == text
    assert amounts.other_unit(Fraction(value), UNITS[unit]) == other


@pytest.mark.parametrize(
    ("value", "text", "other", "words"),
    [
        ("2", "2 s", "", "two seconds"), ("1", "1 s", "", "one second"), ("1/2", "0.5 s", "500 ms", "half a second"),
        ("1/4", "0.25 s", "250 ms", "a quarter of a second"), ("2/5", "0.4 s", "400 ms", "four tenths of a second"),
        ("0.45", "0.45 s", "450 ms", ""),
        ("1/10", "0.1 s", "100 ms", "one tenth of a second"), ("5/2", "2.5 s", "", "two and a half seconds"),
        ("0", "0 s", "0 ms", "zero seconds"),
        ("1.05", "1.05 s", "", "one point zero five seconds"),
        ("90", "90 s", "1 min 30 s", "one minute thirty seconds"),
        ("121", "121 s", "2 min 1 s", "two minutes one second"), ("28", "28 s", "", "twenty-eight seconds"),
        ("1/3", "about 0.333 s", "about 333.333 ms", ""),
    ],
)  # fmt: skip
def test_times(value: str, text: str, other: str, words: str) -> None:
    assert amounts.seconds(Fraction(value)) == (text, other, words)


def test_pulse_widths() -> None:
    both, one = Fraction(-100), Fraction(0)
    assert [amounts.pulse_width(Fraction(p), both) for p in (-100, 0, 100, 5)] == [
        "1000 us",
        "1500 us",
        "2000 us",
        "1525 us",
    ]
    assert [amounts.pulse_width(Fraction(p), one) for p in (0, 50, 100)] == ["1000 us", "1500 us", "2000 us"]
    assert (amounts.pulse_step(Fraction(6), both), amounts.pulse_step(Fraction(6), one)) == ("30 us", "60 us")


def test_passes() -> None:
    assert amounts.passes(Fraction(1)) == ("1 pass", "one pass of the transmitter over its entries")
    assert amounts.passes(Fraction(12))[0] == "12 passes"
