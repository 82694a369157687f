"""Exported nodes say what the interpreter does: the same memory, facts and promise, cycle by cycle."""

import re
from fractions import Fraction
from pathlib import Path
from random import Random

import pytest

from latchproof.machine.cone import cone, restrict
from latchproof.machine.model import DT, Machine, Property
from latchproof.prove.export_lustre import after, first, lustre_file, lustre_node, names_for, number
from latchproof.run.interpreter import Interpreter
from tests.helpers.generate import generate
from tests.helpers.lustre import WORDS, Node, NoLustreError, Run, Value, read
from tests.helpers.rules import example, machine_of
from tests.helpers.worlds import PACES, Life, live
from tests.layout.house import ROOT
from tests.prove.small import HEAD, PROVED, REFUTED, text

EXAMPLES = sorted(str(p.relative_to(ROOT / "examples")) for p in ROOT.glob("examples/*/*.latch"))
CYCLES = 40


def node_of(machine: Machine, property_: Property, cycle: Fraction | None = None) -> Node:
    return read(lustre_file(machine, property_, "the tests", cycle))


def beside(machine: Machine, property_: Property, life: Life, node: Node | None = None) -> int:
    """Runs the node on what the world did and compares; how many cycles meet the goal."""
    node = node or node_of(machine, property_)
    system = cone(machine, property_)
    names = names_for(system)
    power_up = Interpreter(machine).start(life.parameters, life.start)
    instants: list[dict[str, Value]] = []
    for w in life.world:
        given: dict[str, Value] = {names[p.name]: life.parameters.get(p.name, p.value) for p in system.parameters}
        given |= {names[i.name]: w.inputs[i.name] for i in system.inputs}
        given |= {first(names[s.name]): power_up[s.name] for s in system.states if s.initial is None}
        instants.append({**given, names[DT]: w.dt} if "nothing" not in node.inputs else {"nothing": True})
    run = Run(node, [{k: v for k, v in one.items() if k in node.inputs} for one in instants])
    assert all(one.keys() == node.inputs.keys() for one in run.inputs)
    for k, record in enumerate(life.records):
        for s in system.states:
            assert run.flow(after(names[s.name]), k) == record.after[s.name], f"{s.name} in cycle {k}"
            before = life.records[k - 1].after if k else power_up
            assert run.flow(names[s.name], k) == before[s.name]
        assert run.flow("ok", k) == (property_.name not in record.broken), f"the promise in cycle {k}"
        missing = set(record.violated)
        facts = [c.why for c in system.constraints if c not in property_.arriving]
        if not property_.arriving:
            assert run.asserted(k) == (not missing & set(facts)), f"facts in cycle {k}: {missing}"
    return sum(property_.name in r.broken for r in life.records)


@pytest.mark.parametrize("path", EXAMPLES)
def test_examples_run_alike(path: str) -> None:
    machine = example(path)
    for number_, property_ in enumerate(machine.properties):
        life = live(machine, Random(f"{path} {number_}"), CYCLES, PACES[number_ % 3])
        assert life.records
        beside(machine, property_, life)


def test_every_form_of_claim_runs_alike_and_some_are_broken() -> None:
    machine = machine_of(text(*PROVED.values(), *REFUTED.values()))
    met = 0
    for number_, property_ in enumerate(machine.properties):
        for pace in PACES:
            life = live(machine, Random(f"{number_} {pace}"), 3 * CYCLES, pace, lawless=True)
            met += beside(machine, property_, life) > 0
    assert met >= len(REFUTED) // 2


@pytest.mark.parametrize("seed", range(500, 530))
def test_random_rule_sets_run_alike(seed: int) -> None:
    machine = machine_of(generate(seed), Path("/nowhere"))
    life = live(machine, Random(seed), CYCLES)
    for property_ in machine.properties:
        beside(machine, property_, life)


def test_a_fault_in_a_node_is_noticed() -> None:
    """The comparison itself: other values at power-up, another time, other junctions, an `if` the wrong way round."""
    machine = machine_of(HEAD + "claim c: length of saving at most 3.05 s\n")
    property_ = next(p for p in machine.properties if p.name == "c")
    good = lustre_file(machine, property_, "the tests")
    life = live(machine, Random(1), 400, "longest")
    assert any(r.values["saving"] for r in life.records)
    for old, new in (("false ->", "true ->"), ("(0.3 <= ", "(0.1 <= "), (" and ", " or "), ("else 0.0)", "else 1.0)")):
        assert old in good
        with pytest.raises(AssertionError):
            beside(machine, property_, life, read(good.replace(old, new)))


def test_the_cycle_time_may_be_fixed() -> None:
    machine = machine_of(HEAD + "claim c: length of saving at most 3.05 s\n")
    property_ = next(p for p in machine.properties if p.name == "c")
    free, fixed = node_of(machine, property_), node_of(machine, property_, Fraction(1, 40))
    assert "cycle_time" in free.inputs
    assert "cycle_time" in fixed.locals
    assert fixed.equations["cycle_time"] == ("value", Fraction("0.025"))
    assert fixed.properties == free.properties == ["ok"]


