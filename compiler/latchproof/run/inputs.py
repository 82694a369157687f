"""A table of times and inputs as worlds: what the interpreter runs.

The first column that matters is `time`. Every row is one cycle, unless the rows are resampled (`every`): then they are
the cycles in which something is done, and cycles between them hold what was. An empty cell of a switch, button, stick
or knob means "as before", of a sensor that no frame arrives. What has no column rests: first position, released, 0 or
the value nearest to it, never heard.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from latchproof.diagnostics import Diagnostic, Label, has_errors
from latchproof.machine.model import Machine
from latchproof.rules.units import UNITS
from latchproof.rules.words import shown
from latchproof.run.cells import MOST_ROWS, Cell, table
from latchproof.run.columns import Column, columns, number, position, pressed
from latchproof.run.interpreter import World
from latchproof.run.program import Exact
from latchproof.source import Source, Span

MOST_CYCLES = MOST_ROWS
MOST_FAULTS = 20
"""More mistakes than these are not listed one by one."""


@dataclass(frozen=True, slots=True)
class Inputs:
    """`start` is the time of the first row. `guessed` are the sensors whose true quantity had no column: it then
    follows the reading, so facts about it say nothing."""

    worlds: tuple[World, ...]
    start: Fraction = Fraction(0)
    guessed: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: what it sets, by input of the machine; frames only where one arrives."""

    time: Fraction
    place: Span
    held: Mapping[str, Exact] = field(default_factory=dict)
    frames: Mapping[str, Exact] = field(default_factory=dict)


def read_inputs(
    source: Source, machine: Machine, every: Fraction | None = None
) -> tuple[Inputs | None, tuple[Diagnostic, ...]]:
    """The worlds of a table; `every`: the seconds between two cycles when the rows are to be resampled."""
    cells, found = table(source)
    if cells is None:
        return None, found
    heads, found = columns(cells, machine.rules)
    if found:
        return None, found
    if not cells.rows:
        what = Diagnostic("table-empty", "this table has no rows", (Label(cells.header[0].span),))
        return None, (what,)
    rows, faults = _rows(cells.rows, heads)
    if len(faults) > MOST_FAULTS:
        rest = len(faults) - MOST_FAULTS
        more = Diagnostic("table-value", f"and {rest} more places like these", (faults[MOST_FAULTS].labels[0],))
        return None, (*faults[:MOST_FAULTS], more)
    if faults:
        return None, tuple(faults)
    told = {c.name for c in heads if c.kind == "truth"}
    guessed = frozenset(s.name for s in machine.rules.sensors if s.change is not None and s.name not in told)
    timed, found = _evenly(rows, every) if every is not None else _as_rows(rows, machine)
    if has_errors(found):
        return None, found
    worlds = _worlds(timed, machine, guessed)
    return Inputs(worlds, rows[0].time, guessed), found


# ---------- cells to rows


def _rows(cells: tuple[tuple[Cell, ...], ...], heads: tuple[Column, ...]) -> tuple[list[Row], list[Diagnostic]]:
    rows: list[Row] = []
    faults: list[Diagnostic] = []
    clock = next(n for n, c in enumerate(heads) if c.kind == "time")
    for line in cells:
        time = number(line[clock], heads[clock])
        held: dict[str, Exact] = {}
        frames: dict[str, Exact] = {}
        for cell, column in zip(line, heads, strict=True):
            if column.kind == "time" or not cell.text:
                continue
            fault = _read(cell, column, held, frames)
            if fault is not None:
                faults.append(fault)
        if isinstance(time, Diagnostic):
            faults.append(time)
            continue
        if rows and time <= rows[-1].time:
            before = Label(rows[-1].place, f"{shown(rows[-1].time, UNITS['s'])} here")
            title = "the times do not go up" if time < rows[-1].time else "the same time twice"
            faults.append(Diagnostic("table-time", title, (Label(line[clock].span, "this row"), before)))
        rows.append(Row(time, line[clock].span, held, frames))
    return rows, faults


