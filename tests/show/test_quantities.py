"""Numbers as a person says them, never rounded without a word."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from latchproof.rules.units import UNITS
from latchproof.show.quantities import apart, decimal, quantity, rounded, seconds, span

METRES, PERCENT = UNITS["m"], UNITS["%"]


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [
        ("31", "m", "31 m"),
        ("0.25", "s", "0.25 s"),
        ("35", "%", "35 %"),
        ("-40", "m", "-40 m"),
        ("0", "m", "0 m"),
        ("0.3048", "ft", "1 ft"),
        ("0.02", "ms", "20 ms"),
        ("4999/161", "m", "about 31.05 m"),
        ("1/3", "s", "about 0.333 s"),
        ("-1/3", "s", "about -0.333 s"),
        ("2/3", "", "about 0.667"),
        ("1/30000", "s", "about 0.000033 s"),
        ("0.0005", "s", "0.0005 s"),
        ("34.9999", "m", "about 35 m"),
        ("1", "cycles", "1 cycle"),
        ("3", "cycle", "3 cycles"),
        ("12345.678", "m", "12345.678 m"),
    ],
)
def test_said(value: str, unit: str, said: str) -> None:
    assert quantity(Fraction(value), UNITS[unit]) == said


def test_spans() -> None:
    assert span(Fraction(-14), Fraction(7), UNITS["m/s"]) == "-14 m/s to 7 m/s"
    assert span(Fraction(3), Fraction(3), METRES) == "3 m"
    assert seconds(Fraction(12025, 1000)) == "12.025 s"


def test_two_numbers_that_differ_do_not_read_alike() -> None:
    assert apart(Fraction("34.99999"), Fraction(35), METRES) == ("34.99999 m", "35 m")
    assert apart(Fraction(35), Fraction(35), METRES) == ("35 m", "35 m")
    tiny = Fraction(1, 10**40)
    assert apart(35 - tiny, Fraction(35), METRES) == ("just below 35 m", "35 m")
    assert apart(35 + tiny, Fraction(35), METRES) == ("just above 35 m", "35 m")


def test_exact_text() -> None:
    assert decimal(Fraction(1, 3)) == "1/3"
    assert decimal(Fraction(-1, 8)) == "-0.125"
    assert decimal(Fraction(7)) == "7"
    assert rounded(Fraction(2, 3), 4) == "0.6667"


exact = st.fractions(min_value=-10000, max_value=10000, max_denominator=10**9)


@given(exact)
def test_only_a_shortened_number_says_about(value: Fraction) -> None:
    said = quantity(value, PERCENT).removesuffix(" %")
    if said.startswith("about "):
        shortened = Fraction(said.removeprefix("about "))
        assert shortened != value
        assert abs(shortened - value) <= Fraction(1, 2000)
    else:
        assert Fraction(said) == value


@given(exact)
def test_exact_text_can_be_read_back(value: Fraction) -> None:
    assert Fraction(decimal(value)) == value


@given(exact, exact)
def test_apart_tells_apart(a: Fraction, b: Fraction) -> None:
    x, y = apart(a, b, METRES)
    assert (x.removeprefix("about ") == y.removeprefix("about ")) == (a == b)
