"""What stands behind a rule: which tests, which way they help, by way of which latch; levels and numbers."""

from fractions import Fraction

import pytest

from latchproof.hazards.causes import behind, handled, levels, obeys, only_stops, powers, read_in, turned
from latchproof.hazards.levels import _pairs
from latchproof.hazards.numbers import raised, rounded_up, value_of
from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Rule
from latchproof.rules.units import UNITS
from tests.helpers.hazards import site_of

TEXT = """rules "Behind"
switch guard  positions off, on
switch flaps  positions up, half, down
stick throttle  from 0 % to 100 %
stick pitch     from -100 % to 100 %
sensor height {
  from -30 m to 400 m
  stale after 2 s
}
sensor pack { from 0 V to 18 V }
channel motor 1 { follows throttle  from 0 % to 100 % }
channel elevator 2 { follows pitch  from -100 % to 100 %  up is positive }
tune floor   = 30 m  from 20 m to 60 m
tune release = floor + 10 m  from 30 m to 80 m
value cell = pack / 4
role arm is guard is on
"""
LATCHES = """
latch ready {
  set when   height is above floor + 20 m for 2 s
  reset when not (guard is on)
  reset when previous of low
}
latch low {
  set when   ready and not (height is at least floor)
  reset when height is above 50 m
  reset when cell is below 3.3 V
}
latch stopped { set when cell is below 3 V  reset when throttle is at most 2 % }
rule lift while low extended 1 s { drive motor to 50 % }
rule more while exactly_one of (flaps is down, guard is on) { drive throttle to 30 % }
rule still while not ready { drive motor to 0 % }
rule weak while stopped { limit motor to at most 30 % }
rule nose while height is below 20 m until above 25 m { move elevator up by 5 % }
"""


@pytest.fixture(scope="module")
def site() -> Site:
    return site_of(TEXT.replace("= floor + 10 m", "= 40 m") + LATCHES)


def rule(site: Site, name: str) -> Rule:
    return next(r for r in site.rules.rules if r.name == name)


def test_latches_help_by_being_on(site: Site) -> None:
    found = behind(site, rule(site, "lift").condition)
    assert [a.name for a in found.helping] == ["low", "ready"]
    assert [a.name for a in found.at_once] == ["low"]
    # `low` keeps `ready` off, so its being off helps `ready`, and so itself
    assert {(a.name, helps, by) for a, helps, by in found.latches} >= {
        ("low", True, None), ("ready", True, "low"), ("low", False, "ready"), ("ready", False, "low"),
    }  # fmt: skip


def test_a_rule_that_waits_for_a_latch_to_be_off(site: Site) -> None:
    found = behind(site, rule(site, "still").condition)
    assert [(a.name, helps) for a, helps, by in found.latches if by is None] == [("ready", False)]
    assert found.at_once == ()


def test_exactly_one_counts_both_ways(site: Site) -> None:
    found = behind(site, rule(site, "more").condition)
    positions = {(c.test.switch, c.helps) for c in found.tests if isinstance(c.test, e.AtPosition)}
    assert positions == {("flaps", True), ("flaps", False), ("guard", True), ("guard", False)}


def test_readings_by_way_of_values_and_latches(site: Site) -> None:
    assert [s.name for s in read_in(site, rule(site, "lift").condition)] == ["height", "pack"]
    assert [s.name for s in read_in(site, rule(site, "more").condition)] == []
    assert handled(site, rule(site, "weak").condition) == {"throttle"}
    assert site.arm is not None
    assert [r.name for r in site.rules.rules if obeys(site, r, site.arm)] == ["lift", "more", "still"]


def test_a_latch_and_a_counter_that_wait_for_each_other() -> None:
    site = site_of(
        """rules "Round"
        switch guard positions off, on
        sensor height { from 0 m to 300 m }
        channel motor { rests at 0 %  from 0 % to 100 % }
        latch low { set when height is below 40 m and previous of tries is below 3  reset when guard is off }
        counter tries { counts low  clears when guard is off  at most 4 }
        rule climb while low and tries is below 3 { drive motor to 60 % }"""
    )
    assert [s.name for s in read_in(site, site.rules.rules[0].condition)] == ["height"]


def test_what_is_done_to_a_motor(site: Site) -> None:
    assert {r.name: powers(site, r) for r in site.rules.rules} == {
        "lift": ("motor",), "more": ("throttle",), "still": (), "weak": (), "nose": (),
    }  # fmt: skip
    assert [r.name for r in site.rules.rules if only_stops(site, r)] == ["still"]


def test_levels_are_those_beyond_which_a_clause_is_true(site: Site) -> None:
    low = site.latches["low"]
    (comes,) = levels(site, low.sets[0])
    assert (comes.sensor, comes.side, comes.inclusive) == ("height", "low", False)
    assert turned(comes).side == "high"
    assert turned(turned(comes)) == comes
    (goes,) = levels(site, low.resets[0])
    assert (goes.sensor, goes.side) == ("height", "high")
    (other,) = levels(site, low.resets[1])
    assert (other.sensor, other.side) == ("", "low")
    (band,) = levels(site, rule(site, "nose").condition)
    assert (band.sensor, band.side) == ("height", "low")


def test_pairs_are_of_one_reading_and_opposite_sides(site: Site) -> None:
    found = [(p.latch.name, p.lower.side, p.upper.side) for p in _pairs(site, site.rules.latches)]
    assert found == [("low", "low", "high")]


def test_values_at_the_ends_of_tunes(site: Site) -> None:
    level = levels(site, site.latches["ready"].sets[0])[0].at
    assert [value_of(site, level, end) for end in ("now", "low", "high")] == [50, 40, 80]
    assert value_of(site, e.Reading("height", span=level.span)) is None


def test_numbers_are_raised_where_they_can_be(site: Site) -> None:
    metre = UNITS["m"]
    floor = e.Parameter("floor", span=levels(site, site.latches["low"].sets[0])[0].at.span)
    assert [c.text.strip() for c in raised(site, floor, Fraction(45), "45 m", metre, where="")] == [
        "45 m", "require floor is at least 45 m",
    ]  # fmt: skip
    assert [c.text.strip() for c in raised(site, floor, Fraction(25), "25 m", metre, where="")] == [
        "require floor is at least 25 m"
    ]
    assert raised(site, floor, Fraction(61), "61 m", metre, where="") == ()


def test_rounding_is_never_downwards() -> None:
    assert rounded_up(Fraction("26.91"), UNITS["m"]) == 27
    assert rounded_up(Fraction("0.41"), UNITS["V"]) == Fraction("0.5")
    assert rounded_up(Fraction(27), UNITS["m"]) == 27
    assert rounded_up(Fraction(10), UNITS["ft"]) == 33 * UNITS["ft"].factor
