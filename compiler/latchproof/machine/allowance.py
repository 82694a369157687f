"""How many cycles a claim allows for entries that read one another late.

An allowance must never empty a claim. What cannot last longer than it is meant to last gets none: moments (edges,
announcements, pulses) under `never` and `always`, counts, steps and examples. Of a stretch of time at least one of the
longest cycles is left.
"""

from fractions import Fraction
from math import ceil

from latchproof.machine.reads import parts
from latchproof.machine.spans import known_spans, span_of
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Always,
    Assumption,
    Before,
    Can,
    Claim,
    LengthOf,
    Never,
    QuietAfter,
    RuleSet,
    StartsAtMost,
    StepOf,
    Whenever,
)


def allowed(claim: Claim | Assumption, most: int, rules: RuleSet) -> int:
    """The cycles that this claim allows for when there may be `most`."""
    if most == 0 or isinstance(claim, Assumption) or claim.strict:
        return 0
    match claim.form:
        case Never(signal=signal) | Always(signal=signal):
            return 0 if _passes_at_once(signal, most, rules) else most
        case Whenever() | Before() | LengthOf(bound="most"):
            return most
        case QuietAfter(duration=duration) | LengthOf(duration=duration):
            return min(most, _room(duration, rules))
        case StartsAtMost() | StepOf() | Can():
            return 0


def _room(duration: e.Duration, rules: RuleSet) -> int:
    """How many of the longest cycles can be taken from it so that something is left."""
    least, _ = span_of(duration.amount, rules, known_spans(rules))
    if least is None:
        return 0
    cycles = least if duration.in_cycles else least / rules.cycle.longest
    return max(0, ceil(cycles) - 1)


def _passes_at_once(signal: e.Signal, most: int, rules: RuleSet) -> bool:
    """Whether something in it is a moment that may be over within the allowance."""
    meanings: dict[str, e.Signal] = {r.role: r.signal for r in rules.roles}
    meanings |= {s.name: s.signal for s in rules.signals}
    told = {f"{x.name}.announced" for x in rules.rules} | {f"{x.name}.announced" for x in rules.sequences}
    waiting: list[object] = [signal]
    seen: set[str] = set()
    while waiting:
        x = waiting.pop()
        match x:
            case e.Edge():
                return True
            case e.NamedSignal(name):
                if name in told:
                    return True
                if name in meanings and name not in seen:
                    seen.add(name)
                    waiting.append(meanings[name])
            case e.Timed(kind="extended" | "pulsed", duration=duration):
                if not _lasts(duration, most, rules):
                    return True
            case str() | None:
                pass
            case _:
                waiting.extend(parts(x))
    return False


def _lasts(duration: e.Duration, most: int, rules: RuleSet) -> bool:
    return _room(duration, rules) >= most


def longest_time(cycles: int, rules: RuleSet) -> Fraction:
    """Seconds that so many cycles can take."""
    return cycles * rules.cycle.longest
