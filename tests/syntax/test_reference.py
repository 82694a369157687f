"""The pages about the language: every example is read and laid out the usual way, and whole ones are checked."""

import re
from dataclasses import dataclass

import pytest

from latchproof import pipeline
from latchproof.source import Source
from latchproof.syntax import parse
from latchproof.syntax.format import format_file
from latchproof.syntax.grammar import grammar_folder, tables
from latchproof.syntax.lexing import lex
from latchproof.syntax.numerals import UNITS
from latchproof.syntax.words import FUNCTIONS
from tests.layout.test_words import DEVELOPERS_ONLY

PAGES = {
    name: (grammar_folder() / name).read_text(encoding="utf-8")
    for name in ("REFERENCE.md", "PROMISES.md", "HAZARDS.md")
}
REFERENCE = PAGES["REFERENCE.md"]
RESERVED = (grammar_folder() / "RESERVED.md").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Example:
    """`whole`: a rule set, which must be without errors; else a piece that uses names from elsewhere."""

    page: str
    line: int
    whole: bool
    source: Source

    def __str__(self) -> str:
        return f"{self.page} line {self.line}"


def examples() -> list[Example]:
    found = []
    for page, text in PAGES.items():
        for block in re.finditer(r"^```([^\n]+)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL):
            line = text.count("\n", 0, block.start()) + 1
            assert block[1] in ("latch", "latch fragment"), line
            found.append(Example(page, line, block[1] == "latch", Source(f"{page} line {line}", block[2])))
    return found


ALL = examples()


@pytest.mark.parametrize("example", ALL, ids=str)
def test_examples_are_read_and_laid_out_the_usual_way(example: Example) -> None:
    file, found = parse(example.source)
    assert found == ()
    assert file is not None
    assert format_file(file, example.source) == example.source.text


@pytest.mark.parametrize("example", [e for e in ALL if e.whole], ids=str)
def test_whole_examples_are_rule_sets(example: Example, tmp_path) -> None:  # type: ignore[no-untyped-def]
    checked = pipeline.check_text(example.source, tmp_path)
    assert checked.rules is not None
    assert {d.code for d in checked.diagnostics} <= {"unused"}


def test_every_word_of_the_language_is_shown_at_work() -> None:
    used = {token.text for example in ALL for token in lex(example.source).tokens}
    assert set(tables().keywords) - used == set()
    assert all(f"`{function} of" in REFERENCE for function in FUNCTIONS)


def test_every_unit_is_named() -> None:
    assert all(f"`{unit}`" in REFERENCE for unit in UNITS)


def test_reserved_words() -> None:
    listed = re.findall(r"`(\w+)`", "\n".join(line for line in RESERVED.split("\n") if line.startswith("|")))
    assert listed == list(tables().keywords)


def test_words_that_are_not_reserved() -> None:
    free = re.findall(r"`(\w+)`", RESERVED[RESERVED.index("Not reserved") : RESERVED.index("and all units")])
    assert len(free) == 39
    text = "\n".join(f"button {word}" for word in free)
    file, found = parse(Source("x", text))
    assert found == ()
    assert file is not None


def test_the_words_are_a_pilots() -> None:
    assert DEVELOPERS_ONLY.findall("".join(PAGES.values()) + RESERVED) == []
