"""A short search for a run that does any of several things, flown exactly before it counts."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from latchproof.machine.cone import system_for
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.found import Found
from latchproof.prove.replay import replay
from latchproof.prove.tasks import Bounded
from latchproof.prove.workers import Workers
from latchproof.strength.flights import Flight, flight

SHALLOW = 6
"""Moments that it looks ahead; what needs more is asked for by itself."""


def looked(
    machine: Machine, wanted: Sequence[Property], workers: Workers, seconds: float, deepest: int = SHALLOW
) -> Iterator[Flight]:
    """At most one flight for each group of properties that take the same for granted about frames."""
    for group in _groups(wanted):
        goal = machine.terms.any(*(p.signal for p in group))
        whole = Property("any of them", "safe", goal, group[0].arriving)
        flat = flatten(system_for(machine, whole.name, "safe", goal, whole.arriving))
        answer = workers.run(Bounded(flat, True, deepest, seconds - seconds / 10), seconds)
        if isinstance(answer, Found) and answer.stretches is not None:
            made = replay(replace(machine, properties=(whole,)), whole, None, answer)
            if made.trace is not None:
                yield flight(made.trace)


def _groups(wanted: Sequence[Property]) -> Iterator[list[Property]]:
    def key(p: Property) -> tuple[str, ...]:
        return tuple(sorted(c.why for c in p.arriving))

    for _, group in groupby(sorted(wanted, key=key), key=key):
        yield list(group)
