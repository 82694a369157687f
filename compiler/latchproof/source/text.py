"""A text that rules were read from, and places in it."""

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property


@dataclass(frozen=True)
class Source:
    """One text: `name` is what messages call it (a path relative to where the user stands, or `-`)."""

    name: str
    text: str

    @cached_property
    def line_starts(self) -> tuple[int, ...]:
        return (0, *(i + 1 for i, c in enumerate(self.text) if c == "\n"))

    def place(self, offset: int) -> tuple[int, int]:
        """Line and column, both from 1, of a character offset."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def line(self, number: int) -> str:
        """The text of a line (from 1), without its line break."""
        start = self.line_starts[number - 1]
        end = self.text.find("\n", start)
        return self.text[start : len(self.text) if end < 0 else end].rstrip("\r")


@dataclass(frozen=True, slots=True)
class Span:
    """Characters `start` (included) to `end` (excluded) of the source called `source`."""

    source: str
    start: int
    end: int

    def to(self, other: "Span") -> "Span":
        """From the start of this span to the end of another in the same source."""
        return Span(self.source, self.start, max(self.end, other.end))


def by_name(*sources: Source | None) -> dict[str, Source]:
    """Those that are there, by what messages call them."""
    return {source.name: source for source in sources if source is not None}
