"""The grammar is sound, its tables are up to date, and the parser reads what lark reads."""

import json
import re

import pytest
from lark import Lark, Token, Tree

from latchproof.rules.units import UNITS
from latchproof.source import Source
from latchproof.syntax import grammar, numerals
from latchproof.syntax.grammar import GRAMMAR_FILE, TABLES_FILE, build, from_json, grammar_folder, to_json
from latchproof.syntax.lexing import lex, lexicon
from latchproof.syntax.parse import parse
from latchproof.syntax.resync import CLAUSES
from latchproof.syntax.words import FUNCTIONS, SYNONYMS, starters
from tests.syntax.chunks import chunks
from tests.syntax.programs import programs

TEXT = (grammar_folder() / GRAMMAR_FILE).read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def lark() -> Lark:
    """Without conflicts, and no two tokens that match the same text: that is what `strict` refuses."""
    return Lark(TEXT, parser="lalr", lexer="basic", strict=True)


def test_strict(lark: Lark) -> None:
    assert lark.terminals


def test_strict_would_refuse() -> None:
    with pytest.raises(Exception, match=r"(?i)collision|conflict"):
        Lark("start: A | B\nA: /a+/\nB: /aa*/", parser="lalr", lexer="basic", strict=True)


def test_the_tables_are_up_to_date(request: pytest.FixtureRequest) -> None:
    """Written anew by `--update-goldens`."""
    file = grammar_folder() / TABLES_FILE
    if request.config.getoption("--update-goldens"):
        file.write_text(to_json(build(TEXT)), encoding="utf-8", newline="\n")
    kept = file.read_text(encoding="utf-8")
    assert kept == to_json(build(TEXT))
    assert from_json(json.loads(kept)) == build(TEXT)


def test_other_tables_are_not_used(tmp_path, monkeypatch) -> None:  # type: ignore[no-untyped-def]
    (tmp_path / GRAMMAR_FILE).write_text(TEXT + "\n// changed\n", encoding="utf-8")
    kept = (grammar_folder() / TABLES_FILE).read_text(encoding="utf-8")
    (tmp_path / TABLES_FILE).write_text(kept.replace('"accept": ', '"accept": 9'), encoding="utf-8")
    monkeypatch.setattr(grammar, "grammar_folder", lambda: tmp_path)
    assert grammar.tables.__wrapped__() == build(TEXT + "\n// changed\n")


@pytest.mark.parametrize("source", programs(), ids=lambda s: s.name)
def test_the_same_tokens_as_lark(lark: Lark, source: Source) -> None:
    ours = [(t.kind, t.text) for t in lex(source).tokens[:-1]]
    assert ours == [(t.type, str(t)) for t in lark.lex(source.text)]


@pytest.mark.parametrize("source", programs(), ids=lambda s: s.name)
def test_lark_reads_it_too(lark: Lark, source: Source) -> None:
    tree = lark.parse(source.text)
    file, found = parse(source)
    assert found == ()
    assert file is not None
    assert len([c for c in tree.children if isinstance(c, Tree) and c.data != "header"]) == len(file.statements)
    names = tree.scan_values(lambda v: isinstance(v, Token) and v.type == "NAME")
    assert sorted(map(str, names)) == sorted(t.text for t in lex(source).tokens if t.kind == "NAME")


@pytest.mark.parametrize("chunk", chunks(), ids=str)
def test_lark_refuses_it_too(lark: Lark, chunk) -> None:  # type: ignore[no-untyped-def]
    codes = {code for _, code, _ in chunk.expected}
    only_values = {"decimal-comma", "number-too-long", "no-such-date", "date-form", "scientific-notation"}
    if not codes or not codes <= only_values:
        assert _lark_takes(lark, chunk.source.text) == (not codes)


def _lark_takes(lark: Lark, text: str) -> bool:
    try:
        lark.parse(text)
    except Exception:
        return False
    return True


def test_units_are_the_same_everywhere() -> None:
    assert set(numerals.UNITS) == set(UNITS) - {""}
    pattern = re.compile(next(t.pattern for t in grammar.tables().terminals if t.name == "QUANTITY") or "")
    for unit in numerals.UNITS:
        for text in (f"5 {unit}", f"5.25{unit}"):
            assert pattern.fullmatch(text), text
    assert not pattern.fullmatch("5 parsec")


def test_words_that_the_code_names_are_of_the_language() -> None:
    kinds = {t.name for t in grammar.tables().terminals}
    assert kinds >= CLAUSES
    assert kinds >= starters()
    assert set(SYNONYMS.values()) <= set(grammar.tables().keywords)
    assert not set(SYNONYMS) & set(grammar.tables().keywords) - {"over"}
    assert not set(FUNCTIONS) & set(grammar.tables().keywords)
    assert len(starters()) == 27


def test_words_for_the_editor() -> None:
    """The editor grammar marks the words of the language, each once, and the functions."""
    data = json.loads((grammar_folder() / "latchproof.tmLanguage.json").read_text(encoding="utf-8"))
    marked: list[str] = []
    for name in ("statements", "clauses", "operators", "bases"):
        marked += re.search(r"\(\?:([a-z|]+)\)", data["repository"][name]["match"]).group(1).split("|")  # type: ignore[union-attr]
    assert sorted(marked) == list(grammar.tables().keywords)
    functions = re.search(r"\(\?:([a-z_|]+)\)", data["repository"]["functions"]["match"])
    assert functions is not None
    assert sorted(functions.group(1).split("|")) == sorted(FUNCTIONS)


def test_units_for_the_editor() -> None:
    data = json.loads((grammar_folder() / "latchproof.tmLanguage.json").read_text(encoding="utf-8"))
    pattern = re.compile(data["repository"]["numbers"]["match"])
    for unit in numerals.UNITS:
        found = pattern.match(f"5 {unit} ")
        assert found is not None
        assert found.group() == f"5 {unit}"


def test_the_lexicon_knows_every_word() -> None:
    assert {t for t in lexicon().fixed if t.isidentifier()} == set(grammar.tables().keywords)
