"""What a worker process is asked to do, and what it answers. Each runs in a process of its own, by `engines`."""

from dataclasses import dataclass
from typing import Literal

from latchproof.machine.flat import FlatSystem
from latchproof.prove.found import Answer, Found, Stuck

Steps = Literal["free", "ordinary", "ordinary and holds"]
"""What the Horn engine takes for steps."""


@dataclass(frozen=True, slots=True)
class Induct:
    """One-cycle induction with nothing known; in large systems with the facts that a filter finds."""

    system: FlatSystem


@dataclass(frozen=True, slots=True)
class Horn:
    """`effort` (0: no end) in the solver's own small steps."""

    system: FlatSystem
    steps: Steps
    effort: int = 0


@dataclass(frozen=True, slots=True)
class Refit:
    """Facts that an earlier proof rested on, and the usual candidates: as many of them as hold."""

    system: FlatSystem
    facts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Bounded:
    """Ends by itself a little before its seconds are over, to tell how deep it came."""

    system: FlatSystem
    holds: bool
    deepest: int
    seconds: float


@dataclass(frozen=True, slots=True)
class Recheck:
    system: FlatSystem
    invariant: str


@dataclass(frozen=True, slots=True)
class RecheckAll:
    """Several proofs one after the other, each with a solver of its own."""

    proofs: tuple[Recheck, ...]


@dataclass(frozen=True, slots=True)
class Progress:
    system: FlatSystem


@dataclass(frozen=True, slots=True)
class Stick:
    """Where induction sticks, after at most so many good cycles."""

    system: FlatSystem
    most: int


Task = Induct | Horn | Refit | Bounded | Recheck | RecheckAll | Progress | Stick
Result = Answer | Found | Stuck | tuple[bool | None, ...] | bool | None
