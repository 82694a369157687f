"""How a story ends: what the claim says of the last moment, with the numbers that were seen there."""

from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from latchproof.prove.reasons import Seen, reasons
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
from latchproof.run.expressions import Reader


@dataclass(frozen=True, slots=True)
class Ending:
    """What was seen in the last cycle (`seen`), of what began it in the cycle it goes back to (`began`), and of the
    scope. `elapsed`: seconds from there to the end; `cycles`: the same in cycles. `numbers`: the first and last value
    and the bound of a step; `bound`: the time the claim allows, in seconds or cycles."""

    seen: tuple[Seen, ...] = ()
    began: tuple[Seen, ...] = ()
    scope: tuple[Seen, ...] = ()
    elapsed: Fraction = Fraction(0)
    cycles: int = 0
    numbers: tuple[Fraction, ...] = ()
    bound: Fraction | None = None


def ending(claim: Claim | None, reader: Reader, since: int) -> Ending:
    """For a claim that is broken (or a `can` fulfilled) in the last cycle, going back to cycle `since`."""
    last = len(reader.records) - 1
    elapsed = reader.records[last].time - reader.records[since].time
    if claim is None:
        return Ending(elapsed=elapsed, cycles=last - since)
    scope = () if claim.scope is None or claim.scope.kind == "since" else reasons(claim.scope.signal, reader, last)
    seen: tuple[Seen, ...] = ()
    began: tuple[Seen, ...] = ()
    numbers: tuple[Fraction, ...] = ()
    span: e.Duration | None = None
    match claim.form:
        case Never(signal=signal) | Always(signal=signal):
            seen = reasons(signal, reader, last)
        case Whenever(cause=cause, effect=effect, within=within):
            seen, began, span = reasons(effect, reader, last), reasons(cause, reader, since), within
        case Before(signal=signal):
            seen = reasons(signal, reader, last)
        case StartsAtMost(window=window):
            span = window
        case QuietAfter(duration=duration, never=never):
            seen, span = reasons(never, reader, last), duration
        case LengthOf(duration=duration):
            span = duration
        case StepOf(number=number, most=most, window=window):
            values = reader.number(number)
            numbers, span = (values[since], values[last], reader.number(most)[last]), window
        case Can(stages=stages):
            seen = reasons(stages[-1], reader, last)
        case _:
            assert_never(claim.form)
    bound = None if span is None else reader.number(span.amount)[last]
    return Ending(seen, began, scope, elapsed, last - since, numbers, bound)
