"""Slips are made on the printed fields, each is another one, and each is rules again or says why not."""

from fractions import Fraction
from pathlib import Path

import pytest

from latchproof import pipeline
from latchproof.bench.slips import CODES, slips
from latchproof.bench.trial import copies
from latchproof.bench.trial_numbers import numbers, put
from latchproof.listing import build
from latchproof.listing.model import Entry
from latchproof.machine.compile import compile_rules
from latchproof.readback.raised import raised
from latchproof.rules import RuleSet
from latchproof.transmitter.generic import generic
from tests.layout.house import ROOT

FILES = sorted((ROOT / "examples").glob("*/*.latch"))
MENDED = ROOT / "examples/floor_guard/mended.latch"
SHARE = 7
"""Of the slips of every example each so-and-so-many-th is raised here; the bench test raises all of its own."""


def read(path: Path) -> tuple[RuleSet, tuple[Entry, ...]]:
    rules = pipeline.check(str(path)).rules
    assert rules is not None
    return rules, build(rules, None, "").entries


def printed(x: Entry) -> tuple[object, ...]:
    return x.kind, tuple((f.label, f.value) for f in x.fields)


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_each_is_another_one_and_can_be_read_on_the_screen(path: Path) -> None:
    _, entries = read(path)
    right = {x.number: printed(x) for x in entries}
    found = [s for s in slips(entries) if s.entry]
    assert len({s.entries for s in found}) == len(found)
    for s in found:
        wrong = {x.number: printed(x) for x in s.entries}
        assert wrong != right
        apart = {n for n in {*right, *wrong} if right.get(n) != wrong.get(n)}
        assert s.entry in apart or len(wrong) > len(right)
        assert s.meant != s.stands


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.stem)
def test_each_is_rules_again_or_says_why_not(path: Path) -> None:
    rules, entries = read(path)
    raised_ones = 0
    for s in slips(entries)[::SHARE]:
        back = raised(s.entries, rules, lost=s.lost)
        if isinstance(back, tuple):
            assert back[0].message
            continue
        machine, circle = compile_rules(back)
        assert machine is not None or circle
        raised_ones += 1
    assert raised_ones * 4 > len(slips(entries)) / SHARE * 3


def test_every_code_occurs_somewhere() -> None:
    assert {s.code for path in FILES for s in slips(read(path)[1])} == set(CODES)


def test_what_the_mended_guard_can_be_mistaken_for() -> None:
    found = {(s.code, s.entry, s.stands) for s in slips(read(MENDED)[1])}
    assert {
        ("C1", 13, "nothing"), ("C4", 2, "ABOVE 42 m"), ("C5", 2, "BELOW 420 m"), ("C6", 3, "ABOVE 55 ft"),
        ("C7", 18, "minus 5 %"), ("C9", 14, "entry 12 true"), ("C10", 15, "exchanged"), ("C11", 10, "left out"),
        ("C12", 10, "ANY of these (or)"), ("C13", 15, "set wins"), ("C14", 12, "25 s"),
        ("C15", 19, "channel 3 (elevator), the output"), ("C16", 16, "at once"),
    } <= found  # fmt: skip


def test_a_transmitter_refuses_what_it_cannot_hold() -> None:
    rules, entries = read(ROOT / "examples/throttle_cut/throttle_cut.latch")
    free = copies(rules, entries)
    there = copies(rules, entries, generic("typical"))
    beyond = [
        s for s, r in zip(there.slips, there.rules, strict=True) if r == "beyond what the transmitter lets one enter"
    ]
    assert beyond
    assert sum(isinstance(r, str) for r in there.rules) > sum(isinstance(r, str) for r in free.rules)


def test_test_thresholds_keep_their_order_and_their_distance() -> None:
    _, entries = read(MENDED)
    error, step = Fraction(9, 4), Fraction(1, 2)
    made = numbers(entries, "height", Fraction(20), error, step)
    assert [(n, q.amount) for n, _, q, _ in made.bounds] == [(2, 3), (3, Fraction(17, 2)), (4, 14)]
    for low, high in ((3, Fraction(17, 2)), (Fraction(17, 2), 14)):
        assert high - low > 2 * error
    assert len(numbers(entries, "height", Fraction(6), error, step).bounds) == 1
    tested = put(entries, made)
    assert [f.value for x in tested if x.number == 3 for f in x.fields if f.label == "is"] == ["ABOVE 8.5 m"]
    assert put(tested, made) == tested
