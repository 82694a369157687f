"""A claim's way through the engines, cheapest first, to a verdict that has been checked.

Engines only say "proved" or "refuted". A proof counts when its certificate passes the check against the ordinary step
in a fresh process; a refutation counts when the path found by a bounded search replays in the exact interpreter.
"""

import time
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from threading import Lock
from typing import Literal

from latchproof.machine.cone import System, cone
from latchproof.machine.flat import FlatSystem, flatten
from latchproof.machine.model import Constraint, Machine, Property
from latchproof.prove.assumed import assumed_facts
from latchproof.prove.horn import Answer, Steps
from latchproof.prove.replay import replay
from latchproof.prove.search import Found
from latchproof.prove.tasks import Bounded, Horn, Induct, Progress, Recheck, Task
from latchproof.prove.verdicts import Certificate, Trace, Verdict
from latchproof.prove.workers import Failed, Workers
from latchproof.rules.model import Claim

DEEPEST = 40
"""Moments that a bounded search looks ahead."""
OUT_OF_TIME = "time ran out"
SPARE = 0.05
"""The part of a claim's time that is kept back for ending a search in good order."""


@dataclass(frozen=True, slots=True)
class Clock:
    """What is left of a claim's time."""

    started: float
    limit: float

    @property
    def used(self) -> float:
        return time.monotonic() - self.started

    @property
    def left(self) -> float:
        return self.limit - self.used


def prove_all(machine: Machine, workers: Workers, *, time_limit: float, at_once: int) -> Iterator[Verdict]:
    """Verdicts of all claims and unwritten properties, as they arrive."""
    claims = {c.name: c for c in machine.rules.claims}
    progress = TimeGoesOn(workers)
    with ThreadPoolExecutor(max_workers=at_once) as threads:
        waiting: set[Future[Verdict]] = {
            threads.submit(_prove, machine, p, claims.get(p.name), progress, time_limit) for p in machine.properties
        }
        try:
            while waiting:
                done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
                yield from sorted((f.result() for f in done), key=lambda v: v.claim)
        finally:
            for future in waiting:
                future.cancel()


def prove(machine: Machine, property_: Property, claim: Claim | None, workers: Workers, time_limit: float) -> Verdict:
    """The verdict on one property within `time_limit` seconds."""
    return _prove(machine, property_, claim, TimeGoesOn(workers), time_limit)


def _prove(
    machine: Machine, property_: Property, claim: Claim | None, progress: "TimeGoesOn", time_limit: float
) -> Verdict:
    clock = Clock(time.monotonic(), time_limit)
    full, bare = (_question(cone(machine, property_, facts=facts)) for facts in (True, False))
    return Attempt(machine, property_, claim, full, bare, progress, clock).verdict()


@dataclass(frozen=True, slots=True)
class Question:
    """A system, and the same flat for the way to a worker."""

    system: System
    flat: FlatSystem


def _question(system: System) -> Question:
    return Question(system, flatten(system))


class TimeGoesOn:
    """Whether facts leave the world a next moment in every state; asked once for each set of facts."""

    def __init__(self, workers: Workers) -> None:
        self.workers = workers
        self._locks: defaultdict[frozenset[Constraint], Lock] = defaultdict(Lock)
        self._settled: dict[frozenset[Constraint], bool] = {}

    def under(self, system: System, flat: FlatSystem, seconds: float) -> bool:
        facts = frozenset(system.constraints)
        with self._locks[facts]:
            if facts not in self._settled:
                self._settled[facts] = not facts or self.workers.run(Progress(flat), seconds) is True
            return self._settled[facts]


def _steps(system: System) -> tuple[Steps, ...]:
    """What the Horn engine is asked about.

    Where the longest cycle is less than twice the shortest, not every time is made of whole cycles: its holds, which
    know no whole numbers, then allow too much for some claims.
    """
    return ("ordinary and holds",) if system.longest >= 2 * system.shortest else ("ordinary", "ordinary and holds")


