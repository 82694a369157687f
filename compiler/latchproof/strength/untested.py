"""Claims that are proved and were never put to the test: what they speak of can never arise."""

from collections.abc import Sequence
from dataclasses import replace

from latchproof.machine.model import Machine
from latchproof.prove.verdicts import Verdict
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Always,
    Before,
    Can,
    Claim,
    LengthOf,
    Never,
    QuietAfter,
    StartsAtMost,
    StepOf,
    Whenever,
)


def situation(claim: Claim) -> e.Signal | None:
    """What must arise for the claim to say anything; inside its scope, where it has one. None: it always speaks."""
    match claim.form:
        case Whenever(cause=signal) | QuietAfter(cause=signal) | Before(signal=signal):
            return signal
        case LengthOf(signal=signal) | StartsAtMost(signal=signal):
            return signal
        case Never() | Always() | StepOf():
            return None if claim.scope is None else claim.scope.signal
        case Can():
            return None


def question(claim: Claim) -> Claim | None:
    """`can SITUATION`, in the scope of the claim."""
    signal = situation(claim)
    if signal is None:
        return None
    scope = claim.scope
    if scope is not None and scope.kind == "since" and signal == scope.signal:
        signal, scope = e.Edge("begins", signal, span=scope.span), None
    return replace(claim, form=Can((signal,), span=claim.form.span), scope=scope, strict=False)


def questions(machine: Machine, verdicts: Sequence[Verdict]) -> tuple[Claim, ...]:
    """For every proved claim that may never be put to the test."""
    proved = {v.claim for v in verdicts if v.answer == "proved"}
    return tuple(q for c in machine.rules.claims if c.name in proved and (q := question(c)) is not None)
