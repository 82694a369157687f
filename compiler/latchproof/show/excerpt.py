"""One line of source with what is said about parts of it, at most as wide as the terminal."""

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from latchproof.show.style import Role, Style
from latchproof.show.visible import Cell, cells, width

CUT = "..."
CONTEXT = 16
"""Columns kept before the marked place when a long line is cut."""

LEAST_ROOM = 40
"""A line of source gets at least so many columns, however narrow the terminal."""


@dataclass(frozen=True, slots=True)
class Mark:
    """Characters `start` to `end` of the line; `main` is what the message is about."""

    start: int
    end: int
    text: str
    main: bool


@dataclass(frozen=True, slots=True)
class _Window:
    """The characters `first` to `last` of a line are shown."""

    first: int
    last: int
    cells: tuple[Cell, ...]

    @property
    def lead(self) -> str:
        return CUT if self.first else ""

    @property
    def text(self) -> str:
        tail = CUT if self.last < len(self.cells) else ""
        return self.lead + "".join(c.text for c in self.cells[self.first : self.last]) + tail

    def holds(self, mark: Mark) -> bool:
        return self.first <= mark.start < max(self.last, self.first + 1) or (
            mark.start == self.last == len(self.cells)
        )

    def columns(self, mark: Mark) -> tuple[int, int]:
        """Column at which the mark starts, and how wide it is, at least 1."""
        start = len(self.lead) + sum(c.width for c in self.cells[self.first : mark.start])
        return start, max(1, sum(c.width for c in self.cells[mark.start : min(mark.end, self.last)]))


def excerpt(number: int, line: str, marks: Sequence[Mark], gutter: int, style: Style) -> Iterator[str]:
    """The line with its marks; a mark beyond the cut of a long line is shown with a cut of its own."""
    shown = cells(line)
    room = max(style.width - gutter - 3, LEAST_ROOM)
    left = list(marks)
    while left:
        window = _window(shown, left[0], room)
        yield style.paint(f"{number:>{gutter}} |", "place") + f" {window.text}".rstrip()
        for mark in [m for m in left if window.holds(m)]:
            for text in _below(mark, window, room, style):
                yield style.paint(f"{'':>{gutter}} |", "place") + f" {text}".rstrip()
        left = [m for m in left[1:] if not window.holds(m)]


def _window(shown: tuple[Cell, ...], mark: Mark, room: int) -> _Window:
    """All of the line if there is room, else the mark with some of what stands before it and what fits behind."""
    if sum(c.width for c in shown) <= room:
        return _Window(0, len(shown), shown)
    room -= 2 * len(CUT)
    first, used = mark.start, 0
    while first > 0 and used + shown[first - 1].width <= CONTEXT:
        first -= 1
        used += shown[first].width
    if first <= len(CUT):
        first, used = 0, sum(c.width for c in shown[: mark.start])
    last = mark.start
    while last < len(shown) and used + shown[last].width <= room:
        used += shown[last].width
        last += 1
    beside = width(mark.text) + 1
    room -= beside if 2 * beside < room else 0
    while first > 0 and used + shown[first - 1].width <= room:  # a mark near the end leaves room before it
        first -= 1
        used += shown[first].width
    return _Window(first, last, shown)


def _below(mark: Mark, window: _Window, room: int, style: Style) -> Iterator[str]:
    """Carets (or dashes) and the text: beside them if it fits, else below, ending where they end."""
    column, wide = window.columns(mark)
    role: Role = "primary" if mark.main else "secondary"
    carets = ("^" if mark.main else "-") * wide
    beside = room - column - wide - 1
    if width(mark.text) <= beside:
        yield " " * column + style.paint(f"{carets} {mark.text}".rstrip(), role)
        return
    yield " " * column + style.paint(carets, role)
    indent = " " * max(0, column + wide - width(mark.text))
    for line in textwrap.wrap(mark.text, room - len(indent), break_on_hyphens=False):
        yield indent + style.paint(line, role)
