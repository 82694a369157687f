"""Rule files in chunks: the source, and on each line the mistakes that are expected there.

A chunk begins with `=== what it is about`. Behind `#!` stands `code: title`, once for each mistake of the line; these
notes are taken out before the text is read, so they may also stand behind a text that is never closed.
"""

import re
from dataclasses import dataclass
from pathlib import Path

from latchproof.diagnostics import Diagnostic
from latchproof.source import Source
from latchproof.syntax import File, parse

FOLDER = Path(__file__).parent / "chunks"

Expected = tuple[int, str, str]
"""Line, code, title."""


@dataclass(frozen=True)
class Chunk:
    file: str
    title: str
    source: Source
    expected: tuple[Expected, ...]

    def read(self) -> tuple[File | None, tuple[Diagnostic, ...]]:
        return parse(self.source)

    def __str__(self) -> str:
        return f"{self.file}: {self.title}"


def chunks() -> list[Chunk]:
    found = []
    for path in sorted(FOLDER.glob("*.latch")):
        before, *rest = re.split(r"^=== (.*)\n", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
        assert not before, f"{path.name} does not begin with ==="
        for title, body in zip(rest[::2], rest[1::2], strict=True):
            expected: list[Expected] = []
            lines = []
            for number, line in enumerate(body.split("\n"), start=1):
                text, *notes = re.split(r" *#! *", line)
                lines.append(text)
                for note in notes:
                    code, _, said = note.partition(": ")
                    expected.append((number, code, said))
            found.append(Chunk(path.stem, title, Source(f"{path.stem}.latch", "\n".join(lines)), tuple(expected)))
    return found
