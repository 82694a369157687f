"""A run as text: the moments in which something changed, or a table of all cycles with the columns that change."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from latchproof.machine.model import Machine
from latchproof.prove.moments import moments
from latchproof.rules.units import NO_UNIT, Unit
from latchproof.run.interpreter import Record
from latchproof.run.program import Exact
from latchproof.run.recording import Recording, facts_broken, promises_broken
from latchproof.show import device, story
from latchproof.show.quantities import rounded, seconds
from latchproof.show.style import PLAIN, Style
from latchproof.show.table import padded, paragraph
from latchproof.show.visible import visible, width
from latchproof.show.wording import Wording

ANNOUNCEMENTS = (".voice", ".tone", ".vibration")


@dataclass(frozen=True, slots=True)
class Column:
    """One named thing over the run. `values`: on or off, a number in base units, a word, or None where there is
    none."""

    name: str
    unit: Unit
    values: tuple[Exact | str | None, ...]
    given: bool
    """Whether it is an input."""

    @property
    def head(self) -> str:
        return f"{self.name} [{self.unit.symbol}]" if self.unit.symbol else self.name

    def cell(self, k: int, places: int) -> str:
        value = self.values[k]
        match value:
            case None:
                return ""
            case bool():
                return "yes" if value else "no"
            case str():
                return value
            case _:
                return rounded(value / self.unit.factor, places)


def changes(machine: Machine, run: Recording, style: Style = PLAIN) -> str:
    """Only the moments in which something changed, told like a story."""
    found = moments(machine, run.records, run.parameters, run.guessed)
    told = tuple(replace(row, time=row.time + run.start) for row in found)
    quiet = tuple(row for row in told if row.world or row.rules)
    return "\n".join(story.rows(quiet, Wording.of(machine.rules), style))


def cycles(machine: Machine, run: Recording, style: Style = PLAIN) -> str:
    """Every cycle in columns; what never changes stands above the table, what does not fit into the width below it."""
    found = columns(machine, run)
    still = [c for c in found if len(set(c.values)) == 1]
    moving = [c for c in found if len(set(c.values)) > 1]
    parts = []
    if still:
        said = ", ".join(f"{c.name} {c.cell(0, 3)} {c.unit.symbol}".rstrip() for c in still if c.values[0] is not None)
        parts.append("\n".join(paragraph(f"the same in every cycle: {visible(said)}", style.width, rest="  ")))
    times = [seconds(r.time + run.start).removeprefix("about ").removesuffix(" s") for r in run.records]
    parts += ["\n".join(_block(times, block, style)) for block in _blocks(times, moving, style.width)]
    return "\n\n".join(parts)


def notes(machine: Machine, run: Recording, style: Style = PLAIN) -> str:
    """What the run showed beside its table; an empty text if nothing."""
    lines: list[str] = []
    for fact in facts_broken(run):
        lead = style.paint("note: ", "warning")
        text = f"the table goes against a fact of the rules from {seconds(fact.time)} on: {visible(fact.what)}"
        lines += [lead + paragraph("note: " + text, style.width, rest="  ")[0][6:]]
        lines += paragraph("note: " + text, style.width, rest="  ")[1:]
    for claim, broken in promises_broken(machine, run):
        said = claim.sentence or " ".join(claim.text.split())
        text = f"broken at {seconds(broken.time)}: {visible(claim.name)}: {visible(said)}"
        first, *rest = paragraph(text, style.width, rest="  ")
        lines += [style.paint("broken", "error") + first[len("broken") :], *rest]
    for text in device.of_a_run(machine):
        first, *rest = paragraph("note: " + text, style.width, rest="  ")
        lines += [style.paint("note:", "warning") + first[len("note:") :], *rest]
    return "\n".join(lines)


def columns(machine: Machine, run: Recording) -> tuple[Column, ...]:
    """Everything with a name: inputs, then what the rules make of them, in the order of the text."""
    return (*_inputs(machine, run), *_outputs(machine, run))


def _inputs(machine: Machine, run: Recording) -> Iterator[Column]:
    rules, records = machine.rules, run.records
    for switch in rules.switches:
        yield Column(switch.name, NO_UNIT, tuple(_position(switch.name, switch.positions, r) for r in records), True)
    for button in rules.buttons:
        yield Column(button.name, NO_UNIT, tuple(bool(r.inputs[button.name]) for r in records), True)
    for control in rules.controls:
        yield Column(control.name, control.unit, tuple(r.inputs[control.name] for r in records), True)
    for sensor in rules.sensors:
        frames = (r.inputs[f"{sensor.name}@reading"] if r.inputs[f"{sensor.name}@frame"] else None for r in records)
        yield Column(f"{sensor.name} frame", sensor.unit, tuple(frames), True)


def _position(switch: str, positions: tuple[str, ...], r: Record) -> str:
    return positions[next((k for k in range(len(positions) - 1, 0, -1) if r.inputs[f"{switch}@{k}"]), 0)]


def _outputs(machine: Machine, run: Recording) -> Iterator[Column]:
    rules = machine.rules
    named: list[tuple[str, Unit]] = [(s.name, s.unit) for s in rules.sensors]
    named += [(v.name, v.unit) for v in rules.values] + [(s.name, NO_UNIT) for s in rules.signals]
    named += [(s.name, s.unit) for s in rules.samples] + [(x.name, NO_UNIT) for x in rules.latches]
    named += [(c.name, NO_UNIT) for c in rules.counters]
    named += [(r.name, NO_UNIT) for r in rules.rules]
    named += [(f"{s.name}.{p.name}", NO_UNIT) for s in rules.sequences for p in s.phases]
    spoken = [name for name in machine.definitions if name.endswith(ANNOUNCEMENTS)]
    named += [(name, NO_UNIT) for name in spoken if any(r.values[name] for r in run.records)]
    named += [(c.name, c.unit) for c in rules.channels]
    for name, unit in named:
        if name in machine.definitions:
            yield Column(name, unit, tuple(r.values[name] for r in run.records), False)


def _blocks(times: list[str], moving: list[Column], wide: int) -> Iterator[list[tuple[str, list[str]]]]:
    """Columns (head and cells) that fit side by side, the time before each group."""
    room = wide - _width(times, "time")
    block: list[tuple[str, list[str]]] = []
    for column in moving:
        cells = [column.cell(k, 3) for k in range(len(times))]
        head = visible(column.head)
        need = _width(cells, head) + 2
        if block and need > room:
            yield block
            block, room = [], wide - _width(times, "time")
        block.append((head, cells))
        room -= need
    if block:
        yield block


def _width(cells: list[str], head: str) -> int:
    return max(width(head), max((width(c) for c in cells), default=0))


def _block(times: list[str], block: list[tuple[str, list[str]]], style: Style) -> Iterator[str]:
    every = [("time", times), *block]
    widths = [_width(cells, head) for head, cells in every]
    yield style.paint("  ".join(padded(head, w) for (head, _), w in zip(every, widths, strict=True)).rstrip(), "strong")
    yield "  ".join("-" * w for w in widths)
    for k in range(len(times)):
        row = (padded(visible(cells[k]), w) for (_, cells), w in zip(every, widths, strict=True))
        yield "  ".join(row).rstrip()


def time_of(run: Recording, k: int) -> Fraction:
    """Seconds, as the table of inputs counts them."""
    return run.records[k].time + run.start
