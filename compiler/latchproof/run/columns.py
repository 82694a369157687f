"""The columns of an input table: which input of the machine each stands for, and how its cells are read."""

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from typing import Literal

from latchproof.diagnostics import Diagnostic, Label
from latchproof.rules.model import RuleSet
from latchproof.rules.units import TIME, UNITS, Unit
from latchproof.rules.words import in_unit, shown
from latchproof.run.cells import Cell, Table

Kind = Literal["time", "switch", "button", "control", "sensor", "truth"]

_HEAD = re.compile(r"(?P<name>[^\[\](){}]*?)\s*(?:\[(?P<square>[^\]]*)\]|\((?P<round>[^)]*)\))?")
_NUMBER = re.compile(r"(?P<number>[+\-−]?[0-9]+(?:\.[0-9]+)?)\s*(?P<unit>[^0-9.,].*)?")
_COMMA = re.compile(r"[+\-−]?[0-9]+,[0-9]+.*")

DIGITS_MOST = 30

YES = frozenset({"pressed", "1", "yes", "true", "on"})
NO = frozenset({"released", "0", "no", "false", "off"})


@dataclass(frozen=True, slots=True)
class Column:
    """`unit` is the one its bare numbers are in; `low` and `high` bound them in base units."""

    kind: Kind
    name: str
    unit: Unit
    low: Fraction | None = None
    high: Fraction | None = None
    positions: tuple[str, ...] = ()


def columns(table: Table, rules: RuleSet) -> tuple[tuple[Column, ...], tuple[Diagnostic, ...]]:
    """One column for each cell of the header, if nothing is wrong with any."""
    known = known_columns(rules)
    found: list[Column] = []
    faults: list[Diagnostic] = []
    seen: dict[str, Cell] = {}
    for cell in table.header:
        match = _HEAD.fullmatch(cell.text)
        name = (match["name"] if match else cell.text).strip()
        column = known.get(name) or known.get(name.lower() if name.lower() == "time" else name)
        if column is None:
            faults.append(_unknown(cell, name, known))
            continue
        if name in seen:
            labels = (Label(cell.span, "again"), Label(seen[name].span, "first here"))
            faults.append(Diagnostic("table-header", f"there are two columns called {name}", labels))
            continue
        seen[name] = cell
        symbol = (match["square"] or match["round"] or "").strip() if match else ""
        fault = _unit_fault(cell, symbol, column) if symbol else None
        if fault is not None:
            faults.append(fault)
        unit = UNITS[symbol] if symbol and fault is None else column.unit
        found.append(Column(column.kind, column.name, unit, column.low, column.high, column.positions))
    if not faults and not any(c.kind == "time" for c in found):
        hint = "give every row its time: time, or time [ms]"
        faults.append(
            Diagnostic("table-header", "there is no column for the time", (Label(table.header[0].span),), (hint,))
        )
    return tuple(found), tuple(faults)


def known_columns(rules: RuleSet) -> dict[str, Column]:
    """All columns a table for these rules may have."""
    found = [Column("time", "time", UNITS["s"])]
    found += [Column("switch", s.name, UNITS[""], positions=s.positions) for s in rules.switches]
    found += [Column("button", b.name, UNITS[""]) for b in rules.buttons]
    found += [Column("control", c.name, c.unit, c.low, c.high) for c in rules.controls]
    known = {c.name: c for c in found}
    for s in rules.sensors:
        known[s.name] = Column("sensor", s.name, s.unit, s.low, s.high)
        if s.change is not None:
            known[f"{s.name}.truth"] = Column("truth", s.name, s.unit, s.low, s.high)
    return known


def number(cell: Cell, column: Column) -> Fraction | Diagnostic:
    """A number in base units, within the range of its column."""
    match = _NUMBER.fullmatch(cell.text)
    if match is None or sum(c.isdigit() for c in match["number"]) > DIGITS_MOST:
        return _no_number(cell, column)
    unit = column.unit
    if match["unit"]:
        symbol = match["unit"].strip()
        if (fault := _unit_fault(cell, symbol, column)) is not None:
            return fault
        unit = UNITS[symbol]
    value = Fraction(match["number"].replace("−", "-")) * unit.factor
    if column.low is not None and column.high is not None and not column.low <= value <= column.high:
        title = f"{column.name} is from {shown(column.low, unit)} to {shown(column.high, unit)}"
        return Diagnostic("table-range", title, (Label(cell.span, f"this is {shown(value, unit)}"),))
    return value


def position(cell: Cell, column: Column) -> int | Diagnostic:
    if cell.text in column.positions:
        return column.positions.index(cell.text)
    close = get_close_matches(cell.text[:40], column.positions, 1)
    hints = [f"did you mean {close[0]}?"] if close else []
    hints.append(f"its positions: {', '.join(column.positions)}")
    return Diagnostic(
        "table-value", f"{column.name} has no position called {_short(cell.text)}", (Label(cell.span),), tuple(hints)
    )


def pressed(cell: Cell, column: Column) -> bool | Diagnostic:
    word = cell.text.lower()
    if word in YES or word in NO:
        return word in YES
    title = f"is {column.name} pressed or released?"
    return Diagnostic("table-value", title, (Label(cell.span),), ("write pressed or released, or 1 or 0",))


def _unknown(cell: Cell, name: str, known: dict[str, Column]) -> Diagnostic:
    if name.endswith(".truth") and name.removesuffix(".truth") in known:
        title = f"the true quantity behind {name.removesuffix('.truth')} is not in these rules"
        hint = "a sensor has one when the rules say how fast it `changes`"
        return Diagnostic("table-header", title, (Label(cell.span),), (hint,))
    title = f"no input is called {_short(name)}" if name else "a column without a name"
    close = get_close_matches(name[:40], known, 1)
    hints = (f"did you mean {close[0]}?",) if close else ()
    return Diagnostic(
        "table-header", title, (Label(cell.span),), (*hints, f"columns of these rules: {', '.join(known)}")
    )


def _unit_fault(cell: Cell, symbol: str, column: Column) -> Diagnostic | None:
    unit = UNITS.get(symbol)
    wanted = TIME if column.kind == "time" else column.unit.dimension
    if unit is not None and unit.dimension == wanted and column.kind not in ("switch", "button"):
        return None
    if column.kind in ("switch", "button"):
        return Diagnostic("table-header", f"{column.name} has no unit", (Label(cell.span),))
    says = f"{_short(symbol)} is not a unit" if unit is None else f"{column.name} is not {in_unit(unit)}"
    return Diagnostic("table-value", says, (Label(cell.span),), (f"{column.name} is {in_unit(column.unit)}",))


def _no_number(cell: Cell, column: Column) -> Diagnostic:
    if _COMMA.fullmatch(cell.text):
        hint = f"write {_short(cell.text.replace(',', '.'))}"
        return Diagnostic("decimal-comma", "a decimal comma", (Label(cell.span),), (hint,))
    if cell.text[:1] in ("=", "@", "+"):
        return Diagnostic("table-value", "a formula is not worked out here", (Label(cell.span),), ("write its result",))
    title = (
        f"{column.name}: this is not a number that can be read" if cell.text else f"{column.name} has no number here"
    )
    hint = f"write it out with at most {DIGITS_MOST} digits, such as 12.5"
    return Diagnostic("table-value", title, (Label(cell.span),), (hint,))


def _short(text: str) -> str:
    return text if len(text) <= 24 else text[:21] + "..."
