"""A claim's way through the engines, cheapest first, to a verdict that has been checked.

Engines only say "proved" or "refuted". A proof counts when its certificate passes the check against the ordinary step in a
fresh process; a refutation counts when the path found by a bounded search replays in the exact interpreter.
"""

import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from threading import Lock

from latchproof.machine.cone import System, cone
from latchproof.machine.flat import FlatSystem, flatten
from latchproof.machine.model import Machine, Property
from latchproof.prove.assumed import assumed_facts
from latchproof.prove.horn import Answer
from latchproof.prove.replay import replay
from latchproof.prove.search import Found
from latchproof.prove.tasks import Bounded, Horn, Induct, Progress, Recheck
from latchproof.prove.verdicts import Certificate, Trace, Verdict
from latchproof.prove.workers import Failed, Workers
from latchproof.rules.model import Claim

DEEPEST = 40
"""Moments that a bounded search looks ahead."""


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
    system = cone(machine, property_)
    return Attempt(machine, property_, claim, system, flatten(system), progress, clock).verdict()


class TimeGoesOn:
    """Whether facts leave the world a next moment in every state; asked once for each set of facts."""

    def __init__(self, workers: Workers) -> None:
        self.workers = workers
        self._locks: defaultdict[frozenset[int], Lock] = defaultdict(Lock)
        self._settled: dict[frozenset[int], bool] = {}

    def under(self, system: System, flat: FlatSystem, seconds: float) -> bool:
        facts = frozenset(id(c) for c in system.constraints)
        with self._locks[facts]:
            if facts not in self._settled:
                self._settled[facts] = not facts or self.workers.run(Progress(flat), seconds) is True
            return self._settled[facts]


@dataclass(frozen=True)
class Attempt:
    machine: Machine
    property_: Property
    claim: Claim | None
    system: System
    flat: FlatSystem
    progress: TimeGoesOn
    clock: Clock

    @property
    def workers(self) -> Workers:
        return self.progress.workers

    def verdict(self) -> Verdict:
        if not self.progress.under(self.system, self.flat, self.clock.left):
            return self._unknown("it is not settled that the facts leave the world a next moment in every state")
        for engine, attempt in self._engines():
            verdict = attempt()
            if verdict is not None:
                return verdict
            if self.clock.left <= 0:
                return self._unknown(f"time ran out in: {engine}")
        return self._unknown("no engine could decide it")

    def _engines(self) -> list[tuple[str, Callable[[], Verdict | None]]]:
        return [
            ("one-cycle induction", lambda: self._proof("one-cycle induction", Induct(self.flat))),
            ("any cycle time", lambda: self._proof("any cycle time", Horn(self.flat, "free"))),
            ("search and holds", self._race),
        ]

    def _proof(self, engine: str, task: Induct | Horn) -> Verdict | None:
        answer = self.workers.run(task, self.clock.left)
        if isinstance(answer, Answer) and answer.invariant is not None:
            return self._checked(engine, answer.invariant)
        return None

    def _race(self) -> Verdict | None:
        """A bounded search beside the Horn engine; when that says "reached", the search goes on for the path."""
        tasks = [Bounded(self.flat, holds=True, deepest=DEEPEST), Horn(self.flat, "ordinary and holds")]
        for done in self.workers.race(tasks, self.clock.left):
            match done.result:
                case Answer(invariant=str(invariant)):
                    verdict = self._checked("cycles and holds", invariant)
                    if verdict is not None:
                        return verdict
                case Found(stretches=stretches) as found if stretches is not None:
                    return self._told(found)
                case _:
                    pass
        return None

    def _told(self, found: Found) -> Verdict | None:
        made = replay(self.machine, self.property_, self.claim, found)
        if made.trace is None:
            again = self.workers.run(Bounded(self.flat, holds=False, deepest=DEEPEST), self.clock.left)
            if not isinstance(again, Found) or again.stretches is None:
                return self._unknown(f"an example was found but it did not replay: {made.reason}", found.depth)
            made = replay(self.machine, self.property_, self.claim, again)
        if made.trace is None:
            return self._unknown(f"an example was found but it did not replay: {made.reason}", found.depth)
        return self._decided("bounded search", trace=made.trace, depth=found.depth)

    def _checked(self, engine: str, invariant: str) -> Verdict | None:
        """A proof once its certificate has passed; None when the check was not finished.

        Raises RuntimeError when a certificate is wrong: that is a fault in this program.
        """
        holds = self.workers.run(Recheck(self.flat, invariant), max(self.clock.left, 0.0))
        if holds is False:
            if engine in ("any cycle time", "cycles and holds"):
                return None
            raise RuntimeError(f"a proof of {self.property_.name} did not survive its check")
        if holds is None or isinstance(holds, Failed):
            return None
        return self._decided(engine, certificate=Certificate(invariant))

    def _decided(
        self, engine: str, *, certificate: Certificate | None = None, trace: Trace | None = None, depth: int = 0
    ) -> Verdict:
        fulfilled = (trace is not None) == (self.property_.kind == "reach")
        return Verdict(
            self.property_.name, "proved" if fulfilled else "refuted", engine, self.clock.used, certificate, trace,
            depth=depth, assumed=assumed_facts(self.machine, self.property_, self.system),
        )  # fmt: skip

    def _unknown(self, reason: str, depth: int = 0) -> Verdict:
        return Verdict(
            self.property_.name, "unknown", "none", self.clock.used, reason=reason, depth=depth,
            assumed=assumed_facts(self.machine, self.property_, self.system),
        )  # fmt: skip
