"""From text to tree: the right nodes, exact numbers, and every node where it stands."""

from collections.abc import Iterator
from dataclasses import fields
from fractions import Fraction

import pytest

from latchproof.source import Source, Span
from latchproof.syntax import File, parse, tree
from tests.syntax.programs import programs
from tests.syntax.trees import NOWHERE


def read(text: str) -> File:
    file, found = parse(Source("x", text))
    assert found == ()
    assert file is not None
    return file


def only(text: str) -> tree.Statement:
    (statement,) = read(text).statements
    return statement


def signal(text: str) -> tree.Expr:
    statement = only(f"signal s = {text}")
    assert isinstance(statement, tree.Signal)
    return statement.value


def name(text: str) -> tree.Name:
    return tree.Name(text, span=NOWHERE)


def ref(*parts: str) -> tree.Ref:
    return tree.Ref(tuple(map(name, parts)), span=NOWHERE)


def quantity(digits: str, unit: str | None = None) -> tree.Quantity:
    return tree.Quantity(digits, Fraction(digits), unit, span=NOWHERE)


def nodes(root: object) -> Iterator[tree.Node]:
    if isinstance(root, tree.Node):
        yield root
        for field in fields(root):
            yield from nodes(getattr(root, field.name))
    elif isinstance(root, tuple):
        for item in root:
            yield from nodes(item)


# ---------- numbers


@pytest.mark.parametrize(
    ("text", "digits", "value", "unit"),
    [
        ("0.1 m", "0.1", Fraction(1, 10), "m"),
        ("46m", "46", Fraction(46), "m"),
        ("46\u00a0m", "46", Fraction(46), "m"),
        ("007.50 %/s", "007.50", Fraction(15, 2), "%/s"),
        ("3 cycles", "3", Fraction(3), "cycles"),
        ("12345678901234567890", "12345678901234567890", Fraction(12345678901234567890), None),
        ("0.3333333333333333333 degC", "0.3333333333333333333", Fraction(3333333333333333333, 10**19), "degC"),
    ],
)
def test_numbers_are_exact(text: str, digits: str, value: Fraction, unit: str | None) -> None:
    found = only(f"value v = {text}")
    assert isinstance(found, tree.Value)
    assert found.value == tree.Quantity(digits, value, unit, span=NOWHERE)


def test_a_unit_is_no_reserved_word() -> None:
    assert signal("m is above 5 m") == tree.Test(
        ref("m"), False, tree.Compared("above", quantity("5", "m"), span=NOWHERE), span=NOWHERE
    )


def test_a_unit_stands_on_the_line_of_its_number() -> None:
    first, second = read("fact n = 3\ncycle from 5 ms to 20 ms").statements
    assert isinstance(first, tree.Fact)
    assert first.value == quantity("3")
    assert isinstance(second, tree.Cycle)


def test_a_minus_sign_is_never_part_of_a_number() -> None:
    expected = tree.Binary("-", ref("a"), quantity("3", "m"), span=NOWHERE)
    for text in ("a -3 m", "a-3m", "a - 3 m", "a \u2212 3 m"):
        found = signal(f"{text} is below -20 m")
        assert isinstance(found, tree.Test)
        assert found.subject == expected
        assert found.predicate == tree.Compared("below", tree.Negative(quantity("20", "m"), span=NOWHERE), span=NOWHERE)


def test_sums_and_products_are_read_from_the_left() -> None:
    found = signal("a - b + c * d / e")
    cd = tree.Binary("*", ref("c"), ref("d"), span=NOWHERE)
    ab = tree.Binary("-", ref("a"), ref("b"), span=NOWHERE)
    assert found == tree.Binary("+", ab, tree.Binary("/", cd, ref("e"), span=NOWHERE), span=NOWHERE)


# ---------- signals


def test_how_long_belongs_to_the_last_test() -> None:
    found = signal("a and b is on for 2 s")
    b_is_on = tree.Test(ref("b"), False, tree.InState(name("on"), span=NOWHERE), span=NOWHERE)
    last = tree.Operand(False, b_is_on, tree.Timing("for", quantity("2", "s"), span=NOWHERE), span=NOWHERE)
    assert found == tree.Junction((ref("a"), last), ("and",), span=NOWHERE)


def test_a_mixture_is_kept_as_written() -> None:
    found = signal("a and b or not c")
    negated = tree.Operand(True, ref("c"), None, span=NOWHERE)
    assert found == tree.Junction((ref("a"), ref("b"), negated), ("and", "or"), span=NOWHERE)


def test_not_and_timing_stay_together_until_later() -> None:
    timing = tree.Timing("for", quantity("2", "s"), span=NOWHERE)
    assert signal("not a for 2 s") == tree.Operand(True, ref("a"), timing, span=NOWHERE)


