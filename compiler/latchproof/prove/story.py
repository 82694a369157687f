"""What a trace has to tell: the moments that matter for the claim, and how it ends. Words are given by `show`."""

from dataclasses import dataclass
from typing import assert_never

from latchproof.machine.model import Fight, Glitch, Machine, Order, Property, Unwritten
from latchproof.machine.overview import mentions, overview
from latchproof.machine.product import OTHER
from latchproof.prove.ending import Ending, ending
from latchproof.prove.moments import Row, Teller
from latchproof.prove.verdicts import Trace
from latchproof.rules.model import Claim
from latchproof.run.expressions import Reader
from latchproof.run.program import Exact

MOST_ROWS = 40
"""More than a page is not read; then the first and the last moments are told."""

FIRST_ROWS = 15


@dataclass(frozen=True, slots=True)
class Story:
    """`left_out` moments are missing between row number `gap` - 1 and row number `gap`."""

    claim: Claim | None
    unwritten: Unwritten | None
    """What nobody claimed, in the place of a claim."""
    rows: tuple[Row, ...]
    ending: Ending
    left_out: int = 0
    gap: int = 0
    late: tuple[Order, ...] = ()
    """What one entry sees of another one cycle late, where that is the device's choice."""
    begun: tuple[tuple[str, Exact], ...] = ()
    """Memory of the rules that did not start empty."""


def tell(machine: Machine, property_: Property, trace: Trace) -> Story:
    """The story of one property's trace."""
    claim = next((c for c in machine.rules.claims if c.name == property_.name), None)
    seen = overview(machine.rules)
    if claim is not None:
        named = {name for name, _ in mentions((claim.form, claim.scope))}
    else:
        named = _named(property_.unwritten)
    reader = Reader(machine, trace.records, trace.parameters)
    teller = Teller(reader, seen, frozenset(named), claim)
    rows = teller.rows(trace.since)
    end = ending(claim, reader, trace.since)
    late = tuple(o for o in machine.orders if trace.start.get(o.cell))
    begun = _begun(machine, trace)
    if len(rows) <= MOST_ROWS:
        return Story(claim, property_.unwritten, rows, end, late=late, begun=begun)
    kept = rows[:FIRST_ROWS] + rows[FIRST_ROWS - MOST_ROWS :]
    return Story(claim, property_.unwritten, kept, end, len(rows) - len(kept), FIRST_ROWS, late, begun)


def _named(unwritten: Unwritten | None) -> set[str]:
    match unwritten:
        case Fight(channel=channel, one=one, other=other):
            return {channel, one, other}
        case Glitch(latch=latch):
            return {latch}
        case None:
            return set()
        case _:
            assert_never(unwritten)


def _begun(machine: Machine, trace: Trace) -> tuple[tuple[str, Exact], ...]:
    """Only a device that may start with anything has such memory; readings before the first frame are none."""
    if machine.rules.device.starts != "any":
        return ()
    sensors = {s.name for s in machine.rules.sensors}
    orders = {o.cell for o in machine.orders}
    return tuple(
        (name, value)
        for name, value in trace.start.items()
        if value and name not in orders and not name.startswith(OTHER) and name.partition("@")[0] not in sensors
    )
