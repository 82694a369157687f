"""Statements and clauses as rows of the page: what stands in which column, and what is a block with rows of its own."""

from dataclasses import dataclass, replace
from typing import assert_never

from latchproof.syntax import phrases, tree
from latchproof.syntax.columns import WIDTH
from latchproof.syntax.phrases import expression, mark

_START = mark(0)

HEADER = "header"
"""The family of the first row of a file."""

_EASY = 90
"""A rule is written on one line only if it is no longer than this."""


@dataclass(frozen=True, slots=True)
class Line:
    """A row without rows below it, at characters `start` to `end` of the source.

    Neighbours of one `family` line up. `hangs`: all but the first cell go on a line of their own, always or, if False,
    only when the row is too long; None: the row is broken at its marks.
    """

    start: int
    end: int
    family: str
    cells: tuple[str, ...]
    gaps: tuple[int, ...] = ()
    hangs: bool | None = None


@dataclass(frozen=True, slots=True)
class Block:
    """Braces. `opened`: no brace of its own stands before this character.

    `short`: the row to write instead if it is at most `room` long; `alike`: only if its neighbours can be short too.
    """

    start: int
    end: int
    opened: int
    head: str
    rows: tuple["Row", ...]
    short: Line | None = None
    room: int = WIDTH
    alike: bool = False


Row = Line | Block


def header(h: tree.Header) -> Line:
    version = (f"version {phrases.text(h.version)}",) if h.version else ()
    return _line(h, HEADER, (f"rules {phrases.text(h.title)}", *version), (1,))


def statement(s: tree.Statement) -> Row:
    match s:
        case tree.Include(path=path):
            return _line(s, "", (f"include {phrases.text(path)}",))
        case tree.Part():
            return _part(s)
        case tree.Use():
            bound = f",{mark(phrases.FORM)}".join(f"{b.name.text} = {expression(b.value)}" for b in s.bindings)
            return _line(s, "", (f"use {s.part.text} as {s.name.text}{_START}with {bound}",))
        case tree.Cycle():
            return _line(s, "", (f"cycle {phrases.span_of(s.range)}", *_basis(s.basis)))
        case tree.Device():
            rows = tuple(_fact_clause(c) for c in s.clauses)
            return replace(_block(s, s, "device", rows), opened=s.span.start)
        case tree.Fact():
            to = f" to {expression(s.to)}" if s.to is not None else ""
            cells = ("fact", s.name.text, f"= {expression(s.value)}{to}", *_basis(s.basis))
            return _line(s, "number", cells, (1, 1))
        case tree.Tune():
            steps = (f"in steps of {expression(s.steps)}",) if s.steps is not None else ()
            cells = ("tune", s.name.text, f"= {expression(s.value)}", phrases.span_of(s.range), *steps)
            return _line(s, "number", cells, (1, 1))
        case tree.Require(condition=condition):
            return _line(s, "", (f"require {expression(condition)}",))
        case tree.Value():
            return _line(s, "number", ("value", s.name.text, f"= {expression(s.value)}"), (1, 1))
        case tree.Signal():
            return _line(s, "signal", ("signal", s.name.text, f"= {expression(s.value)}"), (1, 1))
        case tree.Sample():
            first = f"= {expression(s.value)}"
            cells = ("sample", s.name.text, first, f"when {expression(s.when)}", f"first {expression(s.first)}")
            return _line(s, "sample", cells, (1, 1))
        case tree.Switch():
            return _line(s, "input", ("switch", s.name.text, f"positions {phrases.names(s.positions)}"), (1,))
        case tree.Button():
            return _line(s, "input", ("button", s.name.text), (1,))
        case tree.Control():
            return _line(s, "input", (s.kind, s.name.text, phrases.span_of(s.range)), (1,))
        case tree.Sensor():
            head = f"sensor {s.name.text}"
            return _block(s, s.name, head, tuple(_fact_clause(c) for c in s.clauses))
        case tree.Channel():
            return _channel(s)
        case tree.Latch():
            return _block(s, s.name, f"latch {s.name.text}", tuple(_latch_clause(c) for c in s.clauses))
        case tree.Counter():
            rows = tuple(_line(c, "", (phrases.clause(c),)) for c in s.clauses)
            return _block(s, s.name, f"counter {s.name.text}", rows)
        case tree.Rule():
            head = f"rule {s.name.text} while {expression(s.condition)}"
            rows = tuple(_line(a, "action", phrases.action(a)) for a in s.actions)
            return _block(s, s.condition, head, rows, "rule" if len(s.actions) == 1 else "")
        case tree.Sequence():
            head = f"sequence {s.name.text} while {expression(s.condition)}"
            return _block(s, s.condition, head, tuple(_phase(p) for p in s.phases))
        case tree.Priority():
            return _line(s, "", (f"priority {' over '.join(n.text for n in s.names)}",))
        case tree.Role():
            return _line(s, "role", ("role", s.role.text, f"is {expression(s.signal)}"), (1, 1))
        case tree.Claim():
            arriving = f"provided {phrases.names(s.arriving)} keeps arriving"
            return _claim(s, "claim", (arriving,) if s.arriving else ())
        case tree.Assume():
            return _claim(s, "assume", _basis(s.basis))
        case tree.Accept():
            where = f" in {s.rule.text}" if s.rule else ""
            return _line(s, "", (f"accept {s.hazard.text}{where}{_START}because {phrases.text(s.reason)}",))
        case tree.Stage():
            tunes = tuple(_line(t, "", (f"tune {t.name.text} = {expression(t.value)}",)) for t in s.tunes)
            return _stage(s, tunes)
        case _:
            assert_never(s)


