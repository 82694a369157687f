"""The bytes of a form to rows of cells, or what is wrong with them. Nothing in it is ever worked out."""

import csv
import io
from dataclasses import dataclass

from latchproof.readback.form_cells import plain

MOST_BYTES = 1_000_000
MOST_ROWS = 20_000
MOST_COLUMNS = 60
LONGEST_CELL = 2_000
SEPARATORS = (",", ";", "\t")
HEADS = ("entry", "field", "as listed", "as entered")
"""Columns that must be there, by what stands above them."""
_MARKS = ((b"\xef\xbb\xbf", "utf-8"), (b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))
_ALLOWED = frozenset("\t\r\n")


@dataclass(frozen=True, slots=True)
class Refused:
    """What cannot be read as a form: where, what is wrong, what to do about it. `line` 0: the file as a whole."""

    line: int
    message: str
    repair: str
    column: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    line: int
    cells: tuple[str, ...]


def text_of(data: bytes) -> str | Refused:
    """What the bytes say, by their mark; without one UTF-8, else the usual western code page."""
    if len(data) > MOST_BYTES:
        return Refused(0, f"the file has {len(data)} bytes, more than {MOST_BYTES}", "is it the right file?")
    if not data.strip():
        return Refused(0, "the file is empty", "save the form again, as CSV")
    text = _decoded(data)
    strange = next((i for i, c in enumerate(text) if (c < " " and c not in _ALLOWED) or c == "\ufffd"), None)
    if strange is not None:
        line = text.count("\n", 0, strange) + 1
        return Refused(line, "this is not text", "save the form as CSV or plain text, not as a workbook")
    return text


def _decoded(data: bytes) -> str:
    for mark, code in _MARKS:
        if data.startswith(mark):
            return data[len(mark) :].decode(code, "replace")
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace")


def rows_of(text: str) -> tuple[Row, ...] | Refused | None:
    """The rows of a table with the heads of the form; None when there are no such heads, so that it is no table."""
    refused: Refused | None = None
    for separator in SEPARATORS:
        found = _rows(text, separator)
        if isinstance(found, Refused):
            refused = refused or found
        elif any(is_head(row) for row in found):
            return found
    return refused if any(is_head(Row(0, tuple(line.split(s)))) for s in SEPARATORS for line in heads(text)) else None


def heads(text: str) -> list[str]:
    """Lines that may be the heads of the form, whatever stands between them."""
    lines = (line.replace('"', "") for line in text.splitlines()[:200])
    return [line for line in lines if all(h in line.casefold() for h in HEADS)]


def is_head(row: Row) -> bool:
    return set(HEADS) <= {plain(c).casefold() for c in row.cells}


def _rows(text: str, separator: str) -> tuple[Row, ...] | Refused:
    lines = io.StringIO(text, newline="")
    reader = csv.reader(lines, delimiter=separator)
    rows: list[Row] = []
    start = 1
    try:
        for cells in reader:
            if len(rows) >= MOST_ROWS:
                return Refused(start, f"more than {MOST_ROWS} rows", "is it the right file?")
            rows.append(Row(start, tuple(cells[: MOST_COLUMNS + 1])))
            if any(cells):
                if len(cells) > MOST_COLUMNS and any(cells[MOST_COLUMNS:]):
                    return Refused(start, f"more than {MOST_COLUMNS} columns", "is it the right file?")
                if (wide := next((c for c in cells if len(c) > LONGEST_CELL), None)) is not None:
                    said = "a cell is longer than any field: a quotation mark that is not closed?"
                    return Refused(start, f"{said} It begins {plain(wide[:40])}", "mend the cell")
            start = reader.line_num + 1
    except csv.Error as error:
        return Refused(start, f"this row cannot be read: {error}", "save the form again, as CSV")
    return tuple(rows)
