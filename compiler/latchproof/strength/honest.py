"""What must be said beside verdicts so that nobody takes them for more than they are."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from latchproof.diagnostics import Diagnostic, Label, in_order
from latchproof.machine.model import Machine
from latchproof.prove.verdicts import Verdict
from latchproof.prove.workers import Workers
from latchproof.rules.model import Claim
from latchproof.strength.flights import flights
from latchproof.strength.questions import Questions
from latchproof.strength.sanity import warnings, wishes
from latchproof.strength.untested import question, situation
from latchproof.strength.world import contradictions

ASKED = "is it put to the test: "


@dataclass(frozen=True, slots=True)
class Honest:
    """`verdicts` with `untested` filled in; `found` are warnings and errors at their places; `open`: claims of which it
    could not be settled whether they are ever put to the test."""

    verdicts: tuple[Verdict, ...]
    found: tuple[Diagnostic, ...]
    open: tuple[str, ...] = ()


def honest(
    machine: Machine, verdicts: Sequence[Verdict], workers: Workers, *, time_limit: float, at_once: int
) -> Honest:
    wrong = contradictions(machine, workers, time_limit)
    if any(d.severity == "error" for d in wrong):
        return Honest(tuple(verdicts), wrong)
    proved = {v.claim for v in verdicts if v.answer == "proved"}
    claims = {ASKED + c.name: c for c in machine.rules.claims if c.name in proved and situation(c) is not None}
    asked = wishes(machine.rules)
    about = tuple(replace(q, name=name) for name, c in claims.items() if (q := question(c)) is not None)
    questions = Questions(machine.rules, (*(w.question for w in asked), *about), workers, time_limit, at_once)
    answers = questions.ask(flights(verdicts))
    untested = {c.name: answers[name] for name, c in claims.items() if answers[name] != "yes"}
    told = tuple(_untested(c) for c in machine.rules.claims if untested.get(c.name) == "no")
    marked = tuple(replace(v, untested=untested.get(v.claim) == "no") for v in verdicts)
    unsettled = tuple(name for name, answer in untested.items() if answer == "open")
    return Honest(marked, in_order((*wrong, *warnings(asked, answers), *told)), unsettled)


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
