"""What must be said beside verdicts so that nobody takes them for more than they are."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

from latchproof.diagnostics import Diagnostic, Label, in_order
from latchproof.machine.cone import cone
from latchproof.machine.flat import flatten
from latchproof.machine.model import Machine
from latchproof.prove.found import Stuck
from latchproof.prove.tasks import Stick
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim
from latchproof.strength.flights import Flight, flights
from latchproof.strength.questions import Questions
from latchproof.strength.rests_on import rests_on
from latchproof.strength.sanity import warnings, wishes
from latchproof.strength.untested import question, situation
from latchproof.strength.world import contradictions

GOOD_CYCLES = 3
"""Cycles without a breach before the one in which a proof that sticks is shown."""

ASKED = "is it put to the test: "


@dataclass(frozen=True, slots=True)
class Honest:
    """`verdicts` with `untested` filled in; `found` are warnings and errors at their places; `open`: claims of which it
    could not be settled whether they are ever put to the test; `flights` showed what can happen."""

    verdicts: tuple[Verdict, ...]
    found: tuple[Diagnostic, ...]
    open: tuple[str, ...] = ()
    flights: tuple[Flight, ...] = ()


def honest(
    machine: Machine,
    verdicts: Sequence[Verdict],
    workers: Workers,
    *,
    time_limit: float,
    at_once: int,
    kept: Sequence[Flight] = (),
) -> Honest:
    """`kept`: flights that an earlier run found."""
    wrong = contradictions(machine, workers, time_limit)
    if any(d.severity == "error" for d in wrong):
        return Honest(tuple(verdicts), wrong)
    proved = {v.claim for v in verdicts if v.answer == "proved"}
    claims = {ASKED + c.name: c for c in machine.rules.claims if c.name in proved and situation(c) is not None}
    asked = wishes(machine.rules)
    about = tuple(replace(q, name=name) for name, c in claims.items() if (q := question(c)) is not None)
    questions = Questions(machine.rules, (*(w.question for w in asked), *about), workers, time_limit, at_once)
    answers, flown = questions.ask(flights(verdicts), kept)
    untested = {c.name: answers[name] for name, c in claims.items() if answers[name] != "yes"}
    told = tuple(_untested(c) for c in machine.rules.claims if untested.get(c.name) == "no")
    marked = tuple(replace(v, untested=untested.get(v.claim) == "no") for v in verdicts)
    marked = tuple(_with_stuck(machine, v, workers, time_limit) for v in marked)
    unsettled = tuple(name for name, answer in untested.items() if answer == "open")
    return Honest(marked, in_order((*wrong, *warnings(asked, answers), *told)), unsettled, flown)


def _with_stuck(machine: Machine, v: Verdict, workers: Workers, seconds: float) -> Verdict:
    """Of a claim that is not decided, the state in which its proof sticks."""
    property_ = next(p for p in machine.properties if p.name == v.claim)
    if v.answer != "unknown" or property_.kind == "reach":
        return v
    answer = workers.run(Stick(flatten(cone(machine, property_)), GOOD_CYCLES), seconds)
    return replace(v, stuck=answer) if isinstance(answer, Stuck) else v


def reasons(
    machine: Machine, verdicts: Sequence[Verdict], workers: Workers, *, time_limit: float, at_once: int
) -> tuple[Verdict, ...]:
    """The verdicts with what each proof rests on."""
    with ThreadPoolExecutor(max_workers=at_once) as threads:
        jobs = [threads.submit(rests_on, machine, v, workers, time_limit) for v in verdicts]
        return tuple(replace(v, rests_on=job.result()) for v, job in zip(verdicts, jobs, strict=True))


def _untested(c: Claim) -> Diagnostic:
    signal = situation(c)
    assert signal is not None
    place = signal.span
    inside = "" if c.scope is None or signal == c.scope.signal else " where the promise counts"
    return Diagnostic(
        "never-tested",
        f"{c.name} is proved, but never put to the test",
        (Label(place, f"this never comes true{inside}, whatever the pilot and the air do"),),
        ("see what keeps it from coming true: as it stands, the promise says nothing",),
        "warning",
    )
