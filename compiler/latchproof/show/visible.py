"""Text as it may be put on a terminal: nothing in it can move the cursor, change colours or turn the reading direction.

Rule files, file names and quoted texts come from strangers, so everything shown goes through `visible`.
"""

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass

TAB = 4

_HIDDEN = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp", "Cn", "Co"})
"""Controls; format marks such as the bidirectional ones and zero-width letters; lone halves; separators; unassigned."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One character as shown, and how many columns it takes."""

    text: str
    width: int


def visible(text: str) -> str:
    """`text` on one line, whatever would act on the terminal written as its number."""
    return "".join(_shown(c) for c in text)


def cells(line: str) -> tuple[Cell, ...]:
    """The characters of one line of source, one cell for each; a tab fills up to the next multiple of four columns."""
    return tuple(_cells(line))


def width(text: str) -> int:
    """How many columns a text without tabs takes."""
    return sum(_width(c) for c in text)


def _cells(line: str) -> Iterator[Cell]:
    column = 0
    for c in line:
        if c == "\t":
            cell = Cell(" " * (TAB - column % TAB), TAB - column % TAB)
        else:
            shown = _shown(c)
            cell = Cell(shown, width(shown))
        column += cell.width
        yield cell


def _shown(c: str) -> str:
    if c.isprintable() or unicodedata.category(c) not in _HIDDEN:
        return c
    code = ord(c)
    if 0xDC80 <= code <= 0xDCFF:  # a byte that is no text, kept by `source.read`
        return f"\\x{code - 0xDC00:02x}"
    if code < 0x100:
        return f"\\x{code:02x}"
    return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"


def _width(c: str) -> int:
    if c < "\x7f":
        return 1
    if unicodedata.category(c) in ("Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(c) in ("W", "F") else 1
