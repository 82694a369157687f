"""Where in the text each key of a TOML file stands, since the reader of the standard library does not tell.

Only for texts that were read without an error: then quotes pair and brackets close, and it is enough to walk along.
Keys inside of `{...}` have no place of their own; they get that of the whole.
"""

import re
from dataclasses import dataclass

Path = tuple[str | int, ...]

_KEY = re.compile(r"""[ \t]*(?:"((?:[^"\\\n]|\\.)*)"|'([^'\n]*)'|([A-Za-z0-9_-]+))[ \t]*""")
_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_PIECE = re.compile(
    r"""
    \"""(?:[^\\]|\\.)*?"{3,5} | '''.*?'{3,5}  # texts over several lines
    | "(?:[^"\\\n]|\\.)*" | '[^'\n]*'
    | \#[^\n]*
    | [\[\]{}\n]
    | [^"'\#\[\]{}\n]+
    """,
    re.DOTALL | re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Place:
    """Offsets of a key and of what stands behind it; of a table: its heading twice."""

    key: tuple[int, int]
    value: tuple[int, int]


def places(text: str) -> dict[Path, Place]:
    """By path; the tables of a list are counted from 0."""
    found: dict[Path, Place] = {}
    counts: dict[tuple[str, ...], int] = {}
    table: Path = ()
    at = _after(_BLANK, text, 0)
    while at < len(text):
        if text[at] == "[":
            many = text.startswith("[[", at)
            names, end = _key(text, at + (2 if many else 1))
            end += 2 if many else 1
            if many:
                counts[names] = counts.get(names, -1) + 1
            table = _counted(names, counts)
            found.setdefault(table, Place((at, end), (at, end)))
        else:
            names, equals = _key(text, at)
            start = _after(re.compile(r"[ \t]*"), text, equals + 1)
            end = _value_end(text, start)
            found.setdefault((*table, *names), Place((at, at + len(text[at:equals].rstrip())), (start, end)))
        at = _after(_BLANK, text, max(end, at + 1))
    return found


def _after(pattern: re.Pattern[str], text: str, at: int) -> int:
    match = pattern.match(text, at)
    return at if match is None else match.end()


def _key(text: str, at: int) -> tuple[tuple[str, ...], int]:
    """The names of a dotted key and the offset behind it."""
    names = []
    while (match := _KEY.match(text, at)) is not None:
        quoted, plain, bare = match.groups()
        names.append(next(n for n in (bare, plain, quoted) if n is not None))
        at = match.end()
        if not text.startswith(".", at):
            break
        at += 1
    return tuple(names), at


def _counted(names: tuple[str, ...], counts: dict[tuple[str, ...], int]) -> Path:
    """With the number of the table last begun behind every name that is a list of tables."""
    path: list[str | int] = []
    for i, name in enumerate(names):
        path.append(name)
        number = counts.get(names[: i + 1])
        if number is not None:
            path.append(number)
    return tuple(path)


def _value_end(text: str, at: int) -> int:
    """Where a value ends: at the end of its line, or behind the bracket that closes it."""
    depth, end = 0, at
    while at < len(text):
        match = _PIECE.match(text, at)
        if match is None:
            return len(text)
        piece = match.group()
        if piece in "[{":
            depth += 1
        elif piece in "]}":
            depth -= 1
        elif depth == 0 and (piece == "\n" or piece[0] == "#"):
            break
        at = match.end()
        if piece.strip():
            end = match.start() + len(piece.rstrip())
    return end
