"""A claim as text in the rule language, as it can be pasted into a rule file."""

from typing import assert_never

from latchproof.rules.model import (
    Always,
    Before,
    Can,
    Claim,
    Form,
    LengthOf,
    Never,
    QuietAfter,
    Scope,
    StartsAtMost,
    StepOf,
    Whenever,
)
from latchproof.show.phrases import bare
from latchproof.show.wording import Wording


def claim(c: Claim, w: Wording) -> str:
    """The whole statement, on one line."""
    head = f"claim {c.name}:" if c.sentence is None else f'claim {c.name} "{c.sentence}":'
    arriving = f" provided {', '.join(c.arriving)} keeps arriving" if c.arriving else ""
    strict = " strict" if c.strict else ""
    return f"{head} {form(c.form, w)}{_scope(c.scope, w)}{arriving}{strict}"


def form(f: Form, w: Wording) -> str:
    match f:
        case Never(signal=signal):
            return f"never {w.signal(signal)}"
        case Always(signal=signal):
            return f"always {w.signal(signal)}"
        case Whenever(cause=cause, effect=effect, within=within):
            soon = "" if within is None else f" within {w.duration(within)}"
            return f"whenever {w.signal(cause)} then {w.signal(effect)}{soon}"
        case Before(signal=signal, first=first):
            return f"before {bare(signal, w)} comes {bare(first, w)}"
        case StartsAtMost(signal=signal, count=count, window=window):
            return f"starts of {bare(signal, w)} at most {count} in {w.duration(window)}"
        case QuietAfter(duration=duration, cause=cause, never=never):
            return f"for {w.duration(duration)} after {bare(cause, w)} never {bare(never, w)}"
        case LengthOf(signal=signal, bound=bound, duration=duration):
            return f"length of {bare(signal, w)} at {bound} {w.duration(duration)}"
        case StepOf(number=number, most=most, window=window):
            return f"step of {w.number(number)} at most {w.number(most)} in {w.duration(window)}"
        case Can(stages=stages):
            return f"can {' then '.join(bare(s, w) for s in stages)}"
        case _:
            assert_never(f)


def _scope(s: Scope | None, w: Wording) -> str:
    return "" if s is None else f" {s.kind} {bare(s.signal, w)}"
