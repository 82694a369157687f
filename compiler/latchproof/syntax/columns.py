"""Rows of text under each other: columns that line up, and long lines broken at their marks."""

from collections.abc import Sequence

from latchproof.syntax.phrases import MARKS

WIDTH = 110
"""No line is longer if it can be helped."""

_RAGGED = 24
"""Columns whose cells differ by more than this are not lined up: the gaps would be holes."""

_FURTHER = 4


def flat(text: str) -> str:
    """Without its marks."""
    return "".join(" " if c in MARKS else c for c in text)


def broken(text: str, indent: int, room: int = 0) -> list[str]:
    """Lines of a text that begins at `indent`, broken at its marks if it is too long. `room` is needed behind it."""
    levels = [MARKS[c] for c in text if c in MARKS]
    if not levels or indent + len(flat(text)) + room <= WIDTH:
        return [" " * indent + flat(text)]
    split = min(levels)
    parts: list[str] = [""]
    for c in text:
        if MARKS.get(c) == split:
            parts.append("")
        else:
            parts[-1] += c
    lines: list[str] = []
    for number, part in enumerate(parts):
        further = indent + _FURTHER if number else indent
        lines += broken(part, further, room if number == len(parts) - 1 else 0)
    return lines


def joined(cells: Sequence[str], gaps: Sequence[int]) -> str:
    """One row that stands alone; `gaps[i]` spaces behind cell i, two behind those without an entry."""
    text = cells[0]
    for i, cell in enumerate(cells[1:]):
        text += " " * (gaps[i] if i < len(gaps) else 2) + cell
    return text


def lined_up(rows: Sequence[Sequence[str]], gaps: Sequence[int], indent: int) -> list[str]:
    """Rows whose cells begin in the same columns, as many columns from the left as there is room for."""
    widest = max(len(row) for row in rows) - 1
    for columns in range(widest, 0, -1):
        lines = [joined(row, gaps) for row in _padded(rows, columns)]
        if all(indent + len(line) <= WIDTH for line in lines):
            return lines
    return [joined(row, gaps) for row in rows]


def _padded(rows: Sequence[Sequence[str]], columns: int) -> list[list[str]]:
    """The last cell of a row is never padded, and none behind a column that does not line up."""
    widths: list[int] = []
    for column in range(columns):
        sizes = [len(row[column]) for row in rows if len(row) > column + 1]
        if not sizes or max(sizes) - min(sizes) > _RAGGED:
            break
        widths.append(max(sizes))
    return [
        [cell.ljust(widths[i]) if i < min(len(widths), len(row) - 1) else cell for i, cell in enumerate(row)]
        for row in rows
    ]
