"""The pulse widths that a listing prints beside percent.

Source: servo pulse 1000-1500-2000 us, neutral always near 1.5 ms, ranges differ between servos; read on owiki.org
"Servo control" and electronics.stackexchange 176739. The linear map us = 1500 + 5*percent is derived from it, and so
is the map of a channel that runs from 0 % to 100 % over the same pulses. Makers' "100 %" differs: the listing says
so.
"""

from fractions import Fraction

import pytest

from latchproof.listing.amounts import pulse_step, pulse_width

SURFACE, MOTOR = Fraction(-100), Fraction(0)


@pytest.mark.parametrize(
    ("percent", "low", "us"),
    [
        (-100, SURFACE, 1000), (0, SURFACE, 1500), (100, SURFACE, 2000),
        (0, MOTOR, 1000), (50, MOTOR, 1500), (100, MOTOR, 2000),
    ],
)  # fmt: skip
def test_ends_and_middle(percent: int, low: Fraction, us: int) -> None:
    assert pulse_width(Fraction(percent), low) == f"{us} us"


@pytest.mark.parametrize("percent", range(-100, 101, 7))
def test_linear_map(percent: int) -> None:
    assert pulse_width(Fraction(percent), SURFACE) == f"{1500 + 5 * percent} us"


@pytest.mark.parametrize(("low", "us"), [(SURFACE, 50), (MOTOR, 100)])
def test_a_step_is_a_difference_of_widths(low: Fraction, us: int) -> None:
    assert pulse_step(Fraction(10), low) == f"{us} us"
    assert pulse_width(Fraction(40), low) != pulse_width(Fraction(50), low)


def test_widths_are_exact() -> None:
    """A tenth of a percent is half a microsecond, written out."""
    assert pulse_width(Fraction(1, 10), SURFACE) == "1500.5 us"
