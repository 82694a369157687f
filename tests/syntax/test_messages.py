"""Every mistake in its place, several in one run, and the whole message as a pilot reads it."""

import ast
import re
from pathlib import Path

import pytest

from latchproof.diagnostics import in_order
from latchproof.show.diagnostics import render
from latchproof.syntax import characters
from tests.syntax.chunks import Chunk, chunks

ALL = chunks()
GOLDENS = Path(__file__).parent / "messages"


@pytest.mark.parametrize("chunk", ALL, ids=str)
def test_each_mistake_on_its_line(chunk: Chunk) -> None:
    file, found = chunk.read()
    seen = tuple((chunk.source.place(d.labels[0].span.start)[0], d.code, d.title) for d in found)
    assert seen == chunk.expected
    assert (file is None) == bool(chunk.expected)
    assert found == in_order(found)


@pytest.mark.parametrize("chunk", ALL, ids=str)
def test_each_message_says_what_to_do(chunk: Chunk) -> None:
    for found in chunk.read()[1]:
        assert found.severity == "error"
        assert all(label.text for label in found.labels)
        assert all(label.span.source == chunk.source.name for label in found.labels)
        assert all(0 <= label.span.start <= label.span.end <= len(chunk.source.text) for label in found.labels)
        assert not found.title.endswith(".")


@pytest.mark.parametrize("file", sorted({c.file for c in ALL}))
def test_the_whole_messages(file: str, request: pytest.FixtureRequest) -> None:
    """`--update-goldens` writes them anew; they are to be read before they are committed."""
    pieces = []
    for chunk in ALL:
        if chunk.file == file:
            messages = [render(d, {chunk.source.name: chunk.source}) for d in chunk.read()[1]]
            pieces.append(f"=== {chunk.title}\n" + "\n\n".join(messages or ["(nothing)"]) + "\n")
    text = "\n".join(pieces)
    golden = GOLDENS / f"{file}.txt"
    if request.config.getoption("--update-goldens"):
        golden.parent.mkdir(exist_ok=True)
        golden.write_text(text, encoding="utf-8")
    assert golden.read_text(encoding="utf-8") == text


ELSEWHERE = {"control-character", "not-text", "file-too-large", "too-many-words", "too-deep", "empty-file"}
"""Codes that test_bounds.py looks at."""

NO_CODES = {"year-month-day", "ms-1", "utf-8"}


def test_every_code_of_the_room_is_in_a_chunk() -> None:
    texts = {
        node.value
        for path in Path(characters.__file__).parent.glob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str)
    }
    codes = {text for text in texts if re.fullmatch("unfinished|[a-z]+(-[a-z0-9]+)+", text)} - NO_CODES
    assert codes - ELSEWHERE == {code for chunk in ALL for _, code, _ in chunk.expected}
    assert codes >= ELSEWHERE
