"""What a change makes void: worked out, and never less than it should be."""

from pathlib import Path

import pytest

from latchproof.cards.since import Since, Version, at_its_numbers, retuned, since, world_apart
from latchproof.cards.voids import voids
from latchproof.listing.advice import VOIDS
from latchproof.listing.build import build
from latchproof.pipeline import check_text
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Differ, Equal, Open, equal
from latchproof.readback.pinned import pinned
from latchproof.rules import RuleSet
from latchproof.source import Source
from tests.cards.test_cards import said

OLD = """\
rules "Climb" version "1"
switch guard positions off, on
stick throttle from 0 % to 100 %
sensor height { from 0 m to 200 m  step 1 m  stale after 2 s  once stale keeps value }
channel motor 1 { follows throttle  from 0 % to 100 % }
role arm is guard is on
fact hedge = 4 m
tune floor = 30 m from 20 m to 60 m
tune power = 60 % from 40 % to 80 %
latch low { set when guard is on and height is below floor  reset when guard is off }
rule climb while low { drive motor to power  announce voice "climb" every 2 s }
claim frees: always motor is free while guard is off
"""


def rules(text: str) -> RuleSet:
    checked = check_text(Source("x.latch", text), Path())
    assert checked.rules is not None, checked.diagnostics
    return checked.rules


def version(text: str) -> Version:
    made = rules(text)
    fixed = pinned(made)
    return Version(made, fixed, build(fixed))


def after(workers: Workers, *changes: tuple[str, str]) -> Since:
    text = OLD
    for was, now in changes:
        assert was in text
        text = text.replace(was, now)
    old, new = version(OLD), version(text)
    same = tuned = None
    if not world_apart(old.rules, new.rules):
        same = equal(at_its_numbers(old.entered), at_its_numbers(new.entered), workers)
        moved = retuned(old.rules, new.rules)
        if isinstance(same, Differ) and moved is not None:
            tuned = equal(at_its_numbers(moved), at_its_numbers(new.rules), workers)
    return since(old, new, same, tuned)


def void(found: Since) -> set[str]:
    return {v.check for v in found.voided if v.void}


ALL = {"the proofs", "read-back", "bench test", "first flight", "officer's page"}

CHANGES = [
    pytest.param([("Climb", "The same climb")], set(), id="another title"),
    pytest.param([('"1"', '"2"'), ("guard is on and height is below floor", "height is below floor and guard is on")],
                 {"read-back", "bench test", "officer's page"}, id="the same in another order"),
    pytest.param([("floor = 30 m", "floor = 31 m")], {"read-back", "bench test", "officer's page"}, id="a threshold"),
    pytest.param([("floor = 30 m from 20 m", "floor = 31 m from 25 m")],
                 {"the proofs", "read-back", "bench test", "first flight", "officer's page"}, id="a range as well"),
    pytest.param([("power = 60 %", "power = 61 %")], {"read-back", "bench test", "first flight", "officer's page"},
                 id="an action's number"),
    pytest.param([("below floor", "at most floor")], ALL, id="a comparison"),
    pytest.param([("reset when guard is off", "reset when guard is off  timeout 5 s")], ALL, id="a time-out"),
    pytest.param([("hedge = 4 m", "hedge = 5 m")], {"the proofs", "first flight", "officer's page"}, id="a fact"),
    pytest.param([("stale after 2 s", "stale after 3 s")], ALL, id="a sensor"),
    pytest.param([("claim frees: always motor is free while guard is off", "")],
                 {"the proofs", "first flight", "officer's page"}, id="a promise less"),
    pytest.param([('"climb" every', '"up" every')], {*ALL}, id="a sound"),
    pytest.param([("motor 1", "motor 2")],
                 {"read-back", "bench test", "failsafe and range", "first flight", "officer's page"}, id="a channel"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "wanted"), CHANGES)
def test_what_is_void(changes: list[tuple[str, str]], wanted: set[str], workers: Workers) -> None:
    assert void(after(workers, *changes)) == wanted


def test_equal_and_nothing_entered_otherwise_says_that_nothing_is_void(workers: Workers) -> None:
    found = after(workers, ("Climb", "The same climb"))
    assert isinstance(found.same, Equal)
    text = said(voids(found))
    assert "PROVED to do exactly the same" in text
    assert "NOTHING IS VOID by this change." in text


def test_a_difference_of_tunes_is_not_lost(workers: Workers) -> None:
    """Numbers are compared as numbers: a tune of one name with two values is not the same."""
    one, other = rules(OLD), rules(OLD.replace("floor = 30 m", "floor = 40 m"))
    assert isinstance(equal(at_its_numbers(one), at_its_numbers(other), workers), Differ)
    assert isinstance(equal(pinned(one), pinned(other), workers), Differ)
    text = OLD.replace("below floor", "below hedge")
    fact, another = rules(text), rules(text.replace("hedge = 4", "hedge = 5"))
    assert isinstance(equal(at_its_numbers(fact), at_its_numbers(another), workers), Differ)
    assert isinstance(equal(pinned(fact), pinned(another), workers), Differ)


def test_a_number_that_the_purpose_tells_is_one_change_and_not_two(workers: Workers) -> None:
    found = after(workers, ("floor = 30 m", "floor = 31 m"))
    (line,) = found.entries
    assert line.startswith("entry ")
    assert '"is" was BELOW 30 m, now BELOW 31 m' in line
    slow = OLD.replace("guard is on and height is below floor", "guard is on and (height is below floor for 1.5 s)")
    old, new = version(slow), version(slow.replace("1.5 s", "2.5 s"))
    changed = since(old, new, Open("not asked")).entries
    assert not [x for x in changed if "is new" in x or "is gone" in x]
    assert len([x for x in changed if "was 1.5 s, now 2.5 s" in x]) == 1


def test_an_entry_that_is_new_or_gone_is_told_as_that() -> None:
    less = version(OLD.replace('  announce voice "climb" every 2 s', ""))
    assert any("is new" in x for x in since(less, version(OLD), Open("not asked")).entries)
    assert any("is gone" in x for x in since(version(OLD), less, Open("not asked")).entries)


def test_not_decided_makes_it_void() -> None:
    x = version(OLD)
    found = since(x, x, Open("no time"))
    assert void(found) == {"the proofs", "bench test", "first flight", "officer's page"}
    assert "NOT DECIDED" in found.said


def test_another_world_cannot_be_compared() -> None:
    old, new = version(OLD), version(OLD.replace("positions off, on", "positions off, mid, on"))
    found = since(old, new, None)
    assert world_apart(old.rules, new.rules) == ("the switches",)
    assert "cannot be compared: the switches are not the same" in found.said
    assert "first flight" in void(found)


def test_a_number_out_of_its_old_range_is_no_retuning() -> None:
    assert retuned(rules(OLD), rules(OLD.replace("30 m from 20 m to 60", "70 m from 20 m to 90"))) is None
    assert retuned(rules(OLD), rules(OLD.replace("30 m", "31 m"))) is not None


def test_each_event_of_the_listing_has_its_line() -> None:
    text = said(voids())
    for event in VOIDS:
        assert event in text
