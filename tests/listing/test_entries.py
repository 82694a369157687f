"""Entries: numbered in an order that can be typed, each complete, each read by something."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from latchproof.listing import Listing, build
from latchproof.listing.model import Entry
from latchproof.listing.plain import word
from latchproof.rules import RuleSet
from tests.listing.cases import EVERYTHING, EXAMPLES, load, rules

OUTPUTS = {"action", "announcement", "channel", "sensor", "failsafe"}
RULE_SETS = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]


def texts(e: Entry) -> Iterator[str]:
    yield from (e.purpose, e.kind, e.start)
    for f in e.fields:
        yield from (f.label, f.value, f.other, f.words)


def faults(listing: Listing) -> list[str]:
    """What is wrong with the references of a listing."""
    found = []
    numbers = [e.number for e in listing.entries]
    if numbers != list(range(1, len(numbers) + 1)):
        found.append("numbers")
    for e in listing.entries:
        said = {int(n) for text in texts(e) for n in re.findall(r"\bentry (\d+)", text)}
        found += [f"{e.number} names {n}, which is not there" for n in said - set(numbers)]
        read = {r.entry for r in e.reads}
        found += [f"{e.number} reads {n} and does not say so" for n in read - said]
        for r in e.reads:
            if r.when == "now" and r.entry >= e.number:
                found.append(f"{e.number} reads {r.entry}, which comes later")
            if r.when == "earlier" and not any(
                re.search(rf"\bentry {r.entry}\b[^;]*\bearlier", text) for text in texts(e)
            ):
                found.append(f"{e.number} does not say that {r.entry} is read one pass earlier")
            if e.number not in listing.entries[r.entry - 1].read_by:
                found.append(f"{r.entry} does not say that {e.number} reads it")
        found += [
            f"{e.number} says that {n} reads it" for n in e.read_by
            if e.number not in {r.entry for r in listing.entries[n - 1].reads}
        ]  # fmt: skip
        if not e.read_by and e.section not in OUTPUTS:
            found.append(f"nothing reads {e.number}")
        if not (e.purpose and e.kind and e.start and e.fields and all(f.label and f.value for f in e.fields)):
            found.append(f"{e.number} is not complete")
    return found


@pytest.mark.parametrize("case", RULE_SETS)
def test_references(case: RuleSet) -> None:
    assert faults(build(case)) == []


def test_the_check_of_references_sees_faults() -> None:
    listing = build(rules(EVERYTHING))
    first, second, *rest = listing.entries
    assert faults(replace(listing, entries=(second, first, *rest)))
    assert faults(replace(listing, entries=(replace(first, read_by=()), second, *rest)))
    assert faults(replace(listing, entries=(replace(first, kind=""), second, *rest)))


@pytest.mark.parametrize("case", RULE_SETS)
def test_numbers_cannot_be_misread(case: RuleSet) -> None:
    for e in build(case).entries:
        for text in texts(e):
            assert not re.search(r"(?<![\d\w])\.\d", text), text
            assert not re.search(r"\d\.\d*0(?!\d)", text), text


def test_equal_tests_share_an_entry() -> None:
    listing = build(
        rules("""
        stick throttle from 0 % to 100 %
        channel motor 1 { follows throttle from 0 % to 100 % }
        rule a while throttle is above 10 % for 1 s { announce tone }
        rule b while throttle is above 10 % for 2 s { announce vibration }
    """)
    )
    assert [e.purpose for e in listing.entries if e.section == "condition"] == ["throttle is above 10 %"]


def test_a_memory_that_reads_itself_says_one_pass_earlier() -> None:
    listing = build(
        rules("""
        stick throttle from 0 % to 100 %
        button go
        channel motor 1 { follows throttle from 0 % to 100 % }
        latch l { set when go is pressed  reset when (l and throttle is above 10 %) for 1 s }
        signal both = l and throttle is above 10 %
        rule a while l { announce tone }
        rule b while both { announce tone }
    """)
    )
    gates = [e for e in listing.entries if e.kind.startswith("ALL")]
    assert sorted(any("earlier" in f.value for f in e.fields) for e in gates) == [False, True]


def test_what_nothing_hangs_on_is_left_out_and_named() -> None:
    listing = build(
        rules("""
        stick throttle from 0 % to 100 %
        channel motor 1 { follows throttle from 0 % to 100 % }
        signal only_promised = throttle is above 87 % for 3 s
        signal used = throttle is above 12 %
        rule a while used { announce tone }
        claim c: never only_promised and throttle is below 87 %
    """)
    )
    assert listing.left_out == ("only promised",)
    assert not any("87" in text for e in listing.entries for text in texts(e))


@pytest.mark.parametrize("case", RULE_SETS)
def test_without_what_is_left_out_the_entries_are_the_same(case: RuleSet) -> None:
    before = build(case)
    kept = {
        part: tuple(x for x in getattr(case, part) if word(x.name) not in before.left_out)
        for part in ("signals", "latches", "counters", "samples", "values")
    }
    assert build(replace(case, **kept)).entries == before.entries


def test_the_receiver_failsafe_is_always_the_last_entry() -> None:
    listing = build(rules("stick a from 0 % to 100 %  channel motor { follows a from 0 % to 100 % }"))
    last = listing.entries[-1]
    assert last.section == "failsafe"
    assert "only the receiver's failsafe acts" in " ".join(texts(last))
    assert ("channel ____", 'motor: stopped, never "as before"') in [(f.label, f.value) for f in last.fields]


def test_a_long_chain_needs_no_recursion_in_the_order() -> None:
    chain = "\n".join(f"latch l{i} {{ set when l{i - 1} reset when b is pressed }}" for i in range(1, 600))
    listing = build(
        rules(
            f"button b stick a from 0 % to 100 % channel c 1 {{ follows a from 0 % to 100 % }}\n"
            f"latch l0 {{ set when b is pressed }}\n{chain}\nrule r while l599 {{ drive c to 1 % }}"
        )
    )
    assert len([e for e in listing.entries if e.section == "latch"]) == 600