@dataclass(frozen=True)
class Attempt:
    """Proofs are tried without the facts of the world first (`bare`): fewer things to think of, and to take on
    trust."""

    machine: Machine
    property_: Property
    claim: Claim | None
    full: Question
    bare: Question
    progress: TimeGoesOn
    clock: Clock

    @property
    def workers(self) -> Workers:
        return self.progress.workers

    def verdict(self) -> Verdict:
        for attempt in (self._example, self._induction, self._any_cycle_time):
            verdict = attempt()
            if verdict is not None:
                return verdict
            if self.clock.left <= 0:
                return self._unknown(OUT_OF_TIME)
        return self._race()

    @property
    def _questions(self) -> tuple[Question, ...]:
        """A claim about a true quantity, or one that takes frames for granted, is hopeless without facts."""
        hopeless = self.property_.arriving or any(i.name.endswith("@truth") for i in self.bare.system.inputs)
        return (self.bare, self.full) if self.full.system.constraints and not hopeless else (self.full,)

    def _example(self) -> Verdict | None:
        """What is claimed to be possible mostly is: look for an example before asking for a proof of the contrary."""
        if self.property_.kind == "safe":
            return None
        seconds = self.clock.left / 3
        found = self.workers.run(Bounded(self.full.flat, True, DEEPEST, seconds * (1 - SPARE)), seconds)
        return self._told(found) if isinstance(found, Found) and found.stretches is not None else None

    def _induction(self) -> Verdict | None:
        question = self._questions[0]
        return self._first("one-cycle induction", [(question, Induct(question.flat))])

    def _any_cycle_time(self) -> Verdict | None:
        return self._first("any cycle time", [(q, Horn(q.flat, "free")) for q in self._questions])

    def _first(self, engine: str, tasks: list[tuple[Question, Induct | Horn]]) -> Verdict | None:
        for question, task in tasks:
            answer = self.workers.run(task, self.clock.left)
            if isinstance(answer, Answer) and answer.invariant is not None:
                verdict = self._checked(engine, question, answer.invariant)
                if verdict is not None:
                    return verdict
        return None

    def _race(self) -> Verdict:
        """A bounded search beside the Horn engine; when that says "reached", the search goes on for the path."""
        proofs = [(q, Horn(q.flat, steps)) for q in self._questions for steps in _steps(q.system)]
        tasks: list[Task] = [self._bounded(holds=True), *(task for _, task in proofs)]
        troubles: list[str] = []
        searched = 0
        for done in self.workers.race(tasks, self.clock.left):
            match done.result:
                case Answer(invariant=str(invariant)):
                    verdict = self._checked("cycles and holds", proofs[done.index - 1][0], invariant)
                    if verdict is not None:
                        return verdict
                case Found(stretches=stretches) as found if stretches is not None:
                    return self._told(found)
                case Found(depth=depth):
                    searched = depth
                case Failed(reason):
                    troubles.append(reason)
                case _:
                    pass
        if self.clock.left <= SPARE * self.clock.limit:
            return self._unknown(OUT_OF_TIME, searched)
        return self._unknown(troubles[0] if troubles else "no engine could decide it", searched)

    def _bounded(self, *, holds: bool) -> Bounded:
        return Bounded(self.full.flat, holds, DEEPEST, self.clock.left - SPARE * self.clock.limit)

    def _told(self, found: Found) -> Verdict:
        seconds = self.clock.used
        made = replay(self.machine, self.property_, self.claim, found)
        if made.trace is None:
            again = self.workers.run(self._bounded(holds=False), self.clock.left)
            if isinstance(again, Found) and again.stretches is not None:
                made = replay(self.machine, self.property_, self.claim, again)
        if made.trace is None:
            return self._unknown(f"an example was found but it did not replay: {made.reason}", found.depth)
        return self._decided("bounded search", self.full, trace=made.trace, depth=found.depth, seconds=seconds)

    def _checked(self, engine: str, question: Question, invariant: str) -> Verdict | None:
        """A proof, once its certificate has passed and the facts it uses are known not to stop time; else None."""
        if self.workers.run(Recheck(question.flat, invariant), self.clock.left) is not True:
            return None
        if not self.progress.under(question.system, question.flat, self.clock.left):
            return self._unknown("it is not settled that the facts leave the world a next moment in every state")
        return self._decided(engine, question, certificate=Certificate(invariant, question is self.full))

    def _decided(
        self,
        engine: str,
        question: Question,
        *,
        certificate: Certificate | None = None,
        trace: Trace | None = None,
        depth: int = 0,
        seconds: float | None = None,
    ) -> Verdict:
        fulfilled = (trace is not None) == (self.property_.kind == "reach")
        assumed = assumed_facts(self.machine, self.property_, question.system)
        answer: Literal["proved", "refuted"] = "proved" if fulfilled else "refuted"
        taken = self.clock.used if seconds is None else seconds
        return Verdict(self.property_.name, answer, engine, taken, certificate, trace, depth=depth, assumed=assumed)

    def _unknown(self, reason: str, depth: int = 0) -> Verdict:
        assumed = assumed_facts(self.machine, self.property_, self.full.system)
        return Verdict(
            self.property_.name, "unknown", "none", self.clock.used, reason=reason, depth=depth, assumed=assumed
        )
