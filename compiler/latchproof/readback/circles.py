"""Entries that read one another round in a circle within one pass."""

from graphlib import CycleError, TopologicalSorter

from latchproof.listing.model import Entry
from latchproof.machine.reads import parts
from latchproof.readback import model as m
from latchproof.readback.doing import LISTS
from latchproof.readback.model import Problem
from latchproof.readback.values import read

SILENT = ("fact", "note", "choice", "sound")


def circle(entries: tuple[Entry, ...]) -> Problem | None:
    needs = {x.number: _now(x) for x in entries}
    try:
        tuple(TopologicalSorter(needs).static_order())
    except CycleError as error:
        path = [str(n) for n in error.args[1]]
        first = min(int(n) for n in path)
        story = (
            " reads ".join(f"entry {n}" for n in reversed(path)) if len(path) > 2 else f"entry {path[0]} reads itself"
        )
        return Problem(
            f"round in a circle within one pass: {story}", "`..., one pass earlier` at one of them", 0, first
        )
    return None


def _now(x: Entry) -> set[int]:
    """The entries that it reads in the same pass."""
    found: set[int] = set()
    for f in x.fields:
        if f.kind in SILENT or (f.kind == "entries" and f.label not in LISTS):
            continue
        waiting: list[object] = [read(f.value, f.kind, f.choices)]
        while waiting:
            value = waiting.pop()
            match value:
                case m.EntryState(entry=entry, earlier=0) | m.Speaks(entry=entry, earlier=0):
                    found.add(entry)
                case m.EntryValue(entry=entry, earlier=0) | m.Follows(entry=entry):
                    found.add(entry)
                case m.Entries(several=several):
                    found |= {n for n, _ in several}
                case str() | None:
                    pass
                case _:
                    waiting.extend(parts(value))
    return found
