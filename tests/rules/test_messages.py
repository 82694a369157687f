"""Every code where it belongs, and what a pilot reads then."""

import os
from pathlib import Path

import pytest

from latchproof.diagnostics import Diagnostic, in_order
from latchproof.rules import resolve
from latchproof.show.diagnostics import render
from latchproof.source import Source
from latchproof.syntax import parse
from tests.rules.messages import Chunk, chunks

ALL = chunks()
GOLDEN = Path(__file__).parent / "messages"


def found(chunk: Chunk) -> tuple[Source, tuple[Diagnostic, ...]]:
    source = Source(f"{chunk.file}.latch", chunk.text)
    tree, faults = parse(source)
    if tree is None:
        return source, faults
    rules, more = resolve(tree, {}, {source.name: source})
    errors = any(d.severity == "error" for d in more)
    assert (rules is None) == errors
    return source, more


@pytest.mark.parametrize("chunk", ALL, ids=lambda c: c.name)
def test_each_error_on_its_line(chunk: Chunk) -> None:
    source, diagnostics = found(chunk)
    assert diagnostics == in_order(diagnostics)
    seen = [(source.place(d.labels[0].span.start)[0], d.code, d.title) for d in diagnostics]
    expected = chunk.expected
    assert sorted((line, code) for line, code, _ in seen) == sorted((line, code) for line, code, _ in expected)
    for line, code, title in expected:
        assert any((line, code) == (at, what) and title in said for at, what, said in seen), title


@pytest.mark.parametrize("chunk", ALL, ids=lambda c: c.name)
def test_each_message_tells_what_to_do(chunk: Chunk) -> None:
    for diagnostic in found(chunk)[1]:
        assert diagnostic.labels
        assert diagnostic.labels[0].text
        assert not diagnostic.title.endswith(".")


def told(file: str) -> str:
    """All messages of the chunks of a file, below their own lines, the shared ones left out."""
    pieces = []
    for chunk in ALL:
        if chunk.file == file:
            source, diagnostics = found(chunk.without_expectations)
            messages = [render(d, {source.name: source}) for d in diagnostics]
            if messages:
                pieces.append(f"=== {chunk.title}\n" + "\n\n".join(messages) + "\n")
    return "\n".join(pieces)


@pytest.mark.parametrize("file", sorted({c.file for c in ALL}))
def test_the_whole_messages(file: str) -> None:
    """Written anew when NEW_MESSAGES is set; to be read then."""
    golden = GOLDEN / f"{file}.txt"
    text = told(file)
    if os.environ.get("NEW_MESSAGES"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(text, encoding="utf-8")
    assert golden.read_text(encoding="utf-8") == text
