"""Proofs carry over only where nothing but tunes was changed, within their ranges, on the transmitter of the file."""

from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.readback.inherit import Why, inherits
from latchproof.readback.pinned import pinned
from latchproof.rules import RuleSet
from latchproof.rules.model import Device
from tests.listing.cases import USUAL, rules

CASE = rules(
    USUAL
    + """
tune low = 20 % from 10 % to 30 %
tune far = 50 % from 40 % to 60 %
require far is at least low + 25 %
rule a while throttle is above low and guard is on { limit motor to at most far }
"""
)


def at(**values: int) -> RuleSet:
    tunes = (replace(t, value=Fraction(values.get(t.name, t.value))) for t in CASE.tunes)
    return pinned(replace(CASE, tunes=tuple(tunes)))


def test_they_do_where_only_tunes_changed() -> None:
    assert inherits(CASE, at(low=25), (CASE,)) == "inherited"
    assert inherits(CASE, at(), (CASE,)) == "inherited"


@pytest.mark.parametrize(
    ("rounded", "why"),
    [
        (at(low=31), "a tune out of range"),
        (at(low=30, far=50), "a requirement"),
        (replace(at(), rules=()), "other numbers"),
        (replace(at(), channels=tuple(replace(c, high=Fraction(90)) for c in at().channels)), "other numbers"),
    ],
)
def test_they_do_not_where_more_changed(rounded: RuleSet, why: Why) -> None:
    assert inherits(CASE, rounded, (CASE,)) == why


@pytest.mark.parametrize(
    ("on", "why"),
    [
        (replace(CASE, device=Device("listed order")), "another device"),
        (replace(CASE, device=Device(starts="any")), "another device"),
        (replace(CASE, cycle=replace(CASE.cycle, longest=Fraction(1))), "another pass"),
        (replace(CASE, cycle=replace(CASE.cycle, longest=CASE.cycle.shortest)), "inherited"),
    ],
)
def test_they_do_not_on_another_transmitter(on: RuleSet, why: Why) -> None:
    assert inherits(CASE, at(), (on,)) == why


def test_a_requirement_is_looked_at_first() -> None:
    """Under one that does not hold anything could be proved."""
    assert inherits(CASE, at(low=30), (replace(CASE, device=Device("listed order")),)) == "a requirement"
