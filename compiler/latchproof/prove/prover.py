"""A claim's way through the engines, cheapest first, to a verdict that has been checked.

Engines only say "proved" or "refuted". A proof counts when its certificate passes the check against the ordinary step
in a fresh process; a refutation counts when the path found by a bounded search replays in the exact interpreter.
"""

import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, replace
from typing import Literal

from latchproof.machine.cone import System
from latchproof.machine.model import Machine, Property
from latchproof.prove.again import Asked, Question, asked, standing
from latchproof.prove.assumed import assumed_facts
from latchproof.prove.formulas import NoFormulaError, conjuncts, is_formula, one_tree
from latchproof.prove.found import Answer, Found
from latchproof.prove.going_on import OUT_OF_TIME, TimeGoesOn
from latchproof.prove.least import Allowing, least
from latchproof.prove.memory import FORGETFUL, Keepsake, Memory, fits, symbols
from latchproof.prove.processes import Failed
from latchproof.prove.replay import Replayed, replay
from latchproof.prove.tasks import Bounded, Horn, Induct, Recheck, Refit, Steps, Task
from latchproof.prove.verdicts import Certificate, Trace, Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim

DEEPEST = 40
"""Moments that a bounded search looks ahead."""
PATIENCE = 12_000_000
"""The solver's own small steps, about two seconds of a quiet machine, that are spent on what may be hopeless: a proof
with any cycle time, and one without the facts. Counted like this they come to the same on every machine."""
AS_LATELY = "last time's proof"
HINT_SHARE = 4
"""The part of what is left of a claim's time that looking at last time's proof may take."""
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


def prove_all(
    machine: Machine, workers: Workers, *, time_limit: float, at_once: int, memory: Memory = FORGETFUL
) -> Iterator[Verdict]:
    """Verdicts of all claims and unwritten properties, as they arrive."""
    for _, verdict in prove_each((machine,), workers, time_limit=time_limit, at_once=at_once, memory=memory):
        yield verdict


def prove_each(
    machines: Sequence[Machine], workers: Workers, *, time_limit: float, at_once: int, memory: Memory = FORGETFUL
) -> Iterator[tuple[int, Verdict]]:
    """The verdicts of one machine after the other, each with the place of its machine. Kept proofs of all of them are
    checked together, before anything else."""
    progress = TimeGoesOn(workers)
    every = [
        {p.name: asked(machine, p, claims.get(p.name)) for p in machine.properties}
        for machine in machines
        for claims in [{c.name: c for c in machine.rules.claims}]
    ]
    together = [one for several in every for one in several.values()]
    stand = standing(together, memory, progress, seconds=time_limit, at_once=at_once)
    for place, (machine, questions) in enumerate(zip(machines, every, strict=True)):
        for verdict in _verdicts(machine, questions, stand, progress, memory, time_limit, at_once):
            yield place, verdict


