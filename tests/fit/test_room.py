"""Counting entries as the listing makes them, and what is too many."""

from collections import Counter
from dataclasses import replace
from typing import get_args

import pytest

from latchproof.fit.fit import fit
from latchproof.fit.room import crowded, exists, kind_of, savings, tally, without
from latchproof.listing.build import drafted
from latchproof.listing.model import Section
from latchproof.rules.model import RuleSet
from latchproof.transmitter.generic import NAMES, generic
from latchproof.transmitter.model import Kind, Room
from tests.fit.able import able
from tests.fit.test_exact import EXAMPLES, example
from tests.helpers.rules import rules_of


def counted(rules: RuleSet) -> Counter[Kind]:
    return tally([(d.section, d.kind) for d in drafted(rules).drafts.values()])


@pytest.mark.parametrize("section", get_args(Section))
def test_every_section_of_a_listing_is_counted(section: str) -> None:
    assert kind_of(section, "") in (*get_args(Kind), None)


RULES = """rules "r" version "1"
cycle from 10 ms to 30 ms
switch s positions off, on
button b
stick t from 0 % to 100 %
sensor h { from 0 m to 100 m  stale after 1 s }
channel c 1 { follows t  from 0 % to 100 % }
latch l { set when (b is pressed begins) and h is below 10 m  reset when s is off  timeout 2 s }
counter n { counts l  at most 5 }
sample k = h  when l begins  first 0 m
rule one while l for 1 s and n is below 3 and h - k is below 4 m { drive c to 0 %  announce tone }
rule two while s is on { announce tone  every 2 s }
"""


def test_kinds() -> None:
    got = counted(rules_of(RULES))
    assert got == {
        "comparison": 3, "gate": 2, "delay": 2, "latch": 1, "counter": 1, "kept value": 1, "calculation": 1, "edge": 2,
        "action": 1, "announcement": 2,
    }  # fmt: skip


def test_equal_conditions_take_one_entry() -> None:
    again = RULES + "rule three while (s is on and l) or (l and s is on and s is on) { announce tone }\n"
    rules = rules_of(again)
    assert counted(fit(rules, able()).rules)["gate"] < counted(rules)["gate"]


def test_room_for_all() -> None:
    assert crowded(counted(rules_of(RULES)), able()) == ()


def test_a_list_of_their_own() -> None:
    t = able(room={"total": 100, "each": (("latch", 0), ("gate", 2), ("comparison", 2))})
    found = crowded(counted(rules_of(RULES)), t)
    assert [(m.where, m.needs, m.has) for m in found] == [("3 comparisons", "3", "2"), ("1 latch", "1", "0")]


def test_a_shared_list() -> None:
    t = able(room={"total": 11, "each": (("action", 1), ("announcement", 2)), "absent": frozenset()})
    (found,) = crowded(counted(rules_of(RULES)), t)
    assert (found.needs, found.has) == ("13", "11")
    assert found.where == "1 calculation, 3 comparisons, 1 counter, 2 delays, 2 edges, 2 gates, 1 kept value, 1 latch"


def test_what_does_not_exist_has_no_room() -> None:
    t = able(room={"absent": frozenset({"counter"})})
    assert [m.where for m in crowded(counted(rules_of(RULES)), t)] == ["1 counter"]
    assert not exists(t, "counter")
    nothing = replace(able(), room=Room(None, (("gate", 3),)))
    assert exists(nothing, "gate")
    assert not exists(nothing, "latch")


def test_which_rule_to_leave_out() -> None:
    rules = rules_of(RULES)
    saved = savings(rules, counted)
    fewer = counted(rules) - counted(without(rules, "one"))
    assert {name: +kinds for name, kinds in saved.items()} == {"one": fewer, "two": Counter({"announcement": 1})}
    t = able(room={"total": None, "each": tuple((kind, 1) for kind in get_args(Kind))})
    found = crowded(counted(rules), t, saved)
    helps = {m.where: m.helps for m in found}
    assert helps["2 announcements"][0] == "leaving out the rule two would save 1"
    assert helps["3 comparisons"][0] == "leaving out the rule one would save 3"
    (shared,) = crowded(counted(rules), replace(t, room=Room(0)), saved)
    assert shared.helps[0].endswith(", which alone is not enough")


@pytest.mark.parametrize("name", NAMES)
def test_examples_are_counted(name: str) -> None:
    for path in EXAMPLES:
        fitted = fit(example(path), generic(name))
        got = counted(fitted.rules)
        missing = {kind for kind in got if not exists(generic(name), kind)}
        said = {m.kind for m in fitted.misfits}
        words = {"counter": "no counter", "kept value": "no kept value", "calculation": "no calculation"}
        assert {words.get(kind, "time-out") for kind in missing} <= said, (path.stem, missing, said)