def test_two_thresholds() -> None:
    found = signal("x is at most 5 % until at least 9 %")
    bounds = tree.Compared("at most", quantity("5", "%"), ("at least", quantity("9", "%")), span=NOWHERE)
    assert found == tree.Test(ref("x"), False, bounds, span=NOWHERE)


def test_functions_with_and_without_brackets() -> None:
    assert signal("rate of a.b") == tree.Of(name("rate"), (ref("a", "b"),), False, span=NOWHERE)
    assert signal("size of (a)") == tree.Of(name("size"), (ref("a"),), True, span=NOWHERE)


# ---------- statements


def test_a_table_by_switch_position() -> None:
    found = only("channel f { follows w as a 0 %, b 20 % + x from 0 % to 100 % }")
    assert isinstance(found, tree.Channel)
    rows = (
        tree.TableRow(name("a"), quantity("0", "%"), span=NOWHERE),
        tree.TableRow(name("b"), tree.Binary("+", quantity("20", "%"), ref("x"), span=NOWHERE), span=NOWHERE),
    )
    ends = tree.Clause("ends", (quantity("0", "%"), quantity("100", "%")), span=NOWHERE)
    assert found.clauses == (tree.FollowsTable(name("w"), rows, span=NOWHERE), ends)


def test_a_tune_in_steps() -> None:
    found = only("tune g = 2 from 1 to 4 in steps of 1")
    span = tree.Range(quantity("1"), quantity("4"), span=NOWHERE)
    assert found == tree.Tune(name("g"), quantity("2"), span, quantity("1"), span=NOWHERE)


def test_what_keeps_arriving() -> None:
    found = only('claim c "words": never a while b provided height, pack keeps arriving')
    scope = tree.Scope("while", ref("b"), span=NOWHERE)
    words = tree.Text("words", span=NOWHERE)
    never = tree.Never(ref("a"), span=NOWHERE)
    assert found == tree.Claim(name("c"), words, never, scope, (name("height"), name("pack")), span=NOWHERE)


def test_typographic_quotes_are_read() -> None:
    for text in ("“words”", "„words“", "«words»", "»words«", "”words”", '"words"'):
        header = read(f"rules {text}").header
        assert header is not None
        assert header.title.value == "words"


def test_line_ends_and_byte_order_marks_mean_nothing() -> None:
    for source in programs():
        plain = read(source.text)
        assert read("\ufeff" + source.text) == plain
        assert read(source.text.replace("\n", "\r\n")) == plain


def test_comments_stand_beside_the_tree() -> None:
    file = read("# one\nbutton b # two  \r\n#three")
    assert [c.text for c in file.comments] == ["# one", "# two", "#three"]
    assert file == read("button b")
    assert [c.span.start for c in file.comments] == [0, 15, 24]


# ---------- places


@pytest.mark.parametrize("source", programs(), ids=lambda s: s.name)
def test_every_node_is_where_it_stands(source: Source) -> None:
    file, _ = parse(source)
    assert file is not None
    for node in nodes(file):
        text = source.text[node.span.start : node.span.end]
        assert node.span.source == source.name
        match node:
            case tree.Name(text=expected) | tree.Comment(text=expected) | tree.Ref(text=expected):
                assert text.replace(" ", "") == expected.replace(" ", "")
            case tree.Text(value=expected):
                assert text[1:-1] == expected
            case tree.Quantity(digits=digits, unit=unit):
                assert text.startswith(digits)
                assert text.endswith(unit or digits)
            case tree.Group():
                assert (text[0], text[-1]) == ("(", ")")
            case tree.Sensor() | tree.Channel() | tree.Latch() | tree.Rule() | tree.Sequence() | tree.Part():
                assert text.startswith(type(node).__name__.lower())
                assert text.endswith("}")
            case tree.Never() | tree.Always() | tree.Whenever() | tree.Can() | tree.Before():
                assert text.startswith(type(node).__name__.lower())


@pytest.mark.parametrize("source", programs(), ids=lambda s: s.name)
def test_a_node_holds_the_nodes_in_it(source: Source) -> None:
    file, _ = parse(source)
    assert file is not None

    def check(node: tree.Node, outer: Span) -> None:
        assert outer.start <= node.span.start <= node.span.end <= outer.end
        for field in fields(node):
            value = getattr(node, field.name)
            for inner in nodes(value) if field.name != "span" else ():
                assert node.span.start <= inner.span.start <= inner.span.end <= node.span.end

    for node in nodes(file):
        check(node, file.span)


@pytest.mark.parametrize("source", programs(), ids=lambda s: s.name)
def test_the_text_of_a_signal_is_that_signal(source: Source) -> None:
    """Each signal cut out of the file and read alone is the same signal."""
    file, _ = parse(source)
    assert file is not None
    for statement in file.statements:
        if isinstance(statement, tree.Signal):
            assert signal(source.text[statement.value.span.start : statement.value.span.end]) == statement.value
