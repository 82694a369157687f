"""Does any promise notice that the rules were weakened? Cheapest question first; the first that notices is enough.

A claim notices when it is proved of the rules as they are and fails with the weakened ones: a kept flight breaks it,
a short search finds a run that does, or the prover says so. It does not when what it depends on is the same to the
letter, when its old proof still holds, or when it is proved anew.
"""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf

from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.found import Found
from latchproof.prove.going_on import TimeGoesOn
from latchproof.prove.horn import Answer
from latchproof.prove.memory import Keepsake
from latchproof.prove.prover import DEEPEST, PATIENCE, prove_all
from latchproof.prove.replay import replay
from latchproof.prove.tasks import Bounded, Horn, Recheck, RecheckAll, Task
from latchproof.prove.verdicts import Certificate, Verdict
from latchproof.prove.workers import Workers
from latchproof.strength.alike import Key, system_key
from latchproof.strength.flights import Flight, flight, is_can, reached
from latchproof.strength.looking import SHALLOW, looked

AT_A_GLANCE = 3
"""Moments that a search looks ahead before it is asked which old proofs still hold."""


@dataclass(frozen=True)
class Known:
    """The rules as they are: what was proved of them, and what each of those claims depends on."""

    machine: Machine
    proved: Mapping[str, Verdict]
    keys: Mapping[str, Key]


def known(machine: Machine, verdicts: Sequence[Verdict]) -> Known:
    """Only what is proved can notice anything."""
    proved = {v.claim: v for v in verdicts if v.answer == "proved" and not v.allowance}
    keys = {p.name: system_key(flatten(cone(machine, p))) for p in machine.properties if p.name in proved}
    return Known(machine, proved, keys)


@dataclass(frozen=True)
class Looked:
    """`by`: the claim, or the check that no two rules fight, that notices. `open`: those of which it is not settled."""

    by: str | None
    open: tuple[str, ...] = ()
    flights: tuple[Flight, ...] = ()


@dataclass(frozen=True)
class Look:
    """One weakened machine. `until`: the moment after which no more is asked."""

    known: Known
    machine: Machine
    progress: TimeGoesOn
    time_limit: float
    until: float = inf

    @property
    def workers(self) -> Workers:
        return self.progress.workers

    def run(self, flights: Sequence[Flight], first: Sequence[str]) -> Looked:
        """`first`: names in the order in which claims are to be asked."""
        touched = self._touched()
        if not touched:
            return Looked(None)
        possible: set[str] = set()
        for f in flights:
            seen = reached(replace(self.machine, properties=touched), f)
            if by := self._first(seen):
                return Looked(by)
            possible |= seen
        found: list[Flight] = []
        if by := self._searched([p for p in touched if p.kind == "safe"], found, AT_A_GLANCE):
            return Looked(by, flights=tuple(found))
        stands = self._standing([p for p in touched if p.kind == "safe"])
        left = [p for p in touched if p.name not in possible | stands]
        if by := self._searched([p for p in left if p.kind == "safe"], found):
            return Looked(by, flights=tuple(found))
        return self._proved(sorted(left, key=lambda p: first.index(p.name) if p.name in first else -1), found)

    def _touched(self) -> tuple[Property, ...]:
        """What was proved of the rules as they are, or is new, and is not the same as before."""
        new = {p.name for p in self.machine.properties} - {p.name for p in self.known.machine.properties}
        asked = (p for p in self.machine.properties if p.name in self.known.proved or p.name in new)
        return tuple(
            p for p in asked if self.known.keys.get(p.name) != system_key(flatten(cone(self.machine, p)))
        )  # fmt: skip

    def _first(self, seen: frozenset[str]) -> str | None:
        """The first broken promise in the order of the file. What can happen and does is none."""
        return next(
            (p.name for p in self.machine.properties if p.name in seen and not is_can(self.machine, p.name)), None
        )

    def _standing(self, asked: Sequence[Property]) -> set[str]:
        """Claims whose old proof holds as it is."""
        old = [(p, v.certificate) for p in asked if (v := self.known.proved.get(p.name)) is not None]
        proofs = [(p, c, cone(self.machine, p, facts=c.facts)) for p, c in old if c is not None]
        task = RecheckAll(tuple(Recheck(flatten(system), c.invariant) for _, c, system in proofs))
        answers = self.workers.run(task, self.time_limit) if proofs else ()
        if not isinstance(answers, tuple):
            return set()
        return {
            p.name
            for (p, c, system), holds in zip(proofs, answers, strict=True)
            if holds and (not c.facts or self.progress.under(system, self.time_limit))
        }

    def _holds(self, p: Property, c: Certificate) -> bool:
        system = cone(self.machine, p, facts=c.facts)
        if self.workers.run(Recheck(flatten(system), c.invariant), self.time_limit) is not True:
            return False
        return not c.facts or self.progress.under(system, self.time_limit) is True

    def _searched(self, asked: Sequence[Property], found: list[Flight], deepest: int = SHALLOW) -> str | None:
        """A run that breaks any of them."""
        for f in looked(self.machine, asked, self.workers, self.time_limit / 2, deepest):
            found.append(f)
            if by := self._first(reached(replace(self.machine, properties=tuple(asked)), f)):
                return by
        return None

    def _proved(self, asked: Sequence[Property], found: list[Flight]) -> Looked:
        unsettled = []
        for p in asked:
            if time.monotonic() > self.until:
                unsettled.append(p.name)
                continue
            quick = self._possible(p, found) if p.kind == "reach" else None
            if quick is not None:
                if quick:
                    continue
                return Looked(p.name, flights=tuple(found))
            verdict = self._verdict(p)
            if verdict.trace is not None:
                found.append(flight(verdict.trace))
            if verdict.answer == "refuted":
                return Looked(p.name, flights=tuple(found))
            if verdict.answer == "unknown":
                unsettled.append(p.name)
        return Looked(None, tuple(unsettled), tuple(found))

    def _possible(self, p: Property, found: list[Flight]) -> bool | None:
        """Whether it can still happen: a search for an example beside a proof that there is none."""
        full, bare = (flatten(cone(self.machine, p, facts=facts)) for facts in (True, False))
        tasks: list[Task] = [Bounded(full, True, DEEPEST, self.time_limit / 2), Horn(bare, "free", PATIENCE)]
        for done in self.workers.race(tasks, self.time_limit):
            match done.result:
                case Found(stretches=stretches) as path if stretches is not None:
                    claim = next(c for c in self.machine.rules.claims if c.name == p.name)
                    made = replay(self.machine, p, claim, path)
                    if made.trace is not None:
                        found.append(flight(made.trace))
                        return True
                case Answer(invariant=str(invariant)) if self._holds(p, Certificate(invariant, facts=False)):
                    return False
                case _:
                    pass
        return None

    def _verdict(self, p: Property) -> Verdict:
        alone = replace(self.machine, properties=(p,))
        return next(
            prove_all(alone, self.workers, time_limit=self.time_limit, at_once=1, memory=Before(self.known.proved))
        )


@dataclass(frozen=True, slots=True)
class Before:
    """What was found of the rules as they are: the prover tries that first."""

    verdicts: Mapping[str, Verdict]

    def exactly(self, key: str) -> Keepsake | None:
        return None

    def lately(self, claim: str) -> Keepsake | None:
        verdict = self.verdicts.get(claim)
        return None if verdict is None else verdict.keepsake