def test_tunes_stay_and_ranges_are_asserted() -> None:
    """An instant in which a tune moves, a cycle is too short, or a reading is out of range, is none."""
    machine = machine_of(HEAD + "claim c: never saving and height is above release\n")
    property_ = next(p for p in machine.properties if p.name == "c")
    node = node_of(machine, property_)
    life = live(machine, Random(3), 2, "longest")
    system = cone(machine, property_)
    names = names_for(system)
    good: dict[str, Value] = {names[p.name]: p.value for p in system.parameters}
    good |= {names[i.name]: life.world[0].inputs[i.name] for i in system.inputs}
    good |= {n: Fraction(0) for n in node.inputs if n.startswith("first_")}
    good |= {"height_frame": False, "height_reading": Fraction(0), "cycle_time": Fraction(1, 20)}
    if "height_truth" in node.inputs:
        good["height_truth"] = Fraction(0)
    assert Run(node, [good, good]).asserted(0)
    assert Run(node, [good, good]).asserted(1)
    for name, value in (
        ("floor", Fraction(31)),
        ("floor", Fraction(19)),
        ("cycle_time", Fraction(1, 1000)),
        ("height_reading", Fraction(101)),
    ):
        assert not Run(node, [good, {**good, name: value}]).asserted(1), name


@pytest.mark.parametrize(
    ("value", "said"),
    [
        (Fraction(0), "0.0"),
        (Fraction(7), "7.0"),
        (Fraction(-7, 2), "(-3.5)"),
        (Fraction(1, 200), "0.005"),
        (Fraction(1, 3), "(1.0 / 3.0)"),
        (Fraction(-2, 7), "(-(2.0 / 7.0))"),
        (Fraction(12345678901, 1000), "12345678.901"),
    ],
)
def test_numbers_are_exact(value: Fraction, said: str) -> None:
    assert number(value) == said


def test_names_are_legal_and_different() -> None:
    """Words of the language, names that come out alike, names that the node makes itself."""
    lines = ['rules "Names" version "1"', *(f"button {name}" for name in ("tel", "real", "merge", "div", "mod"))]
    lines += [f"button {n}" for n in ("next_a", "first_a", "a", "part_7", "cycle_time")]
    lines += ["latch when_on { set when a is pressed  reset when next_a is pressed }"]
    everything = " or ".join(f"{n} is pressed" for n in ("tel", "real", "merge", "div", "mod", "first_a", "part_7"))
    lines += [f"claim c: never when_on and cycle_time is pressed and ({everything})", ""]
    machine = machine_of("\n".join(lines))
    property_ = next(p for p in machine.properties if p.name == "c")
    node = node_of(machine, property_)
    names = names_for(cone(machine, property_))
    assert len(set(names.values())) == len(names) >= 12
    assert not set(names.values()) & WORDS
    assert node.inputs.keys() <= set(names.values())


def test_comments_end_with_their_line() -> None:
    """Whatever a sentence of a pilot holds, it stays a comment."""
    machine = machine_of(HEAD + 'claim c "tel -- ; */ ok = true": never saving\n')
    property_ = next(p for p in machine.properties if p.name == "c")
    made = lustre_file(machine, property_, "the\ntests")
    whole, bare = read(made.replace("the\ntests", "the tests")), read(lustre_node(cone(machine, property_)))
    assert whole == bare


@pytest.mark.parametrize(
    "text_",
    [
        "node n(a: bool) returns (ok: bool); let ok = a; ok = a; tel",
        "node n(a: bool) returns (ok: bool); let tel",
        "node n(a: bool) returns (ok: bool); let ok = a + a; tel",
        "node n(a: real) returns (ok: bool); let ok = a * a < 1.0; tel",
        "node n(a: real) returns (ok: bool); let ok = a < 1; tel",
        "node n(a: real) returns (ok: bool); let ok = 0.0 < a < 1.0; tel",
        "node n(pre: bool) returns (ok: bool); let ok = pre; tel",
        "node n(a: bool) returns (ok: bool); let ok = b; tel",
        "node n(a: bool) returns (ok: bool); let ok = a tel",
    ],
)
def test_the_reader_is_strict(text_: str) -> None:
    with pytest.raises(NoLustreError):
        read(text_)


def test_the_reader_knows_how_tightly_words_bind() -> None:
    node = read(
        "node n(a, b: bool; x: real) returns (ok: bool); "
        "let ok = true -> not a or b and x + 1.0 * 2.0 <= 3.0 => pre b; tel"
    )
    one, two, three = (("value", Fraction(n)) for n in (1, 2, 3))
    a, b, x = (("flow", name) for name in ("a", "b", "x"))
    small = ("<=", ("+", x, ("*", one, two)), three)
    assert node.equations["ok"] == (
        "->",
        ("value", True),
        ("=>", ("or", ("not", a), ("and", b, small)), ("pre", b)),
    )


def test_a_flow_that_needs_itself_is_noticed() -> None:
    node = read("node n(a: bool) returns (ok: bool); var b: bool; let b = ok; ok = b and a; tel")
    with pytest.raises(NoLustreError):
        Run(node, [{"a": True}]).flow("ok", 0)


def test_nothing_but_the_cone_is_exported() -> None:
    machine = machine_of(text(PROVED["always"]))
    property_ = machine.properties[0]
    made = lustre_file(machine, property_, "the tests")
    assert re.search(r"\blamp\b", made)
    assert "height" not in made
    assert restrict(machine, property_, frozenset()).properties == (property_,)