def _read(cell: Cell, column: Column, held: dict[str, Exact], frames: dict[str, Exact]) -> Diagnostic | None:
    match column.kind:
        case "switch":
            place = position(cell, column)
            if isinstance(place, Diagnostic):
                return place
            held |= {f"{column.name}@{k}": k == place for k in range(1, len(column.positions))}
        case "button":
            on = pressed(cell, column)
            if isinstance(on, Diagnostic):
                return on
            held[column.name] = on
        case _:
            value = number(cell, column)
            if isinstance(value, Diagnostic):
                return value
            if column.kind == "sensor":
                frames[column.name] = value
            else:
                held[f"{column.name}@truth" if column.kind == "truth" else column.name] = value
    return None


# ---------- rows to cycles

Cycle = tuple[Fraction, tuple[Row, ...]]
"""How long after the cycle before, and the rows that take effect in it."""


def _as_rows(rows: list[Row], machine: Machine) -> tuple[list[Cycle], tuple[Diagnostic, ...]]:
    """Every row a cycle. The first one takes as long as the second, as far as the cycle allows."""
    cycle = machine.rules.cycle
    gaps = [b.time - a.time for a, b in pairwise(rows)]
    first = min(max(gaps[0] if gaps else cycle.shortest, cycle.shortest), cycle.longest)
    odd = [n for n, gap in enumerate(gaps) if not cycle.shortest <= gap <= cycle.longest]
    found: tuple[Diagnostic, ...] = ()
    if odd:
        n = odd[0]
        limits = f"{shown(cycle.shortest, UNITS['ms'])} to {shown(cycle.longest, UNITS['ms'])}"
        title = f"{len(odd)} of {len(gaps)} cycles are shorter or longer than {limits}"
        label = Label(rows[n + 1].place, f"{shown(gaps[n], UNITS['s'])} after the row before")
        hint = "every row is one cycle; --every 20ms fills in the cycles between rows"
        found = (Diagnostic("table-cycle", title, (label,), (hint,), "warning"),)
    return list(zip([first, *gaps], ((row,) for row in rows), strict=True)), found


def _evenly(rows: list[Row], every: Fraction) -> tuple[list[Cycle], tuple[Diagnostic, ...]]:
    """Cycles at equal distances; a row takes effect in the first cycle that is not before it."""
    assert every > 0
    count = -((rows[0].time - rows[-1].time) // every) + 1
    if count > MOST_CYCLES:
        title = f"this takes more than {MOST_CYCLES:,} cycles"
        hint = "take a longer time for --every, or a shorter table"
        return [], (Diagnostic("table-too-long", title, (Label(rows[-1].place),), (hint,)),)
    taken: list[list[Row]] = [[] for _ in range(count)]
    for row in rows:
        taken[-((rows[0].time - row.time) // every)].append(row)
    found: tuple[Diagnostic, ...] = ()
    crowded = [together for together in taken if len(together) > 1]
    if crowded:
        title = f"{len(crowded)} cycles take several rows at once: only the last of them is seen"
        labels = (Label(crowded[0][-1].place, "this row hides ..."), Label(crowded[0][-2].place, "... this one"))
        hint = "take a shorter time for --every"
        found = (Diagnostic("table-cycle", title, labels, (hint,), "warning"),)
    return [(every, tuple(together)) for together in taken], found


def _worlds(cycles: Iterable[Cycle], machine: Machine, guessed: frozenset[str]) -> tuple[World, ...]:
    now = at_rest(machine)
    worlds = []
    for dt, rows in cycles:
        for name in now:
            if name.endswith("@frame"):
                now[name] = False
        for row in rows:
            now |= row.held
            for sensor, value in row.frames.items():
                now[f"{sensor}@frame"], now[f"{sensor}@reading"] = True, value
                if sensor in guessed:
                    now[f"{sensor}@truth"] = value
        worlds.append(World(dt, dict(now)))
    return tuple(worlds)


def at_rest(machine: Machine) -> dict[str, Exact]:
    """A value for every input: first position, released, 0 or the nearest value to it, no frame."""
    rest: dict[str, Exact] = {}
    for i in (*machine.inputs, *machine.picks):
        if i.sort == "bool" or i.low is None or i.high is None:
            rest[i.name] = False
        else:
            rest[i.name] = min(max(Fraction(0), i.low), i.high)
    return rest
