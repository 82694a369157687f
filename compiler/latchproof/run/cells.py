"""A table in comma-, semicolon- or tab-separated text, cell by cell with its place (RFC 4180, one line a row)."""

from dataclasses import dataclass

from latchproof.diagnostics import Diagnostic, Label
from latchproof.source import Source, Span

SEPARATORS = (",", ";", "\t")

MOST_ROWS = 200_000
MOST_COLUMNS = 500


@dataclass(frozen=True, slots=True)
class Cell:
    """`text` without quotes and without the spaces around it."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Table:
    separator: str
    header: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]


def table(source: Source) -> tuple[Table | None, tuple[Diagnostic, ...]]:
    """Rows without any text are passed over. Every row has as many cells as the header."""
    lines = [(n, source.line(n + 1)) for n in range(len(source.line_starts))]
    lines = [(n, text) for n, text in lines if text.strip(" \t,;")]
    if not lines:
        what = Diagnostic(
            "table-empty",
            "there is nothing in this table",
            (Label(Span(source.name, 0, 0)),),
            ("its first line names the columns: time, guard, throttle, ...",),
        )
        return None, (what,)
    if len(lines) - 1 > MOST_ROWS:
        place = source.line_starts[lines[MOST_ROWS + 1][0]]
        title = f"this table has more than {MOST_ROWS:,} rows"
        return None, (Diagnostic("table-too-long", title, (Label(Span(source.name, place, place + 1)),)),)
    separator = _separator(lines[0][1])
    rows: list[tuple[Cell, ...]] = []
    for n, text in lines:
        row, fault = _row(source.name, text, source.line_starts[n], separator)
        if fault is not None:
            return None, (fault,)
        if rows and len(row) != len(rows[0]):
            row_fault = _uneven(source, rows[0], row, separator, n)
            if row_fault is not None:
                return None, (row_fault,)
            row = row[: len(rows[0])]
        rows.append(row)
    if len(rows[0]) > MOST_COLUMNS:
        title = f"this table has more than {MOST_COLUMNS} columns"
        return None, (Diagnostic("table-too-long", title, (Label(rows[0][MOST_COLUMNS].span),)),)
    return Table(separator, rows[0], tuple(rows[1:])), ()


def _separator(header: str) -> str:
    """What stands most often in the first line outside of quotes."""
    bare = "".join(header.split('"')[::2])
    return max(SEPARATORS, key=bare.count)


def _row(name: str, text: str, start: int, separator: str) -> tuple[tuple[Cell, ...], Diagnostic | None]:
    cells: list[Cell] = []
    at = 0
    while True:
        at += len(text[at:]) - len(text[at:].lstrip(" "))
        if text.startswith('"', at):
            value, end = _quoted(text, at)
            if end is None:
                span = Span(name, start + at, start + len(text))
                hint = "a quoted cell ends on its own line, with a second quotation mark"
                return (), Diagnostic("table-quote", "a quotation mark without its pair", (Label(span),), (hint,))
            after = text.find(separator, end)
            stop = len(text) if after < 0 else after
            if text[end:stop].strip():
                span = Span(name, start + end, start + stop)
                return (), Diagnostic("table-quote", "something stands behind a quoted cell", (Label(span),))
            cells.append(Cell(value.strip(), Span(name, start + at, start + end)))
        else:
            after = text.find(separator, at)
            stop = len(text) if after < 0 else after
            value = text[at:stop].rstrip()
            cells.append(Cell(value, Span(name, start + at, start + at + len(value))))
        if after < 0:
            return tuple(cells), None
        at = after + 1


def _quoted(text: str, at: int) -> tuple[str, int | None]:
    """The text of a quoted cell (two marks stand for one) and where it ends."""
    value, place = [], at + 1
    while True:
        end = text.find('"', place)
        if end < 0:
            return "", None
        value.append(text[place:end])
        if text.startswith('""', end):
            value.append('"')
            place = end + 2
        else:
            return "".join(value), end + 1


def _uneven(
    source: Source, header: tuple[Cell, ...], row: tuple[Cell, ...], separator: str, line: int
) -> Diagnostic | None:
    extra = row[len(header) :]
    if extra and not any(cell.text for cell in extra):
        return None
    start = source.line_starts[line]
    place = extra[0].span if extra else Span(source.name, start, start + len(source.line(line + 1)))
    hints = (f"a number with a decimal comma? write 0.5, not 0{separator}5",) if extra and separator == "," else ()
    return Diagnostic(
        "table-row", f"this row has {len(row)} cells, the first line has {len(header)}", (Label(place),), hints
    )
