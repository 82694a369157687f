"""What expressions come to."""

from fractions import Fraction

import pytest

from latchproof.rules import expressions as ex
from latchproof.rules.units import UNITS
from tests.rules.reading import NOWHERE, rules, signal, value

M, S, PERCENT = UNITS["m"], UNITS["s"], UNITS["%"]


def number(n: int | Fraction, unit: str = "m") -> ex.Constant:
    return ex.Constant(Fraction(n), UNITS[unit], span=NOWHERE)


HEIGHT = ex.Reading("height", span=NOWHERE)
THROTTLE = ex.Held("throttle", span=NOWHERE)
ENGAGED, ARMED = ex.NamedSignal("engaged", span=NOWHERE), ex.NamedSignal("armed", span=NOWHERE)
FLOOR = ex.Parameter("floor", span=NOWHERE)


THIRTY = number(30)


def compare(order: ex.Order, bound: ex.Number = THIRTY) -> ex.Comparison:
    return ex.Comparison(HEIGHT, order, bound, span=NOWHERE)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("height is below 30 m", compare("<")),
        ("height is above 30 m", compare(">")),
        ("height is at least 30 m", compare(">=")),
        ("height is at most 30 m", compare("<=")),
        ("throttle is equal to 30 %", ex.Comparison(THROTTLE, "==", number(30, "%"), span=NOWHERE)),
        ("height is from 30 m to 40 m", ex.AllOf((compare(">="), compare("<=", number(40))), span=NOWHERE)),
        ("height is below floor", compare("<", FLOOR)),
        (
            "height is below 30 m until above 40 m",
            ex.Band(HEIGHT, ("<", number(30)), (">", number(40)), span=NOWHERE),
        ),
        (
            "height is at least 30 m until at most 20 m",
            ex.Band(HEIGHT, (">=", number(30)), ("<=", number(20)), span=NOWHERE),
        ),
        (
            "rate of height is below -3 m/s",
            ex.RateComparison(HEIGHT, "<", Fraction(-3), UNITS["m/s"], span=NOWHERE),
        ),
        (
            "size of (rate of (height - 3 m)) is at most 3 m/s",
            ex.RateComparison(
                ex.Minus(HEIGHT, number(3), span=NOWHERE), "<=", Fraction(3), UNITS["m/s"], size=True, span=NOWHERE
            ),
        ),
        ("guard is middle", ex.AtPosition("guard", 1, span=NOWHERE)),
        ("guard is not middle", ex.Not(ex.AtPosition("guard", 1, span=NOWHERE), span=NOWHERE)),
        ("left is pressed", ex.Pressed("left", span=NOWHERE)),
        ("left is released", ex.Not(ex.Pressed("left", span=NOWHERE), span=NOWHERE)),
        ("height is stale", ex.SensorState("height", "stale", span=NOWHERE)),
        ("height is fresh", ex.SensorState("height", "fresh", span=NOWHERE)),
        ("link is heard", ex.SensorState("link", "heard", span=NOWHERE)),
        ("motor is driven", ex.ChannelState("motor", "driven", span=NOWHERE)),
        ("throttle is free", ex.ChannelState("throttle", "free", span=NOWHERE)),
        ("not engaged", ex.Not(ENGAGED, span=NOWHERE)),
        ("engaged and armed and engaged", ex.AllOf((ENGAGED, ARMED, ENGAGED), span=NOWHERE)),
        ("engaged or not armed", ex.AnyOf((ENGAGED, ex.Not(ARMED, span=NOWHERE)), span=NOWHERE)),
        ("exactly_one of (engaged, armed)", ex.ExactlyOne((ENGAGED, ARMED), span=NOWHERE)),
        ("engaged begins", ex.Edge("begins", ENGAGED, span=NOWHERE)),
        ("(not engaged) ends", ex.Edge("ends", ex.Not(ENGAGED, span=NOWHERE), span=NOWHERE)),
        ("previous of engaged", ex.PreviousSignal(ENGAGED, span=NOWHERE)),
        (
            "previous of (previous of engaged)",
            ex.PreviousSignal(ex.PreviousSignal(ENGAGED, span=NOWHERE), span=NOWHERE),
        ),
        (
            "engaged for 250 ms",
            ex.Timed("for", ENGAGED, ex.Duration(number(Fraction(1, 4), "ms"), span=NOWHERE), span=NOWHERE),
        ),
        (
            "engaged extended 3 cycles",
            ex.Timed("extended", ENGAGED, ex.Duration(number(3, "cycles"), in_cycles=True, span=NOWHERE), span=NOWHERE),
        ),
        (
            "engaged pulsed (2 s + 500 ms)",
            ex.Timed("pulsed", ENGAGED, ex.Duration(number(Fraction(5, 2), "s"), span=NOWHERE), span=NOWHERE),
        ),
    ],
)
def test_signals(text: str, expected: ex.Signal) -> None:
    assert signal(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("floor + 3 m", ex.Plus(FLOOR, number(3), span=NOWHERE)),
        ("height - floor", ex.Minus(HEIGHT, FLOOR, span=NOWHERE)),
        ("0 m - height", ex.Minus(number(0), HEIGHT, span=NOWHERE)),
        ("2 * floor", ex.Product(number(2, ""), FLOOR, span=NOWHERE)),
        ("floor / 2", ex.Quotient(FLOOR, number(2, ""), span=NOWHERE)),
        ("share * height", ex.Product(ex.Parameter("share", span=NOWHERE), HEIGHT, span=NOWHERE)),
        ("height / share", ex.Quotient(HEIGHT, ex.Parameter("share", span=NOWHERE), span=NOWHERE)),
        ("motor", ex.Output("motor", span=NOWHERE)),
        ("pilot_value of motor", ex.Own("motor", span=NOWHERE)),
        ("throttle", THROTTLE),
        ("age of height", ex.Age("height", span=NOWHERE)),
        ("previous of height", ex.PreviousNumber(HEIGHT, span=NOWHERE)),
        ("size of height", ex.Size(HEIGHT, span=NOWHERE)),
        ("larger of (height, floor)", ex.Largest((HEIGHT, FLOOR), span=NOWHERE)),
        ("smaller of (height, floor)", ex.Smallest((HEIGHT, FLOOR), span=NOWHERE)),
    ],
)
def test_numbers(text: str, expected: ex.Number) -> None:
    assert value(text) == expected


