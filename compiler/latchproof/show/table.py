"""Text set in columns: wrapped at words, widths counted as a terminal counts them."""

import re
from collections.abc import Iterable, Iterator

from latchproof.rules.units import UNITS
from latchproof.show.visible import width

_UNIT = "|".join(re.escape(symbol) for symbol in sorted(UNITS, key=len, reverse=True) if symbol)
_BREAK = re.compile(rf"(?<![0-9])\s+|\s+(?!(?:{_UNIT})(?![\w/%]))")
"""Where a line may end: not between a number and its unit."""


def wrapped(text: str, wide: int) -> list[str]:
    """Lines of at most `wide` columns; a word that is longer than a line is cut."""
    lines: list[str] = []
    line = ""
    for word in _BREAK.split(text.strip()):
        for piece in _pieces(word, wide):
            joined = f"{line} {piece}" if line else piece
            if width(joined) <= wide:
                line = joined
            else:
                lines.append(line)
                line = piece
    return [*lines, line] if line or not lines else lines


def listed(items: Iterable[str], wide: int) -> list[str]:
    """Items one after the other, a comma between; an item that fits into a line is not broken."""
    lines: list[str] = []
    line = ""
    waiting = list(items)
    for n, item in enumerate(waiting):
        text = item if n == len(waiting) - 1 else f"{item},"
        joined = f"{line} {text}" if line else text
        if width(joined) <= wide:
            line = joined
            continue
        if line:
            lines.append(line)
        *full, line = wrapped(text, wide)
        lines += full
    return [*lines, line] if line else lines


def padded(text: str, wide: int) -> str:
    return text + " " * max(0, wide - width(text))


def beside(columns: Iterable[list[str]], widths: Iterable[int], gap: str = "  ") -> Iterator[str]:
    """Columns of lines set beside each other; no spaces at the ends of lines."""
    cells, wide = list(columns), list(widths)
    for n in range(max(map(len, cells), default=0)):
        row = (padded(c[n] if n < len(c) else "", w) for c, w in zip(cells, wide, strict=True))
        yield gap.join(row).rstrip()


def paragraph(text: str, wide: int, first: str = "", rest: str = "") -> list[str]:
    """A wrapped text with a lead on its first line and an indent on the others."""
    lines = wrapped(text, wide - max(width(first), width(rest)))
    return [(first if n == 0 else rest) + line for n, line in enumerate(lines)]


def _pieces(word: str, wide: int) -> Iterator[str]:
    while width(word) > wide:
        cut = 1
        while width(word[: cut + 1]) <= wide:
            cut += 1
        yield word[:cut]
        word = word[cut:]
    yield word
