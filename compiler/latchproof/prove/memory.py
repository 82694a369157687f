"""What is worth keeping of a verdict for the next run, and the key of the question that it answered.

Nothing that was kept is believed. An invariant is read strictly and passes the three checks against the system as it is
now; a path runs again in the interpreter and is judged. So a memory that is damaged, or somebody else's, costs time.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from hashlib import sha256
from typing import Protocol

from latchproof.machine.cone import System
from latchproof.machine.model import DT, Input, Parameter, Property, State
from latchproof.machine.terms import Sort
from latchproof.prove.found import Found
from latchproof.prove.smtlib import declarations, start, step, tunes
from latchproof.rules.model import Claim
from latchproof.run.program import Exact

MOST_MOMENTS = 200
"""No path that was kept has more."""


@dataclass(frozen=True, slots=True)
class Keepsake:
    """An invariant, and whether it needs the facts of the world; or the path to the goal. `engine` found it."""

    engine: str
    with_facts: bool
    invariant: str | None = None
    found: Found | None = None


class Memory(Protocol):
    """What earlier runs left."""

    def exactly(self, key: str) -> Keepsake | None:
        """Of the very same question."""

    def lately(self, claim: str) -> Keepsake | None:
        """Of the claim with that name, as the rules were last time."""


@dataclass(frozen=True, slots=True)
class Forgetful:
    """Nothing is known from before."""

    def exactly(self, key: str) -> Keepsake | None:
        return None

    def lately(self, claim: str) -> Keepsake | None:
        return None


FORGETFUL = Forgetful()


@dataclass(frozen=True, slots=True)
class Hinted:
    """A memory, and what was found of the same claims on another kind of device."""

    memory: Memory
    hints: Mapping[str, Keepsake]

    def exactly(self, key: str) -> Keepsake | None:
        return self.memory.exactly(key)

    def lately(self, claim: str) -> Keepsake | None:
        return self.hints.get(claim) or self.memory.lately(claim)


def key_of(property_: Property, claim: Claim | None, full: System, bare: System, program: str) -> str:
    """The same for two questions that every engine must answer alike. `program`: versions of all that answers."""
    digest = sha256()
    lines = [program, property_.kind, "" if claim is None else claim.text, *(c.why for c in property_.arriving)]
    for line in (*lines, *described(full), *(() if bare is full else described(bare))):
        digest.update(line.encode("utf-8", "surrogatepass") + b"\0")
    return digest.hexdigest()


def described(system: System) -> list[str]:
    """The system as text, and what the engines heed beside its meaning."""
    lines = [*declarations(system), *tunes(system), *start(system), *step(system)]
    lines += [_without_terms(s) for s in system.states]
    lines += [_without_terms(i) for i in system.inputs]
    lines += [_without_terms(p) for p in system.parameters]
    return [*lines, *(c.why for c in (*system.requires, *system.starts, *system.constraints))]


def _without_terms(x: State | Input | Parameter) -> str:
    """All that is known of it; its terms are told elsewhere."""
    return repr([(f.name, getattr(x, f.name)) for f in fields(x) if f.name not in ("initial", "next")])


def symbols(system: System) -> dict[str, Sort]:
    """What an invariant of the system may speak of."""
    tuned: dict[str, Sort] = {p.name: "number" for p in system.parameters}
    return tuned | {s.name: s.sort for s in system.states if s.name != DT}


def fits(found: Found, system: System) -> bool:
    """Whether a kept path has a value of the right sort for all that a search in this system gives one."""
    if found.stretches is None or not 0 < len(found.stretches) <= MOST_MOMENTS:
        return False
    inputs = {i.name: i.sort for i in system.inputs}
    free = {s.name: s.sort for s in system.states if s.initial is None}
    return (
        all(_fit(s.inputs, inputs) and _fit(s.meanwhile, inputs) and s.wait >= 0 for s in found.stretches)
        and _fit(found.parameters or {}, {p.name: "number" for p in system.parameters})
        and _fit(found.start or {}, free)
    )


def _fit(values: Mapping[str, Exact], sorts: Mapping[str, Sort]) -> bool:
    return values.keys() == sorts.keys() and all(
        isinstance(v, bool if sorts[name] == "bool" else Fraction) for name, v in values.items()
    )
