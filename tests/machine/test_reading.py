"""Which value an entry sees of another one, counted by hand in cycles, and what a device may hold when it wakes up."""

from dataclasses import replace
from fractions import Fraction

import pytest

from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.machine.variants import variants
from latchproof.rules.model import Reads, Starts
from latchproof.run.interpreter import Interpreter, Record, World, valid_start
from tests.helpers.rules import rules_of

CYCLES = 10
CHAIN = """rules "A chain" version "1"
cycle from 10 ms to 10 ms
button a
button b
signal both = a is pressed and b is pressed
latch one   { set when both  reset when not both }
latch two   { set when one  reset when not one }
latch three { set when two for 10 ms  reset when not two }
channel c 1 { rests at 0 %  from 0 % to 100 % }
rule r while three { drive c to 50 % }
claim k: always c is at least 0 %
"""
BACKWARDS = """rules "Written from its end" version "1"
cycle from 10 ms to 10 ms
button a
channel c 1 { rests at 0 %  from 0 % to 100 % }
rule r while three { drive c to 50 % }
latch three { set when two  reset when not two }
latch two   { set when one  reset when not one }
latch one   { set when a is pressed  reset when a is released }
claim k: always c is at least 0 %
"""


def on(text: str, reads: Reads, starts: Starts = "reset") -> Machine:
    rules = rules_of(text)
    made, found = compile_rules(replace(rules, device=replace(rules.device, reads=reads, starts=starts)))
    assert made is not None, found
    return made


def run(machine: Machine, late: bool, **free: bool | Fraction) -> tuple[Record, ...]:
    """The buttons go down in cycle 1; `late`: every choice of the device is for the last cycle's value."""
    world = [World(Fraction(1, 100), {b.name: k >= 1 for b in machine.rules.buttons}) for k in range(CYCLES)]
    return Interpreter(machine).run(world, {}, {**{o.cell: late for o in machine.orders}, **free})


def begins(records: tuple[Record, ...], *names: str) -> list[int]:
    return [next(k for k, r in enumerate(records) if r.values[name]) for name in names]


NAMES = ("both", "one", "two", "three", "c")


@pytest.mark.parametrize(
    ("reads", "late", "chain", "cycles"),
    [
        ("this cycle", False, 0, [1, 1, 1, 2, 2]),
        # `both` is an entry that sees the buttons at once; one sees both in 2, two sees one in 3; the delay sees two in
        # 4 and is over in 5; three sees the delay in 6, and the action three in 7
        ("last cycle", False, 5, [1, 2, 3, 6, 7]),
        ("unknown order", True, 5, [1, 2, 3, 6, 7]),
        ("unknown order", False, 5, [1, 1, 1, 2, 2]),
        ("listed order", True, 0, [1, 1, 1, 2, 2]),
    ],
)
def test_a_chain_of_entries(reads: Reads, late: bool, chain: int, cycles: list[int]) -> None:
    machine = on(CHAIN, reads)
    assert machine.chain == chain
    assert begins(run(machine, late), *NAMES) == cycles


@pytest.mark.parametrize(
    ("reads", "late", "chain", "cycles"),
    [
        ("this cycle", False, 0, [1, 1, 1, 1]),
        ("last cycle", False, 3, [1, 2, 3, 4]),
        ("listed order", True, 3, [1, 2, 3, 4]),
        ("listed order", False, 3, [1, 1, 1, 1]),
    ],
)
def test_the_order_of_the_file(reads: Reads, late: bool, chain: int, cycles: list[int]) -> None:
    """Written from its end every entry stands above the one it reads; in the order of the listing none does."""
    machine = on(BACKWARDS, reads)
    assert machine.chain == chain
    assert begins(run(machine, late), "one", "two", "three", "c") == cycles


def test_one_choice_for_each_two_entries() -> None:
    text = CHAIN.replace("latch two   { set when one  reset when not one }", "latch two { set when one or both }")
    machine = on(text, "unknown order")
    seen = {(o.reader, str(o.read) if isinstance(o.read, str) else type(o.read).__name__) for o in machine.orders}
    assert seen == {
        ("one", "AllOf"), ("two@entry1", "one"), ("two@entry1", "AllOf"), ("two", "AnyOf"), ("three@entry1", "two"),
        ("three", "Timed"), ("three", "two"), ("c@r@drive1", "three"),
    }  # fmt: skip
    records = run(machine, False, **{next(o.cell for o in machine.orders if o.reader == "one"): True})
    assert begins(records, *NAMES) == [1, 2, 1, 2, 2], "one alone sees `both` late"