def test_a_minus_sign_is_never_part_of_a_number() -> None:
    expected = ex.Comparison(ex.Minus(HEIGHT, number(3), span=NOWHERE), "<", number(-20), span=NOWHERE)
    assert signal("height -3 m is below -20 m") == expected


def test_a_fact_with_one_value_is_that_value() -> None:
    found = value("sink", "\nfact sink = 36 km/h measured 2025-05-03")
    assert found == number(10, "km/h")


def test_a_fact_with_a_span_is_a_parameter() -> None:
    assert value("climb", "\nfact climb = 3 m/s to 5 m/s assumed") == ex.Parameter("climb", span=NOWHERE)


def test_a_fixed_value_is_seen_through_others_are_named() -> None:
    assert value("two * height", "\nvalue two = 1 + 1") == ex.Product(number(2, ""), HEIGHT, span=NOWHERE)
    assert value("higher", "\nvalue higher = height + 3 m") == ex.NamedNumber("higher", span=NOWHERE)


def test_the_order_of_the_text_does_not_matter() -> None:
    found = rules(
        """claim c: never a is above 30 m
        value a = b + 1 m
        value b = larger of (c2, 3 m)
        fact c2 = 2 m assumed"""
    )
    assert [v.name for v in found.values] == ["a", "b"]
    assert found.values[1].value == number(3)
    assert found.values[0].value == number(4)


def test_a_value_may_remember_itself() -> None:
    found = value("larger of (height, previous of x)")
    assert found == ex.Largest(
        (HEIGHT, ex.PreviousNumber(ex.NamedNumber("x", span=NOWHERE), span=NOWHERE)), span=NOWHERE
    )


def test_two_values_may_remember_each_other() -> None:
    found = rules("value a = previous of b + 1 m\nvalue b = a\nclaim c: never b is above 3 ft")
    assert [v.unit for v in found.values] == [M, M]
    assert found.values[1].value == ex.NamedNumber("a", span=NOWHERE)


def test_truth_in_a_promise() -> None:
    found = rules(
        "sensor h { from 0 m to 9 m  changes from -1 m/s to 1 m/s }\nclaim c: always truth of h is above 3 m"
    ).claims[0]
    assert found.form.signal == ex.Comparison(ex.Truth("h", span=NOWHERE), ">", number(3), span=NOWHERE)  # type: ignore[union-attr]
