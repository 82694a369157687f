"""What stands in a filled-in form, row by row: a table, or the listing as text, changed in place."""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from latchproof.listing.model import Entry, Field, Listing
from latchproof.readback.form_cells import TICKED, UNTICKED, bare, plain
from latchproof.readback.form_table import HEADS, MOST_ROWS, Refused, Row, is_head, rows_of

SHEET = "setup listing"
"""What the first cell of a form says."""
END = "end of the form"
FINGERPRINT = "fingerprint"
COLUMNS = ("entry", "purpose", "field", "as listed", "other unit", "as entered", "tick")


@dataclass(frozen=True, slots=True)
class Given:
    """One row. `entered`: what stands under "as entered"; `listed`: what stands where the listing had its value."""

    line: int
    entry: int
    label: str
    listed: str
    entered: str = ""
    tick: bool = False
    purpose: str = ""


@dataclass(frozen=True, slots=True)
class Filled:
    """`table`: a table, in which added rows have nothing under "as listed". `whole`: its end is there."""

    rows: tuple[Given, ...]
    fingerprint: str
    table: bool
    whole: bool
    transmitter: str = ""


def filled(text: str, listing: Listing) -> Filled | tuple[Refused, ...]:
    rows = rows_of(text)
    if isinstance(rows, Refused):
        return (rows,)
    if rows is not None:
        return _table(rows)
    return _text(text, listing)


# ---------- a table


def _table(rows: tuple[Row, ...]) -> Filled | tuple[Refused, ...]:
    head = next(i for i, row in enumerate(rows) if is_head(row))
    above = {plain(r.cells[0]).casefold(): plain(bare(r.cells[1])) for r in rows[:head] if len(r.cells) > 1}
    names = [plain(c).casefold() for c in rows[head].cells]
    if (twice := next((h for h in COLUMNS if names.count(h) > 1), None)) is not None:
        return (Refused(rows[head].line, f"two columns are called `{twice}`", "delete the one that is not yours"),)
    at = {name: names.index(name) for name in COLUMNS if name in names}
    found: list[Given] = []
    wrong: list[Refused] = []
    whole = False
    for row in rows[head + 1 :]:
        cells = {name: plain(bare(plain(row.cells[i]))) for name, i in at.items() if i < len(row.cells)}
        if not any(cells.values()):
            continue
        if any(plain(c).casefold().startswith(END) for c in row.cells[:2]):
            whole = True
            continue
        made = _given(row.line, cells)
        if isinstance(made, Refused):
            wrong.append(made)
        else:
            found.append(made)
    if wrong:
        return tuple(wrong)
    return Filled(tuple(found), above.get(FINGERPRINT, ""), True, whole, above.get("transmitter", ""))


def _given(line: int, cells: dict[str, str]) -> Given | Refused:
    number = re.fullmatch(r"(?:entry )?(\d{1,6})(?:[.,]0*)?", cells.get("entry", ""), re.IGNORECASE)
    if number is None:
        said = cells.get("entry", "")
        return Refused(
            line, f"`{said[:30]}` is no number of an entry" if said else "the row has no number of an entry",
            "each row begins with the number of its entry", HEADS[0],
        )  # fmt: skip
    if not cells.get("field"):
        return Refused(line, "the row does not say which field it is", "put the name of the field back", HEADS[1])
    tick = cells.get("tick", "").casefold()
    if tick not in TICKED | UNTICKED:
        return Refused(
            line,
            f"`{tick[:30]}` is no tick",
            "write x, or leave it empty; what differs goes under `as entered`",
            "tick",
        )
    listed, entered = cells.get("as listed", ""), cells.get("as entered", "")
    return Given(line, int(number[1]), cells["field"], listed, entered, tick in TICKED, cells.get("purpose", ""))


# ---------- the listing as text

_ENTRY = re.compile(r" {0,4}(?P<number>\d{1,6}) \[(?P<tick>[^\]]{0,3})\] (?P<purpose>.*)")
_WORDS = re.compile(r"fingerprint[^:\n]{0,40}:\s*(\w+)\s+(\w+)", re.IGNORECASE)
_AFTER = "ROWS THAT MUST BE EMPTY"
NOT_TYPED = ("at switch-on", "read by")
LABEL = 19
INDENT = 8


def _text(text: str, listing: Listing) -> Filled | tuple[Refused, ...]:
    lines = text.splitlines()
    if len(lines) > MOST_ROWS:
        return (Refused(0, f"more than {MOST_ROWS} lines", "is it the right file?"),)
    if not any(_ENTRY.fullmatch(line) for line in lines):
        return (
            Refused(0, "this is no form: it has neither the heads of the table nor entries with a box to tick",
                    "make one with `latchproof listing FILE --format csv`"),
        )  # fmt: skip
    known = {x.number: x for x in listing.entries}
    words = _WORDS.search(text)
    found = [g for block in _blocks(lines) for g in _fields(block, known)]
    end = any(line.startswith(_AFTER) for line in lines)
    return Filled(tuple(found), " ".join(words.groups()).lower() if words else "", False, end)


@dataclass
class _Block:
    line: int
    number: int
    tick: bool
    lines: list[str]


def _blocks(lines: list[str]) -> Iterator[_Block]:
    """The entries, each with the lines of its fields."""
    block: _Block | None = None
    for n, raw in enumerate(lines, 1):
        line = raw.expandtabs().replace("\xa0", " ").rstrip()
        if (x := _ENTRY.fullmatch(line)) is not None:
            if block is not None:
                yield block
            block = _Block(n, int(x["number"]), plain(x["tick"]).casefold() in TICKED, [])
        elif block is not None and line[:INDENT].strip():
            yield block
            block = None
        elif block is not None:
            block.lines.append(line)
    if block is not None:
        yield block


def _fields(block: _Block, known: dict[int, Entry]) -> Iterator[Given]:
    entry = known.get(block.number)
    count: dict[str, int] = {}
    found: list[tuple[int, str, list[str]]] = []
    for n, line in enumerate(block.lines, block.line + 1):
        label, rest = line[INDENT : INDENT + LABEL].strip(), line[INDENT + LABEL :].strip()
        if not found and label != "kind":
            continue  # the purpose goes on
        if line[INDENT : INDENT + 1].strip():
            if len(line) > INDENT + LABEL and line[INDENT + LABEL - 1] != " ":
                label, rest = line.strip(), ""
            found.append((n, label, [rest]))
        elif found and rest:
            found[-1][2].append(rest)
    for n, label, parts in found:
        if label in NOT_TYPED:
            continue
        said = plain(" ".join(p for p in parts if p))
        nth = count[label] = count.get(label, 0) + 1
        field = None if entry is None else _nth(entry, label, nth)
        yield Given(n, block.number, label, said if field is None else _value(said, field), "", block.tick)


def _nth(entry: Entry, label: str, nth: int) -> Field | None:
    shown = (Field("kind", entry.kind), *entry.fields)
    several = [f for f in shown if f.label == label]
    return several[nth - 1] if nth <= len(several) else None


def _value(said: str, f: Field) -> str:
    """The value alone, without the other unit and the words behind it."""
    other, words = f" ({f.other})" if f.other else "", f"; {f.words}" if f.words else ""
    if said == plain(f"{f.value}{other}{words}"):
        return f.value
    if words:
        said = said.removesuffix(plain(words)) if said.endswith(plain(words)) else said.partition("; ")[0]
    if other:
        said = said.removesuffix(other) if said.endswith(other) else re.sub(r" \(-?[\d.]+ [^()]*\)$", "", said)
    return said