def _line(node: tree.Node, family: str, cells: tuple[str, ...], gaps: tuple[int, ...] = ()) -> Line:
    return Line(node.span.start, node.span.end, family, cells, gaps)


def _basis(b: tree.Basis | None) -> tuple[str, ...]:
    return (phrases.basis(b),) if b else ()


def _block(
    node: tree.Node, last: tree.Node, head: str, rows: tuple[Row, ...], short: str = "", alike: bool = False
) -> Block:
    """`last` is the last node before the brace; `short`: the family of the row, if it may be written on one."""
    start, end = node.span.start, node.span.end
    line = None
    if not rows:
        line = Line(start, end, short, (head, "{ }"), (1,))
    elif short:
        cells = [cell for row in rows if isinstance(row, Line) for cell in row.cells]
        cells[0] = "{ " + cells[0]
        cells[-1] += " }"
        line = Line(start, end, short, (head, *cells), (1,))
    room = _EASY if short == "rule" else WIDTH
    return Block(start, end, last.span.end, head, rows, line, room, alike)


def _part(s: tree.Part) -> Block:
    takes = f",{mark(phrases.FORM)}".join(f"{p.kind} {p.name.text}" for p in s.takes)
    gives = f"{_START}gives {phrases.names(s.gives)}" if s.gives else ""
    last = s.gives[-1] if s.gives else s.takes[-1]
    return _block(s, last, f"part {s.name.text}{_START}takes {takes}{gives}", tuple(statement(x) for x in s.body))


def _channel(s: tree.Channel) -> Block:
    number = f" {phrases.quantity(s.number)}" if s.number else ""
    rows = tuple(_fact_clause(c) for c in s.clauses)
    # `rests at 0` and then `m is positive` (a direction called m) would be read as 0 m on one line
    unclear = any(row.cells[0][-1].isdigit() and _is_direction(c) for row, c in zip(rows, s.clauses[1:], strict=False))
    short = "" if unclear or any(c.basis for c in s.clauses) else "channel"
    head = f"channel {s.name.text}{number}"
    return _block(s, s.number or s.name, head, rows, short)


def _is_direction(c: tree.Clause | tree.FollowsTable) -> bool:
    return isinstance(c, tree.Clause) and c.kind == "direction"


def _fact_clause(c: tree.Clause | tree.FollowsTable) -> Line:
    said = phrases.table(c) if isinstance(c, tree.FollowsTable) else phrases.clause(c)
    return _line(c, "fact", (said, *_basis(c.basis)))


def _latch_clause(c: tree.Clause | tree.Timeout) -> Line:
    if isinstance(c, tree.Timeout):
        return _line(c, "", phrases.timeout(c))
    return _line(c, "set", (phrases.clause_words(c), *(expression(e) for e in c.expressions)), (1,))


def _phase(p: tree.Phase) -> Block:
    head, last = f"phase {p.name.text}", p.until or p.lasts or p.name
    if p.lasts is not None:
        head += f" for {expression(p.lasts)}"
    if p.until is not None:
        head += f" until {expression(p.until)}"
    rows = tuple(_line(a, "action", phrases.action(a)) for a in p.actions)
    return _block(p, last, head, rows, "phase" if len(rows) <= 3 else "", alike=True)


def _claim(s: tree.Claim | tree.Assume, word: str, behind: tuple[str, ...]) -> Line:
    sentence = f" {phrases.text(s.sentence)}" if s.sentence else ""
    scope = (phrases.scope(s.scope),) if s.scope else ()
    strict = f" {s.strictness.text}" if isinstance(s, tree.Claim) and s.strictness else ""
    cells = (f"{word} {s.name.text}{strict}{sentence}:", phrases.form(s.form), *scope, *behind)
    return Line(s.span.start, s.span.end, "claim", cells, (1,), hangs=bool(sentence))


def _stage(s: tree.Stage, tunes: tuple[Line, ...]) -> Block:
    at = s.warned or s.name.span
    warn = (Line(at.start, at.end, "", ("warn only",)),) if s.warn_only else ()
    rows = tuple(sorted((*warn, *tunes), key=lambda row: row.start))
    return _block(s, s.name, f"stage {s.name.text}", rows, "stage")
