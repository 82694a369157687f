"""What a worker process is asked to do, and what it answers. Each runs in a process of its own."""

from dataclasses import dataclass
from typing import assert_never

from latchproof.machine.flat import FlatSystem, unflatten
from latchproof.prove.encode import Encoder
from latchproof.prove.found import Found
from latchproof.prove.horn import Answer, Steps, horn
from latchproof.prove.induction import one_step, refitted, with_facts
from latchproof.prove.progress import always_goes_on
from latchproof.prove.recheck import certificate_holds
from latchproof.prove.search import search
from latchproof.prove.stuck import Stuck, stuck


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


def perform(task: Task) -> Result:
    """Runs the task in this process."""
    match task:
        case Induct(flat):
            encoder = Encoder(unflatten(flat))
            return Answer(one_step(encoder) or with_facts(encoder))
        case Horn(flat, steps, effort):
            return horn(Encoder(unflatten(flat)), steps, effort=effort)
        case Refit(flat, facts):
            return Answer(refitted(Encoder(unflatten(flat)), facts))
        case Bounded(flat, holds, deepest, seconds):
            return search(Encoder(unflatten(flat)), holds=holds, deepest=deepest, seconds=seconds)
        case Recheck(flat, invariant):
            return certificate_holds(unflatten(flat), invariant)
        case RecheckAll(proofs):
            return tuple(certificate_holds(unflatten(p.system), p.invariant) for p in proofs)
        case Progress(flat):
            return always_goes_on(Encoder(unflatten(flat)))
        case Stick(flat, most):
            return stuck(Encoder(unflatten(flat)), most)
        case _:
            assert_never(task)
