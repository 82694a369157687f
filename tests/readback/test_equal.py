"""Every listing, read back, is proved to do exactly what its rules do; whatever is changed in it is told or shown."""

from collections.abc import Iterator
from dataclasses import replace

import pytest

from latchproof.listing import build
from latchproof.listing.model import Entry
from latchproof.prove.workers import Workers
from latchproof.readback.equal import Differ, Equal, equal
from latchproof.readback.model import EntryState, Problem
from latchproof.readback.pinned import pinned
from latchproof.readback.raised import raised
from latchproof.readback.values import written
from latchproof.rules import RuleSet
from tests.listing.cases import EVERYTHING, EXAMPLES, USUAL, load, rules

CASES = [pytest.param(load(p), id=p.stem) for p in EXAMPLES] + [pytest.param(rules(EVERYTHING), id="everything")]


@pytest.fixture(scope="module")
def workers() -> Iterator[Workers]:
    with Workers() as made:
        yield made


def back(case: RuleSet, entries: tuple[Entry, ...] | None = None) -> RuleSet:
    made = raised(build(pinned(case)).entries if entries is None else entries, case)
    assert isinstance(made, RuleSet), made
    return made


def with_field(entries: tuple[Entry, ...], number: int, label: str, value: str) -> tuple[Entry, ...]:
    """The entries with another value in one field."""
    made = []
    for x in entries:
        fields = tuple(replace(f, value=value) if (x.number, f.label) == (number, label) else f for f in x.fields)
        made.append(replace(x, fields=fields))
    assert tuple(made) != entries
    return tuple(made)


@pytest.mark.parametrize("case", CASES)
def test_read_back_it_does_the_same(case: RuleSet, workers: Workers) -> None:
    assert isinstance(equal(pinned(case), back(case), workers), Equal)


@pytest.mark.parametrize("case", CASES)
def test_the_logic_comes_from_the_printed_fields_only(case: RuleSet) -> None:
    """With other logic in the rule file the same entries come to the same rules."""
    entries = build(pinned(case)).entries
    emptied = replace(case, signals=(), latches=(), counters=(), samples=(), values=(), rules=(), sequences=(),
                      precedences=(), claims=(), assumptions=(), roles=(), requires=())  # fmt: skip
    one, other = back(case, entries), back(emptied, entries)
    names = {n for x in entries for n in x.names}
    for part in ("signals", "latches", "counters", "samples", "values"):
        mine = [x for x in getattr(one, part) if x.name in names or x.name.startswith("entry_")]
        yours = [x for x in getattr(other, part) if x.name in names or x.name.startswith("entry_")]
        assert mine == yours
    assert [r for r in one.rules if r.actions] == sorted(
        other.rules, key=lambda r: [x.name for x in one.rules].index(r.name)
    )
    assert [s for s in one.sequences if any(p.actions for p in s.phases)] == [
        s for s in other.sequences if any(p.actions for p in s.phases)
    ]
    assert one.channels == other.channels


SMALL = (
    USUAL
    + """
latch on { set when guard is on for 2 s  reset when throttle is below 5 %  timeout 6 s then blocked until guard is off }
rule climb while on { limit motor to at least 30 % after 500 ms ramp up 40 %/s  announce voice "climb" every 3 s }
rule cut while motor_stop is stop { drive motor to 0 % }
"""
)

CHANGES = [
    ("latch (set and reset)", "both at once", "set wins"),
    ("latch (set and reset)", "reset when", "never"),
    ("latch (set and reset)", "time-out", "none"),
    ("latch (set and reset)", "lock-out", "none"),
    ("time-out of a latch", "true when on for", "6.5 s"),
    ("lock-out of a latch", "reset when", "guard switch at on"),
    ("delay before true", "true after", "20 s"),
    ("delay before true", "input", "guard switch at off"),
    ("comparison", "is", "ABOVE 5 %"),
    ("comparison", "is", "BELOW 6 %"),
    ("limits the value: AT LEAST", "begins", "at once"),
    ("limits the value: AT LEAST", "at least", "35 %"),
    ("limits the value: AT LEAST", "the value grows", "at once"),
    ("limits the value: AT LEAST", "hand back", "at most 50 %/s"),
    ("replaces the value", "acts while", "motor stop switch at run"),
    ("replaces the value", "value", "5 %"),
    ("spoken announcement", "repeated", "once each time it begins"),
    ("spoken announcement", "says", '"other"'),
    ("channel", "follows", "0 %"),
    ("channel", "upper end", "90 %"),
]


@pytest.mark.parametrize(("kind", "label", "value"), CHANGES, ids=lambda x: x)
def test_what_is_changed_is_shown(kind: str, label: str, value: str, workers: Workers) -> None:
    case = rules(SMALL)
    entries = build(case).entries
    number = next(x.number for x in entries if x.kind == kind)
    found = equal(pinned(case), back(case, with_field(entries, number, label, value)), workers)
    assert isinstance(found, Differ), found
    assert found.outputs
    assert found.trace.records


NONSENSE = [
    ("latch (set and reset)", "set when", "entry 99 true"),
    ("latch (set and reset)", "set when", "entry 8 true"),
    ("latch (set and reset)", "reset when", written(EntryState(5, False))),
    ("latch (set and reset)", "set when", "rudder switch at on"),
    ("comparison", "compare", "rudder stick"),
    ("comparison", "is", "BELOW 5 m"),
    ("comparison", "is", "UNDER 5 %"),
    ("delay before true", "true after", "5 %"),
    ("delay before true", "goes back to zero", "never"),
    ("limits the value: AT LEAST", "acts on", "channel 2 (motor), the output"),
    ("limits the value: AT LEAST", "acts on", "channel 1 (engine), the output"),
    ("limits the value: AT LEAST", "gives way to", "none"),
    ("limits the value: AT LEAST", "the value grows", "at most 0 %/s"),
    ("replaces the value", "wins over", "entry 6"),
    ("channel", "then replaced by", "none"),
    ("channel", "lower end", "100 %"),
]


@pytest.mark.parametrize(("kind", "label", "value"), NONSENSE, ids=lambda x: x)
def test_nonsense_is_told_with_its_place(kind: str, label: str, value: str) -> None:
    case = rules(SMALL)
    entries = build(case).entries
    number = next(x.number for x in entries if x.kind == kind)
    found = raised(with_field(entries, number, label, value), case)
    assert isinstance(found, tuple), found
    assert all(isinstance(p, Problem) for p in found)
    assert number in {p.entry for p in found}


def test_a_field_or_entry_too_few_or_too_many_is_told() -> None:
    case = rules(SMALL)
    entries = build(case).entries
    for k, x in enumerate(entries):
        if x.section == "failsafe":
            continue
        for i in range(len(x.fields)):
            fewer = replace(x, fields=x.fields[:i] + x.fields[i + 1 :])
            assert isinstance(raised((*entries[:k], fewer, *entries[k + 1 :]), case), tuple), (
                x.kind,
                x.fields[i].label,
            )
        twice = replace(x, fields=(*x.fields, x.fields[0]))
        assert isinstance(raised((*entries[:k], twice, *entries[k + 1 :]), case), tuple)
    assert isinstance(raised((*entries, entries[0]), case), tuple)
    assert isinstance(raised((replace(entries[0], kind="mystery"), *entries[1:]), case), tuple)
    assert isinstance(raised(tuple(replace(entries[0], number=k) for k in range(1, 3000)), case), tuple)
