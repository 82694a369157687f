"""Do two rule sets do the same, in every cycle and for everything that the world may do? Proved, or a run that shows
the first difference."""

import re
import time
from dataclasses import dataclass

from latchproof.machine.cone import System, cone
from latchproof.machine.model import State
from latchproof.machine.product import OTHER
from latchproof.prove.again import Question
from latchproof.prove.found import Answer, Found
from latchproof.prove.replay import replay
from latchproof.prove.tasks import Bounded, Horn, Induct, Recheck, Refit, Task
from latchproof.prove.verdicts import Trace
from latchproof.prove.workers import Workers
from latchproof.readback.guess import guesses
from latchproof.readback.pair import Pair, pair
from latchproof.rules.model import RuleSet
from latchproof.run.interpreter import Record

NAMED = re.compile(r"\|([^|]*)\|")
DEEPEST = 30
"""Moments that are looked ahead for a difference."""


@dataclass(frozen=True, slots=True)
class Equal:
    """`invariant`: over the memory of both, checked like every other proof; `by`: what found it."""

    invariant: str
    by: str


@dataclass(frozen=True, slots=True)
class Differ:
    """`trace`: replayed; in its last cycle `outputs` differ."""

    trace: Trace
    outputs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Open:
    """`fault`: an error of this program."""

    reason: str
    fault: bool = False


Compared = Equal | Differ | Open


def equal(one: RuleSet, other: RuleSet, workers: Workers, seconds: float = 60) -> Compared:
    """Whether the two can be told apart by any channel or announcement, on a transmitter whose entries all read this
    pass and that starts afresh. Both have the same inputs, sensors and facts; tunes count at their values.

    Raises LoopError for rules that go round in a circle.
    """
    return compared(pair(one, other), workers, seconds)


def compared(p: Pair, workers: Workers, seconds: float = 60) -> Compared:
    ends = time.monotonic() + seconds
    bare, full = (Question(cone(p.machine, p.property, facts=facts)) for facts in (False, True))
    if p.settled:
        known = same(bare.system, p.same)
        passed = workers.run(Recheck(bare.flat, _all(known)), seconds)
        if passed is True:
            return Equal(_all(known), "the same step by step")
        if passed is False:
            return Open("what looks the same step by step did not survive its check", True)
        return Open("the check did not come to an end in time")
    guessed = guesses(p)
    there = {s.name for s in bare.system.states}
    facts_ = tuple(f for f in guessed.facts if set(NAMED.findall(f)) <= there)
    candidates = (*same(bare.system, (*p.same, *guessed.same)), *facts_)
    quick: list[tuple[Task, Question]] = [
        (Refit(bare.flat, candidates), bare), (Bounded(full.flat, True, DEEPEST, seconds * 9 / 20), full)
    ]  # fmt: skip
    found = _race(p, workers, quick, ends - seconds / 4)
    if isinstance(found, Open) and not found.fault:
        slow: list[tuple[Task, Question]] = [(Horn(full.flat, "ordinary and holds"), full), (Induct(bare.flat), bare)]
        found = _race(p, workers, slow, ends)
    return found


def _race(p: Pair, workers: Workers, wants: list[tuple[Task, Question]], ends: float) -> Compared:
    found = Open("no engine could decide it")
    for done in workers.race([task for task, _ in wants], max(ends - time.monotonic(), 0.1)):
        match done.result:
            case Answer(invariant=str(invariant)):
                left = max(ends - time.monotonic(), 5.0)
                passed = workers.run(Recheck(wants[done.index][1].flat, invariant), left)
                if passed is True:
                    return Equal(invariant, "the solver")
                found = Open("a proof did not survive its check", passed is False)
            case Found(stretches=stretches) as way if stretches is not None:
                made = replay(p.machine, p.property, None, way, ends)
                if made.trace is not None:
                    return Differ(made.trace, _differing(p, made.trace.records[-1]))
                found = Open(f"a difference was found but it did not replay: {made.reason}")
            case _:
                pass
    return found


def same(system: System, classes: tuple[tuple[str, ...], ...]) -> tuple[str, ...]:
    """That the cells of each class hold the same, as formulas, as far as they matter here."""
    states: dict[str, State] = {s.name: s for s in system.states}
    out = []
    for several in classes:
        there = [name for name in several if name in states]
        out += [f"(= |{there[0]}| |{name}|)" for name in there[1:]]
    return tuple(dict.fromkeys(out))


def _all(facts: tuple[str, ...]) -> str:
    return "true" if not facts else facts[0] if len(facts) == 1 else f"(and {' '.join(facts)})"


def _differing(p: Pair, last: Record) -> tuple[str, ...]:
    values = last.values
    return tuple(n for n, _, _ in p.outputs if n in values and values[n] != values.get(OTHER + n, values[n]))
