"""The canonical layout, as whole texts side by side: `layouts/NAME.latch` becomes `layouts/NAME.laid_out.latch`."""

from pathlib import Path

import pytest

from latchproof.source import Source
from latchproof.syntax import parse, tree
from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.columns import WIDTH, broken, lined_up
from latchproof.syntax.format import format_file
from latchproof.syntax.phrases import mark
from tests.syntax.test_random import laid_out

FOLDER = Path(__file__).parent / "layouts"
NAMES = sorted(p.stem for p in FOLDER.glob("*.latch") if "." not in p.stem)


@pytest.mark.parametrize("name", NAMES)
def test_layouts(name: str, request: pytest.FixtureRequest) -> None:
    """`--update-goldens` writes them anew; they are to be read before they are committed."""
    new = laid_out((FOLDER / f"{name}.latch").read_text(encoding="utf-8"))
    golden = FOLDER / f"{name}.laid_out.latch"
    if request.config.getoption("--update-goldens"):
        golden.write_text(new, encoding="utf-8")
    assert golden.read_text(encoding="utf-8") == new


def test_there_are_layouts() -> None:
    assert len(NAMES) >= 5


def clauses(text: str) -> list[str]:
    """The clauses of the only latch, after its alternatives were split, in words."""
    file, _ = parse(Source("x", text))
    assert file is not None
    (latch,) = split_alternatives(file).statements
    assert isinstance(latch, tree.Latch)
    lines = format_file(file, Source("x", text)).split("\n")[1:-2]
    assert len(lines) == len(latch.clauses)
    return [" ".join(line.split()) for line in lines]


def test_alternatives_get_a_line_each() -> None:
    assert clauses("latch l { reset when a or b }") == ["reset when a", "reset when b"]
    assert clauses("latch l { set when a or (b and c) set wins }") == ["set when a", "set when (b and c)", "set wins"]


@pytest.mark.parametrize(
    "condition",
    ["(a or b)", "a and (b or c)", "a and b or c", "a or b for 2 s", "a or not b ends", "(a or b) for 2 s"],
)
def test_what_is_not_plainly_an_alternative_stays(condition: str) -> None:
    assert clauses(f"latch l {{ reset when {condition} }}") == [f"reset when {condition}"]


def test_counting_alternatives_is_not_the_same() -> None:
    text = laid_out("counter c { counts a or b at most 3 }")
    assert "counts a or b" in text


def test_spans_of_alternatives_are_where_they_stand() -> None:
    text = "latch l { reset when a or b or c }"
    file, _ = parse(Source("x", text))
    assert file is not None
    (latch,) = split_alternatives(file).statements
    assert isinstance(latch, tree.Latch)
    assert [text[c.span.start : c.span.end] for c in latch.clauses] == ["reset when a", " or b", " or c"]


def test_a_long_line_is_broken_at_its_outermost_marks() -> None:
    text = f"{'a' * 60}{mark(1)}{'b' * 60}{mark(2)}{'c' * 60}"
    assert [line.strip() for line in broken(text, 0)] == ["a" * 60, "b" * 60, "c" * 60]
    assert broken(f"a{mark(1)}b", 0) == ["a b"]
    assert broken("a" * 200, 2) == ["  " + "a" * 200]


def test_columns_give_way_when_there_is_no_room() -> None:
    assert lined_up([["a", "b"], ["ccc", "d"]], (1,), 0) == ["a   b", "ccc d"]
    assert lined_up([["a", "b" * (WIDTH - 2)], ["ccc", "d"]], (1,), 0) == ["a " + "b" * (WIDTH - 2), "ccc d"]
    assert lined_up([["a", "b"], ["c" * 40, "d"]], (1,), 0) == ["a b", "c" * 40 + " d"]