def _verdicts(
    machine: Machine,
    every: Mapping[str, Asked],
    stand: frozenset[str],
    progress: TimeGoesOn,
    memory: Memory,
    time_limit: float,
    at_once: int,
) -> Iterator[Verdict]:
    claims = {c.name: c for c in machine.rules.claims}
    allowing = Allowing(machine)

    def attempt(wanted: Machine, property_: Property, claim: Claim | None, seconds: float) -> Verdict:
        question = every[property_.name] if wanted is machine else asked(wanted, property_, claim)
        return _prove(wanted, property_, claim, question, progress, seconds, memory, stand)

    with ThreadPoolExecutor(max_workers=at_once) as threads:
        waiting: set[Future[Verdict]] = {
            threads.submit(least, allowing, p, claims.get(p.name), attempt, time_limit) for p in machine.properties
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
    question = asked(machine, property_, claim)
    return _prove(machine, property_, claim, question, TimeGoesOn(workers), time_limit, FORGETFUL, frozenset())


def _prove(
    machine: Machine,
    property_: Property,
    claim: Claim | None,
    question: Asked,
    progress: TimeGoesOn,
    time_limit: float,
    memory: Memory,
    stand: frozenset[str],
) -> Verdict:
    """`stand`: the keys of questions whose kept proof has passed its check in this run."""
    clock = Clock(time.monotonic(), time_limit)
    lately = memory.lately(property_.name)
    attempt = Attempt(machine, property_, claim, question, progress, clock, lately)
    kept = memory.exactly(question.key)
    verdict = None if kept is None else attempt.remembered(kept, passed=question.key in stand)
    return replace(attempt.verdict() if verdict is None else verdict, key=question.key)


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
    asked: Asked
    progress: TimeGoesOn
    clock: Clock
    lately: Keepsake | None = None

    @property
    def full(self) -> Question:
        return self.asked.full

    @property
    def bare(self) -> Question:
        return self.asked.bare

    @property
    def workers(self) -> Workers:
        return self.progress.workers

    def remembered(self, kept: Keepsake, *, passed: bool) -> Verdict | None:
        """What an earlier run found for the very same question, if it still stands; a proof that has `passed` its check
        does."""
        found: Verdict | None = None
        if kept.found is not None and fits(kept.found, self.full.system):
            seconds = self.clock.used
            made = self._replayed(kept.found)
            if made.trace is not None:
                found = self._by_trace(kept.found, made.trace, seconds)
        elif kept.invariant is not None and (question := self.asked.proved_of(kept)) is not None:
            if passed:
                found = self._accepted(kept.engine, question, kept.invariant)
            else:
                found = self._checked(kept.engine, question, kept.invariant, ours=False)
        return None if found is None else replace(found, remembered=True)

    def verdict(self) -> Verdict:
        for attempt in (self._example, self._induction, self._like_lately, self._any_cycle_time):
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

    def _like_lately(self) -> Verdict | None:
        """The proof that the claim of this name had before the rules were changed, or what of it still holds."""
        if self.lately is None or self.lately.invariant is None:
            return None
        question = self._questions[-1 if self.lately.with_facts else 0]
        names = symbols(question.system)
        try:
            parts = conjuncts(one_tree(self.lately.invariant))
        except NoFormulaError:
            return None
        known = tuple(part for part in parts if is_formula(part, names))
        if len(known) == len(parts) and is_formula(self.lately.invariant, names):
            verdict = self._checked(AS_LATELY, question, self.lately.invariant, ours=False)
            if verdict is not None:
                return verdict
        answer = self.workers.run(Refit(question.flat, known), self.clock.left / HINT_SHARE)
        if isinstance(answer, Answer) and answer.invariant is not None:
            return self._checked(AS_LATELY, question, answer.invariant)
        return None

    def _any_cycle_time(self) -> Verdict | None:
        return self._first("any cycle time", [(q, Horn(q.flat, "free", PATIENCE)) for q in self._questions])

    def _first(self, engine: str, tasks: list[tuple[Question, Induct | Horn]]) -> Verdict | None:
        for question, task in tasks:
            answer = self.workers.run(task, self.clock.left)
            if isinstance(answer, Answer) and answer.invariant is not None:
                verdict = self._checked(engine, question, answer.invariant)
                if verdict is not None:
                    return verdict
        return None

    def _race(self) -> Verdict:
        """A bounded search beside the Horn engine; when that says "reached", the search goes on for the path.

        A proof with the facts is looked for when there is none without them: else the machine's load would decide what
        a verdict rests on.
        """
        last = self._questions[-1]
        efforts = [(q, 0 if q is last else PATIENCE) for q in self._questions]
        proofs = [(q, Horn(q.flat, steps, effort)) for q, effort in efforts for steps in _steps(q.system)]
        first = {k for k, (q, _) in enumerate(proofs, 1) if q is self._questions[0]}
        tasks: list[Task] = [self._bounded(holds=True), *(task for _, task in proofs[: len(first)])]
        troubles: dict[int, str] = {}
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
                    troubles[done.index] = reason
                case _:
                    pass
            if first and not (first := first - {done.index}):
                tasks += [task for _, task in proofs[len(tasks) - 1 :]]
        if self.clock.left <= SPARE * self.clock.limit:
            return self._unknown(OUT_OF_TIME, searched)
        return self._unknown(troubles[min(troubles)] if troubles else "no engine could decide it", searched)

    def _bounded(self, *, holds: bool) -> Bounded:
        return Bounded(self.full.flat, holds, DEEPEST, self.clock.left - SPARE * self.clock.limit)

    def _told(self, found: Found) -> Verdict:
        seconds = self.clock.used
        made = self._replayed(found)
        if made.trace is None and self.clock.left > 0:
            again = self.workers.run(self._bounded(holds=False), self.clock.left)
            if isinstance(again, Found) and again.stretches is not None:
                found, made = again, self._replayed(again)
        if made.trace is not None:
            return self._by_trace(found, made.trace, seconds)
        if self.clock.left <= SPARE * self.clock.limit:
            return self._unknown(OUT_OF_TIME, found.depth)
        return self._unknown(f"an example was found but it did not replay: {made.reason}", found.depth)

    def _replayed(self, found: Found) -> Replayed:
        return replay(self.machine, self.property_, self.claim, found, self.clock.started + self.clock.limit)

    def _by_trace(self, found: Found, trace: Trace, seconds: float) -> Verdict:
        kept = Keepsake("bounded search", True, found=found)
        return self._decided("bounded search", self.full, kept, trace=trace, depth=found.depth, seconds=seconds)

    def _checked(self, engine: str, question: Question, invariant: str, *, ours: bool = True) -> Verdict | None:
        """A proof, once its certificate has passed and the facts it uses are known not to stop time; else None.

        When an engine of this run says that it has one (`ours`) and it has none, something that verdicts stand on is
        wrong: no other engine is asked then.
        """
        passed = self.workers.run(Recheck(question.flat, invariant), self.clock.left)
        if passed is False and ours:
            return replace(
                self._unknown(f"internal error: the proof ({engine}) did not survive its check"), broken=True
            )
        return self._accepted(engine, question, invariant) if passed is True else None

    def _accepted(self, engine: str, question: Question, invariant: str) -> Verdict:
        """A proof whose certificate has passed."""
        goes_on = self.progress.under(question.system, self.clock.left)
        if goes_on is None:
            return self._unknown(OUT_OF_TIME)
        if not goes_on:
            return self._unknown("it is not settled that the facts leave the world a next moment in every state")
        kept = Keepsake(engine, question is self.full, invariant)
        return self._decided(engine, question, kept, certificate=Certificate(invariant, question is self.full))

    def _decided(
        self,
        engine: str,
        question: Question,
        keepsake: Keepsake,
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
        name = self.property_.name
        return Verdict(name, answer, engine, taken, certificate, trace, depth=depth, assumed=assumed, keepsake=keepsake)

    def _unknown(self, reason: str, depth: int = 0) -> Verdict:
        assumed = assumed_facts(self.machine, self.property_, self.full.system)
        return Verdict(
            self.property_.name, "unknown", "none", self.clock.used, reason=reason, depth=depth, assumed=assumed
        )
