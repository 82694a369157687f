"""A run as comma-separated text, for spreadsheets and other programs.

Numbers are decimals, shortened after nine places. No cell is written that a spreadsheet would work out as a formula.
"""

from collections.abc import Iterator, Sequence

from latchproof.machine.model import Machine
from latchproof.run.recording import Recording
from latchproof.show.quantities import rounded
from latchproof.show.runs import Column, columns, time_of
from latchproof.show.visible import visible

PLACES = 9

ACTS_ON = ("=", "+", "-", "@", "\t", "\r")
"""What a cell begins with when a spreadsheet takes it for a formula."""


def as_csv(machine: Machine, run: Recording, *, only_changes: bool = False) -> str:
    """A first line of names, then a line for each cycle (or for each in which anything but the time changed)."""
    return "\n".join(_lines(columns(machine, run), run, only_changes=only_changes))


def safe(text: str) -> str:
    """A cell of text: quoted where it must be, and never one that is worked out."""
    shown = visible(text)
    if shown.startswith(ACTS_ON):
        shown = f"'{shown}"
    return '"' + shown.replace('"', '""') + '"' if set(shown) & set(',;"') else shown


def _lines(found: Sequence[Column], run: Recording, *, only_changes: bool) -> Iterator[str]:
    yield ",".join(["time [s]", *(safe(c.head) for c in found)])
    before: list[str] | None = None
    for k in range(len(run.records)):
        # Numbers may begin with a minus sign: a spreadsheet reads them as the numbers they are.
        cells = [safe(text) if isinstance(c.values[k], str) else text for c in found for text in (c.cell(k, PLACES),)]
        if not only_changes or cells != before:
            yield ",".join([rounded(time_of(run, k), PLACES), *cells])
        before = cells