def test_previous_and_itself_are_no_later() -> None:
    text = """rules "x" version "1"
    cycle from 10 ms to 10 ms
    button a
    latch l { set when a is pressed  reset when a is released }
    signal was = previous of l
    counter n { counts previous of l  at most 5 }
    claim k: always was or not was
    """
    for reads in ("this cycle", "last cycle"):
        machine = on(text, reads)
        assert machine.chain == 0
        assert begins(run(machine, True), "l", "was", "n") == [1, 2, 2]


def test_what_claims_say_is_so_in_this_cycle() -> None:
    """A delay that only a claim speaks of sees the latch as it is; the rule's own sees it late."""
    text = """rules "x" version "1"
    cycle from 10 ms to 10 ms
    button a
    latch l { set when a is pressed  reset when a is released }
    channel c 1 { rests at 0 %  from 0 % to 100 % }
    rule r while l for 20 ms { drive c to 50 % }
    claim k: never l for 20 ms
    """
    records = run(on(text, "last cycle"), True)
    assert begins(records, "l", "r", "c") == [1, 4, 5]
    assert next(k for k, r in enumerate(records) if "k" in r.broken) == 3


# ---------- power-up


MEMORY = """rules "Memory" version "1"
cycle from 10 ms to 10 ms
button a
knob level from 0 % to 100 %
sensor height { from 0 m to 100 m  stale after 1 s }
latch l { set when a is pressed for 1 s  reset when a is released  timeout 2 s then blocked for 1 s }
counter n { counts l  at most 3 }
sample s = level when a is pressed first 10 %
channel c 1 { rests at 0 %  from -50 % to 100 % }
rule r while l { drive c to 50 %  ramp up 10 %/s }
claim k: never (l for 3 s) and height is below 5 m and n is above 1 and s is above 3 %
"""


def test_what_memory_can_hold() -> None:
    machine = on(MEMORY, "this cycle", "any")
    free = {s.name: s.holds for s in machine.states if s.initial is None}
    assert free["l@on_for"] == free["l@for1@elapsed"] == (0, None)
    assert free["n"] == (0, 3)
    assert free["s"] == (0, 100)
    assert free["c@r@drive1"] == (-50, 100)
    assert {"l", "l@blocked", "l@for1@ran", "n@counted", "s@taken", "c@r@drive1@on"} <= free.keys()
    held = {s.name for s in machine.states} - free.keys()
    assert held == {"height@since", "height@heard_before"}, "no sensor has been heard before power-up"
    assert all(s.initial is not None for s in machine.watching), "what claims remember starts empty"
    reset = on(MEMORY, "this cycle")
    assert {s.name for s in reset.states if s.initial is None} == {"height@last"}


@pytest.mark.parametrize(
    ("cell", "value", "fine"),
    [
        ("n", Fraction(3), True), ("n", Fraction(4), False), ("n", Fraction(3, 2), False),
        ("l@on_for", Fraction(-1), False), ("l@on_for", Fraction(999), True), ("s", Fraction(101), False),
        ("c@r@drive1", Fraction(-51), False),
    ],
)  # fmt: skip
def test_no_memory_holds_what_it_cannot(cell: str, value: Fraction, fine: bool) -> None:
    machine = on(MEMORY, "this cycle", "any")
    assert bool(valid_start(machine, {}, Interpreter(machine).start({}, {cell: value}))) != fine


def test_the_start_signal_and_the_first_frame() -> None:
    text = """rules "x" version "1"
    cycle from 10 ms to 10 ms
    device { starts any  gives fresh_start for 30 ms  first frame after 20 ms }
    sensor height { from 0 m to 100 m }
    latch l { set when height is heard  reset when fresh_start }
    claim k: never l
    """
    made, _ = compile_rules(rules_of(text))
    assert made is not None
    world = [World(Fraction(1, 100), {"height@frame": True, "height@reading": Fraction(1)}) for _ in range(6)]
    records = Interpreter(made).run(world, {}, {"l": True})
    assert [r.values["fresh_start"] for r in records] == [True, True, True, False, False, False]
    assert [r.values["l"] for r in records] == [False, False, False, True, True, True]
    assert [bool(r.violated) for r in records] == [True, True, False, False, False, False]


def test_eight_kinds_of_device_one_of_them_declared() -> None:
    rules = rules_of(CHAIN.replace("button a", "device { reads last cycle  starts any }\nbutton a"))
    every = variants(rules)
    assert len({(v.reads, v.starts) for v in every}) == 8
    assert [(v.reads, v.starts) for v in every if v.declared] == [("last cycle", "any")]
    assert all((v.rules.device.reads, v.rules.device.starts) == (v.reads, v.starts) for v in every)
