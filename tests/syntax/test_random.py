"""Random trees and random texts: what is written is what is read, laying out changes nothing, nothing ever breaks."""

import random
import re
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from latchproof.source import Source
from latchproof.syntax import File, parse
from latchproof.syntax.alternatives import split_alternatives
from latchproof.syntax.format import format_file
from latchproof.syntax.lexing import lex
from latchproof.syntax.numerals import UNITS
from tests.syntax.programs import programs
from tests.syntax.trees import plain, random_file

QUICK = settings(
    max_examples=120, deadline=None, derandomize=True, database=None, suppress_health_check=list(HealthCheck)
)
PROGRAMS = programs()


def read(text: str) -> tuple[File, Source]:
    source = Source("x.latch", text)
    file, found = parse(source)
    assert found == ()
    assert file is not None
    return file, source


def laid_out(text: str) -> str:
    """The canonical layout, after checking everything that is promised about it."""
    file, source = read(text)
    new = format_file(file, source)
    again, layout = read(new)
    assert again == split_alternatives(file)
    assert split_alternatives(again) == again
    assert sorted(c.text for c in again.comments) == sorted(c.text for c in file.comments)
    assert format_file(again, layout) == new
    assert not re.search(r"[ \t]$|\n\n\n", new, re.MULTILINE)
    assert new.endswith("\n")
    return new


def strewn(text: str, seed: int) -> str:
    """The same tokens with other white space and with comments between them."""
    rng = random.Random(seed)
    between = [" ", "  ", "\n", "\n\n\n", "\t", "\u00a0"]
    between += [" # a comment\n", "\n# on its own line\n", "\n\n  # after a gap\n\n"]
    pieces = []
    tokens = lex(Source("x", text)).tokens
    for token, following in pairwise(tokens):
        gap = rng.choice(between) if rng.random() < 0.3 else " "
        if token.kind == "NUMBER" and following.text in UNITS:
            gap = "\n"  # the one place where a line break means something
        pieces += [token.text, gap]
    return "".join(pieces) + "\n"


def check(seed: int) -> None:
    file = random_file(seed)
    text = plain(file)
    assert read(text)[0] == file
    laid_out(text)
    laid_out(strewn(text, seed))


@given(st.integers(0, 2**64))
@settings(QUICK, max_examples=60)
def test_what_is_written_is_what_is_read_and_layout_changes_nothing(seed: int) -> None:
    check(seed)


@pytest.mark.long
def test_for_long() -> None:
    for seed in range(20_000):
        check(seed)


@pytest.mark.parametrize("source", PROGRAMS, ids=lambda s: s.name)
def test_layout_of_the_programs(source: Source) -> None:
    once = laid_out(source.text)
    one_line = " ".join(token.text for token in lex(source).tokens)
    assert read(one_line)[0] == read(source.text)[0]
    for seed in range(3):
        laid_out(strewn(source.text, seed))
    assert read(once.replace("\n", "\r\n"))[0] == read(once)[0]


@given(st.text(st.characters(codec="utf-8"), max_size=200))
@QUICK
def test_any_text_is_read_or_refused(text: str) -> None:
    file, found = parse(Source("x", text))
    assert (file is None) == bool(found)


SIGNS = st.sampled_from(
    [*"{}()[]<>=!&|,.;:'\"“”#+-−*/%_5a é\n\t ", "set", "when", "latch", "not", "5 m", "0,5", "1e5", "&lt;"]
)


@given(st.lists(SIGNS, max_size=60))
@QUICK
def test_any_signs_are_read_or_refused(signs: list[str]) -> None:
    for text in ("".join(signs), " ".join(signs)):
        file, found = parse(Source("x", text))
        assert (file is None) == bool(found)


@given(st.sampled_from(PROGRAMS), st.integers(0, 2**32))
@QUICK
def test_a_program_with_slips_is_read_or_refused(source: Source, seed: int) -> None:
    rng = random.Random(seed)
    tokens = [t.text for t in lex(source).tokens[:-1]]
    for _ in range(rng.randint(1, 4)):
        at = rng.randrange(len(tokens))
        match rng.randrange(5):
            case 0:
                del tokens[at]
            case 1:
                tokens.insert(at, rng.choice(tokens))
            case 2:
                other = rng.randrange(len(tokens))
                tokens[at], tokens[other] = tokens[other], tokens[at]
            case 3:
                tokens[at] = tokens[at][1:] + rng.choice("ax{}(),=.$")
            case _:
                tokens[at] = rng.choice(["<", "==", "limit", "\n", "latc", '"', "#", "5 metres"])
    text = "".join(t + rng.choice(["\n", " ", " ", " "]) for t in tokens)
    file, found = parse(Source("x", text))
    assert (file is None) == bool(found)
    assert len({(d.code, d.labels[0].span) for d in found}) == len(found)


def test_one_slip_gives_few_messages() -> None:
    """No cascades: a token lost from a good program costs hardly ever more than two messages."""
    source = next(p for p in PROGRAMS if p.name.endswith("motor_arming.latch"))
    counts = []
    for token in lex(source).tokens[:-1]:
        _, found = parse(Source("x", source.text[: token.start] + source.text[token.end :]))
        counts.append(len(found))
    assert max(counts) <= 3
    assert sum(count > 1 for count in counts) < len(counts) / 20
