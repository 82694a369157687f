"""Nothing in a file, however hostile, takes long or goes deep."""

import time
from fractions import Fraction

import pytest

from latchproof.diagnostics import Diagnostic, has_errors
from latchproof.rules import limits, resolve
from latchproof.source import Source, Span
from latchproof.syntax import File, parse, tree

SECONDS = 10
"""Each of these takes about one; the rest is for a slow machine."""


def quick(file: File) -> tuple[bool, tuple[Diagnostic, ...]]:
    start = time.perf_counter()
    rules, diagnostics = resolve(file, {}, {})
    assert time.perf_counter() - start < SECONDS
    assert (rules is None) == has_errors(diagnostics)
    return rules is not None, diagnostics


def read(text: str) -> File:
    file, faults = parse(Source("rules.latch", text))
    assert file is not None, faults
    return file


def refused(text: str) -> set[str]:
    fine, diagnostics = quick(read(text))
    assert not fine
    return {d.code for d in diagnostics}


def lines(form: str, count: int) -> str:
    return "\n".join(form.format(i=i, next=i + 1) for i in range(count))


DOUBLING = "part p0 takes signal x gives y { latch y { set when x  reset when not x } }\n" + lines(
    "part p{next} takes signal x gives y {{\n"
    "  use p{i} as a with x = x  use p{i} as b with x = x  signal y = a.y and b.y\n"
    "}}",
    15,
)


def test_many_names() -> None:
    assert refused(lines("button b{i}", limits.NAMES + 1)) == {"too-large"}


def test_not_so_many_names() -> None:
    assert quick(read(lines("button b{i}", limits.NAMES)))[0]


def test_parts_that_double() -> None:
    more = "\nbutton b\nuse p15 as o with x = b is pressed\nclaim c: never o.y"
    assert refused(DOUBLING + more) == {"too-large"}


def test_parts_that_double_and_are_never_used() -> None:
    assert refused(DOUBLING) == {"too-large"}


def test_parts_in_parts_in_parts() -> None:
    text = "part p0 takes signal x gives y { latch y { set when x  reset when not x } }\n" + lines(
        "part p{next} takes signal x gives y {{ use p{i} as a with x = x  signal y = a.y }}", limits.USES_DEEP + 1
    )
    assert refused(text) == {"part-loop"}


@pytest.mark.parametrize("kind", ["+", "*"])
def test_values_that_double(kind: str) -> None:
    """2 ** (2 ** 60) is not worked out."""
    text = "value v0 = 2\n" + lines(f"value v{{next}} = v{{i}} {kind} v{{i}}", 300) + "\nclaim c: never v300 is above 3"
    assert refused(text) == {"number-too-large"}


def test_steps_that_double() -> None:
    text = "tune g = 2 from 1 to 4 in steps of 1\nvalue v0 = g\n" + lines("value v{next} = v{i} * v{i}", 60)
    assert refused(text + "\nclaim c: never v60 is above 3") == {"number-too-large"}


def test_steps_that_double_without_growing() -> None:
    """0.3 ** (2 ** 60) lies between 0 and 1, but nobody can write it down."""
    text = "tune g = 0.3 from 0 to 1 in steps of 0.1\nvalue v0 = g\n" + lines("value v{next} = v{i} * v{i}", 60)
    assert refused(text + "\nrequire v60 is below 1") == {"number-too-large"}


@pytest.mark.parametrize("form", ["value v{i} = v{next} + 1 m", "value v{i} = v{next} - v{next} + v{next}"])
def test_a_requirement_of_many_values(form: str) -> None:
    """Undecided, not wrong."""
    text = "tune t = 3 m from 1 m to 9 m\nvalue v3000 = t\nrequire v0 is below 0 m\n" + lines(form, 3_000)
    assert quick(read(text))[0]


def test_a_deep_mixer() -> None:
    brackets = "({})".format
    text = "stick p from 0 % to 9 %\nvalue v0 = p\nchannel c { follows v40  from 0 % to 9 % }\n"
    deep_sum = "v{i} + 1 %"
    for _ in range(20):
        deep_sum = brackets(deep_sum)
    assert refused(text + lines(f"value v{{next}} = {deep_sum}", 40)) == {"too-large"}


def test_mixers_that_double() -> None:
    text = "stick p from 0 % to 9 %\nvalue v0 = p\n" + lines("value v{next} = v{i} + v{i}", 60)
    fine, diagnostics = quick(read(text + "\nchannel c { follows v60  from 0 % to 9 % }"))
    assert not fine
    assert [d.code for d in diagnostics] == ["too-large"]


def test_a_long_chain_of_values() -> None:
    count = 8_000
    text = lines("value v{i} = v{next} + 1 m", count) + f"\nvalue v{count} = 3 m\nclaim c: never v0 is above 3 m"
    assert quick(read(text)) == (True, ())


