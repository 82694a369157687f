"""Cells of the form: written so that no spreadsheet takes one for a formula, and read back whatever a spreadsheet or a
hand made of them."""

import re

ACTING = "=+-@＝＋－＠"
"""A cell that begins with one of these may be worked out instead of shown; so may one that begins with a tab or a line
break. (Common practice in exporting tables; no source.)"""

_START = r"""(^|[;,|\t\r\n])([\s"]*)"""
"""Where a cell begins, or would begin for a program that takes another separator."""
_UNGUARDED = re.compile(rf"{_START}(?=['{re.escape(ACTING)}])")
_GUARDED = re.compile(rf"{_START}'(?=['{re.escape(ACTING)}])")

AS_LISTED = frozenset(("ok", "okay", "same", "the same", "as listed", "x", "\N{CHECK MARK}", "\N{HEAVY CHECK MARK}",
                       "\N{BALLOT BOX WITH CHECK}", "[x]"))  # fmt: skip
"""What a pilot writes instead of the same thing again."""
TICKED = AS_LISTED | {"yes", "y", "true", "1", "done"}
UNTICKED = frozenset(("", "[ ]", "[]", "\N{BALLOT BOX}", "false", "0", "no"))
ABSENT = frozenset(("missing", "not there", "not in it", "empty", "left out", "absent"))
"""What a pilot writes where the transmitter has no such field or entry."""

_SPACES = re.compile(r"[\s\u00a0\u1680\u2000-\u200a\u202f\u205f\u3000]+")
_UNSEEN = re.compile(r"[\u200b-\u200f\u2028-\u202e\u2060-\u2064\ufeff\u00ad]")
_LIKE = str.maketrans(
    dict.fromkeys("\u2010\u2011\u2012\u2013\u2212\ufe63\uff0d", "-")
    | dict.fromkeys("\u201c\u201d\u201e\u201f\u00ab\u00bb\uff02", '"')
    | {"\uff0b": "+", "\uff1d": "=", "\uff20": "@", "\uff0c": ",", "\uff05": "%", "\u066a": "%", "\u2019": "'"}
)


def guarded(text: str) -> str:
    """With a `'` before whatever could be taken for a formula; `bare` takes it away again."""
    return _UNGUARDED.sub(r"\1\2'", text)


def bare(cell: str) -> str:
    return _GUARDED.sub(r"\1\2", cell)


def plain(cell: str) -> str:
    """One kind of space, minus and quotation mark; nothing unseen; one space where several stand."""
    return _SPACES.sub(" ", _UNSEEN.sub("", cell).translate(_LIKE)).strip()


def formula(text: str) -> bool:
    """Whether a plain cell is one that a spreadsheet would work out. A number with its sign is none."""
    return text[:1] in ("=", "@") or bool(re.match(r"[-+](?! ?[.\d])|[-+][^;]*[!|(]", text))
