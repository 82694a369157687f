"""Numbers on the steps of the device: which way, and whether they still go together."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from latchproof.fit.fit import fit
from latchproof.fit.model import Fitted, Misfit
from latchproof.fit.rounding import rounded
from latchproof.rules import expressions as e
from latchproof.rules.units import UNITS
from latchproof.transmitter.model import Steps, Threshold, Transmitter
from tests.fit.able import able
from tests.helpers.rules import rules_of

F = Fraction
HEAD = """rules "Made for a test" version "1"
cycle from 10 ms to 30 ms
switch guard positions off, on
button go
stick throttle from 0 % to 100 %
sensor height { from -20 m to 200 m  step 1 m  stale after 1 s }
channel motor 1 { follows throttle  from 0 % to 100 % }
"""
DRIVE = "{ drive motor to 0 % }\n"


def coarse(unit: str = "m", step: str = "5", kept: str | None = None, **more: Any) -> Transmitter:
    """Heights by coarse steps, everything else by fine ones."""
    t = able(**more)
    heights = Threshold("height", unit, Steps(F(0), F(1000), F(step)), kept, None if kept is None else F(1))
    others = tuple(x for x in t.comparisons.thresholds if x.quantity != "height")
    return replace(t, comparisons=replace(t.comparisons, thresholds=(heights, *others)))


def made(text: str, t: Transmitter) -> Fitted:
    return fit(rules_of(HEAD + text), t)


def tune(x: Fitted, name: str) -> Fraction:
    (found,) = [t for t in x.rounded.tunes if t.name == name]
    assert found.low == found.high == found.value
    return found.value


def thresholds(x: Fitted) -> list[Fraction]:
    """Every number that a height is compared with, in the order of the rules."""
    from latchproof.fit.still import numbers_of
    from tests.fit.stands import entries, nodes

    n = numbers_of(x.rounded)
    found = []
    for entry in entries(x.rounded):
        for y in nodes(entry):
            if isinstance(y, e.Comparison) and isinstance(y.left, e.Reading):
                value = n.value(y.right)
                assert value is not None
                found.append(value)
    return found


def test_so_that_the_rule_acts_rather_than_not() -> None:
    low = made("rule r while height is below 42 m " + DRIVE, coarse())
    high = made("rule r while height is above 42 m " + DRIVE, coarse())
    assert (thresholds(low), thresholds(high)) == ([45], [40])
    assert [(x.way, x.reason) for x in low.roundings] == [("up", "acts rather than not")]
    assert [(x.way, x.reason) for x in high.roundings] == [("down", "acts rather than not")]


def test_what_resets_a_latch_works_the_other_way() -> None:
    x = made(
        "latch l { set when height is below 42 m  reset when height is above 61 m }\nrule r while l " + DRIVE, coarse()
    )
    assert sorted(thresholds(x)) == [45, 65]
    assert {y.way for y in x.roundings} == {"up"}


def test_what_is_needed_both_ways_has_no_safe_side() -> None:
    x = made("signal low = height is below 42 m\nrule r while low " + DRIVE + "rule s while not low and go is pressed "
             "{ announce tone }\n", coarse())  # fmt: skip
    assert thresholds(x) == [40]
    assert [y.reason for y in x.roundings] == ["needed both ways"]


def test_a_limit_is_never_more() -> None:
    t = able()
    t = replace(t, actions=replace(t.actions, percent=Steps(F(-100), F(100), F(5))))
    most = made("rule r while go is pressed { limit motor to at most 63 % }\n", t)
    least = made("rule r while go is pressed { limit motor to at least 61 % }\n", t)
    assert [(x.kept, x.reason) for x in most.roundings] == [(60, "never more")]
    assert [(x.kept, x.reason) for x in least.roundings] == [(65, "never less")]


def test_delays() -> None:
    t = able(delays={"steps": Steps(F(0), F(60), F(1, 2))})
    sooner = made("rule r while go is pressed for 0.8 s " + DRIVE, t)
    longer = made("rule r while go is pressed extended 0.8 s " + DRIVE, t)
    assert [x.kept for x in sooner.roundings] == [F(1, 2)]
    assert [x.kept for x in longer.roundings] == [1]


def test_a_delay_is_never_rounded_to_nothing() -> None:
    t = able(delays={"steps": Steps(F(0), F(60), F(1))})
    x = made("rule r while go is pressed for 0.4 s " + DRIVE, t)
    assert [(y.kept, y.reason) for y in x.roundings] == [(1, "else nothing")]


def test_a_test_is_never_rounded_to_always_or_never() -> None:
    t = able()
    percent = Threshold("percent", "%", Steps(F(0), F(100), F(5)))
    others = tuple(x for x in t.comparisons.thresholds if x.quantity != "percent")
    t = replace(t, comparisons=replace(t.comparisons, thresholds=(percent, *others)))
    x = made("rule r while throttle is above 2 % " + DRIVE, t)
    assert [(y.kept, y.reason) for y in x.roundings] == [(5, "else always the same")]


def test_a_tune_stays_at_its_rounded_value_everywhere() -> None:
    text = "tune floor = 42 m from 30 m to 90 m\nrule r while height is below floor " + DRIVE
    text += "rule s while height is below floor + 10 m { announce tone }\nclaim c: always floor is above 44 m\n"
    x = made(text, coarse())
    assert tune(x, "floor") == 45
    assert thresholds(x) == [45, 55]
    assert [y.tunes for y in x.roundings] == [("floor",)]
    sums = [y for y in rules_nodes(x) if isinstance(y, e.Plus)]
    assert sums, "a sum that is on the steps stays a sum"


def rules_nodes(x: Fitted) -> list[Any]:
    from tests.fit.stands import nodes

    return [y for r in x.rounded.rules for y in nodes(r)]


def test_a_sum_that_is_not_on_the_steps_gets_a_number_of_its_own() -> None:
    text = "tune floor = 42 m from 30 m to 90 m\nrule r while height is below floor " + DRIVE
    x = made(text + "rule s while height is below floor + 7 m { announce tone }\n", coarse())
    assert tune(x, "floor") == 45
    assert thresholds(x) == [45, 55]
    assert {y.tunes for y in x.roundings} == {("floor",)}
    assert not [y for y in rules_nodes(x) if isinstance(y, e.Plus)]


def test_feet_kept_as_metres() -> None:
    x = made("rule r while height is below 42 m " + DRIVE, coarse("ft", "10", "m"))
    (y,) = x.roundings
    assert (y.entered, y.kept, y.unit, y.works) == (140 * F("0.3048"), 43, UNITS["ft"], UNITS["m"])
    assert thresholds(x) == [43]


def test_what_only_a_promise_says_is_not_entered() -> None:
    text = "signal near = height is below 12 m\nrule r while height is below 42 m " + DRIVE
    text += "claim c: never near and go is pressed and motor is above 0 %\n"
    x = made(text, coarse())
    assert thresholds(x) == [45]
    (near,) = x.rounded.signals
    assert isinstance(near.signal, e.Comparison)
    assert isinstance(near.signal.right, e.Constant)
    assert near.signal.right.value == 12
    assert x.rounded.claims == rules_of(HEAD + text).claims


REQUIRED = """tune floor   = 43 m from 30 m to 90 m
tune release = 52 m from 40 m to 110 m
require release is at least floor + 8 m
latch l { set when height is below floor  reset when height is above release }
rule r while l and guard is on { drive motor to 50 % }
rule s while height is above floor and height is below release { announce tone }
"""


def test_a_requirement_decides_where_the_nearest_would_break_it() -> None:
    text = REQUIRED.replace("at least floor", "at most floor").replace("43 m", "42 m").replace("52 m", "50 m")
    x = made(text, coarse())
    assert x.misfits == ()
    assert (tune(x, "floor"), tune(x, "release")) == (45, 50)
    assert [(y.where, y.reason) for y in x.roundings] == [("floor", "required")]


def test_a_requirement_that_cannot_be_met_beside_the_values_is_said() -> None:
    text = REQUIRED.replace("floor + 8 m", "floor + 26 m").replace("52 m", "70 m")
    x = made(text, coarse(step="25"))
    (y,) = x.misfits
    assert y.kind == "require"
    proposed = {name: value for name, value, _ in y.proposed}
    assert proposed == {"floor": 50, "release": 100}
    assert {name for name, _, _ in y.values} == {"floor", "release"}
    assert not x.fits


def test_where_no_values_meet_it_none_are_proposed() -> None:
    text = REQUIRED.replace("from 40 m to 110 m", "from 51 m to 53 m")
    x = made(text, coarse())
    assert kinds(x) == {"tune out of range"}
    assert {m.where for m in x.misfits} == {"release"}
    assert all(m.proposed == () for m in x.misfits)


def kinds(x: Fitted) -> set[str]:
    return {m.kind for m in x.misfits}


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("rule r while height is below 150 m " + DRIVE, "out of reach"),
        ("rule r while go is pressed for 100 s " + DRIVE, "out of reach"),
    ],
)
def test_out_of_reach(text: str, kind: str) -> None:
    t = coarse(delays={"steps": Steps(F(0), F(60), F(1))})
    t = replace(
        t, comparisons=replace(t.comparisons, thresholds=(Threshold("height", "m", Steps(F(0), F(100), F(1))),))
    )
    x = made(text, t)
    assert kinds(x) == {kind}
    assert [value for _, value, _ in x.misfits[0].proposed] in ([100], [60])


def test_a_height_of_which_nothing_is_said() -> None:
    t = able()
    t = replace(t, comparisons=replace(t.comparisons, thresholds=()))
    x = made("rule r while height is below 42 m " + DRIVE, t)
    assert x.misfits == (Misfit("threshold unknown", "the threshold in `height is below 42 m`", "height"),)


def test_a_fact_with_a_span_is_entered_at_its_middle() -> None:
    x = made("fact air = 4 m to 9 m assumed\nrule r while height is below air " + DRIVE, coarse(step="0.5"))
    assert thresholds(x) == [F("6.5")]
    assert not [y for y in rules_nodes(x) if isinstance(y, e.Parameter)]
    assert [(y.reason, y.tunes) for y in x.roundings] == [("middle of a fact", ("air",))]


def test_a_tune_in_steps_stays_one() -> None:
    text = "tune gain = 2 from 1 to 4 in steps of 1\nrule r while gain * throttle is above 30 % " + DRIVE
    x = made(text, coarse())
    (gain,) = x.rounded.tunes
    assert (gain.low, gain.high, gain.steps) == (2, 2, (2,))


def test_times_of_nothing_stay() -> None:
    t = able(delays={"steps": Steps(F(1), F(60), F(1)), "zero": False})
    assert made("rule r while go is pressed for 0 s " + DRIVE, t).roundings == ()


def test_rounding_alone_leaves_the_structure() -> None:
    rules = rules_of(HEAD + "sequence s while guard is on { phase a for 1.3 s { drive motor to 0 % } phase b { } }\n")
    t = able(delays={"steps": Steps(F(0), F(60), F(1))})
    got = rounded(rules, t)
    assert len(got.rules.sequences) == 1
    assert [x.kept for x in got.roundings] == [1]