def test_a_large_ring_of_values() -> None:
    text = lines("value v{next} = previous of v{i} + 1 m", 5_000) + "\nvalue v0 = v5000"
    assert quick(read(text))[0]


def test_many_unknown_names() -> None:
    fine, diagnostics = quick(read(lines("signal s{i} = unknown{i}", 9_000)))
    assert not fine
    assert len(diagnostics) == limits.MESSAGES
    assert {d.code for d in diagnostics} == {"unknown-name"}


def test_errors_come_before_warnings_when_there_are_too_many() -> None:
    text = "sensor h { from 0 m to 9 m }\n" + lines("claim c{i}: never h is equal to {i} m", 200)
    text += "\nclaim last: never zebra"
    fine, diagnostics = quick(read(text))
    assert not fine
    assert len(diagnostics) == limits.MESSAGES
    assert [d.code for d in diagnostics if d.severity == "error"] == ["unknown-name"]


@pytest.mark.parametrize(
    ("form", "most"),
    [("require t is above {i} / 3000", limits.REQUIRES), ("stage s{i} {{ tune t = 4 }}", limits.STAGES)],
)
def test_many_requirements_and_stages(form: str, most: int) -> None:
    text = "tune t = 3 from 1 to 9\nclaim c: never t is above 8\n"
    assert quick(read(text + lines(form, most)))[0]
    assert refused(text + lines(form, most + 1)) == {"too-large"}


def test_many_rules() -> None:
    rules = "button b\nchannel c { rests at 0 %  from 0 % to 9 % }\n" + lines(
        "rule r{i} while b is pressed {{ drive c to 3 % }}", limits.ACTING + 1
    )
    assert refused(rules) == {"too-large"}


def test_a_kill_switch_behind_many_names() -> None:
    text = "button b\nchannel c { rests at 0 %  from 0 % to 9 % }\nrole kill is s0\n"
    text += lines("signal s{i} = s{next}", 9_000) + "\nsignal s9000 = b is pressed\n"
    text += lines("rule r{i} while s0 {{ drive c to 3 % }}", 900) + "\n" + lines("priority r{i} over r{next}", 899)
    assert quick(read(text))[0]


@pytest.mark.parametrize(
    "text",
    [
        "latch l {{ {} }}\nclaim c: never l".format("set when b is pressed  " * (limits.WIDTH + 1)),
        "rule r while b is pressed {{ {} }}".format("announce tone  " * (limits.WIDTH + 1)),
        "sequence s while b is pressed {{ {} }}".format(lines("phase p{i} for 1 s {{ }}", limits.WIDTH + 1)),
        "switch s positions " + ", ".join(f"p{i}" for i in range(limits.WIDTH + 1)),
    ],
    ids=["latch", "rule", "sequence", "switch"],
)
def test_wide_statements(text: str) -> None:
    assert refused("button b\n" + text) == {"too-large"}


# ---------- trees that no text gives

AT = Span("rules.latch", 0, 1)


def by_hand(value: tree.Expr) -> File:
    name = tree.Name("x", span=AT)
    return File(None, (tree.Value(name, value, span=AT),), span=AT)


def deep(levels: int) -> tree.Expr:
    e: tree.Expr = tree.Quantity("3", Fraction(3), "m", span=AT)
    for _ in range(levels):
        e = tree.Group(e, span=AT)
    return e


def test_a_deep_tree() -> None:
    fine, diagnostics = quick(by_hand(deep(100_000)))
    assert not fine
    assert [d.code for d in diagnostics] == ["too-deep"]


def test_a_tree_just_deep_enough() -> None:
    assert quick(by_hand(deep(limits.NESTING - 1)))[0]
    assert not quick(by_hand(deep(limits.NESTING)))[0]


def test_a_deep_tree_of_junctions() -> None:
    leaf = tree.Ref((tree.Name("b", span=AT),), span=AT)
    e: tree.Expr = leaf
    for _ in range((limits.NESTING - 1) // 2):
        e = tree.Group(tree.Junction((e, leaf), ("and",), span=AT), span=AT)
    name = tree.Name("b", span=AT)
    latch = tree.Latch(name, (tree.Clause("set_when", (e,), span=AT),), span=AT)
    assert quick(File(None, (latch,), span=AT))[0]


@pytest.mark.parametrize("digits", ["1" + "0" * 13, "0." + "0" * 40 + "1", "9" * 4000])
def test_large_and_long_numbers(digits: str) -> None:
    fine, diagnostics = quick(by_hand(tree.Quantity(digits, Fraction(digits), "m", span=AT)))
    assert not fine
    assert [d.code for d in diagnostics] == ["number-too-large"]


def test_a_unit_that_no_text_can_have() -> None:
    fine, (found,) = quick(by_hand(tree.Quantity("3", Fraction(3), "furlong", span=AT)))
    assert not fine
    assert found.code == "unknown-unit"
