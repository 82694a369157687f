"""Rule files in chunks: the source, and on each line the errors that are expected there.

A file begins with lines that all its chunks share. A chunk begins with `=== what it is about`. Behind `#!` stands
`code` or `code: part of the title`.
"""

import re
from dataclasses import dataclass
from pathlib import Path

CHUNKS = Path(__file__).parent / "chunks"
_EXPECTED = re.compile(r"#! *([a-z-]+)(?:: *([^#]*[^# ]))?")


@dataclass(frozen=True)
class Chunk:
    file: str
    title: str
    shared: str
    own: str

    @property
    def text(self) -> str:
        return self.shared + self.own

    @property
    def expected(self) -> list[tuple[int, str, str]]:
        """Line, code and part of the title."""
        return [
            (number, code, title)
            for number, line in enumerate(self.text.split("\n"), start=1)
            for code, title in _EXPECTED.findall(line)
        ]

    @property
    def without_expectations(self) -> "Chunk":
        """As a pilot would have written it."""
        return Chunk(self.file, self.title, self.shared, re.sub(r" *#!.*", "", self.own))

    @property
    def name(self) -> str:
        return f"{self.file}: {self.title}"


def chunks() -> list[Chunk]:
    found = []
    for path in sorted(CHUNKS.glob("*.latch")):
        shared, *rest = re.split(r"^=== (.*)\n", path.read_text(encoding="utf-8"), flags=re.MULTILINE)
        found += [Chunk(path.stem, title, shared, own) for title, own in zip(rest[::2], rest[1::2], strict=True)]
    return found
