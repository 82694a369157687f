"""Whether a claim is broken on a finished run, by looking at the whole run.

Shares nothing with the monitors but the number of cycles that a claim allows for.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from latchproof.machine.allowance import allowed, longest_time
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
    StartsAtMost,
    StepOf,
    Whenever,
)
from latchproof.run.expressions import Reader


@dataclass(frozen=True, slots=True)
class Finding:
    """The first cycle in which the claim is seen broken (or a `can` claim fulfilled), and the cycle it goes back to."""

    cycle: int
    since: int


def judge(claim: Claim | Assumption, reader: Reader) -> Finding | None:
    """The earliest finding, or None."""
    findings = [f for stretch in _stretches(claim, reader) for f in _findings(claim, reader, stretch)]
    return min(findings, key=lambda f: (f.cycle, f.since), default=None)


def _stretches(claim: Claim | Assumption, reader: Reader) -> list[range]:
    """Unbroken stretches of the scope."""
    n = len(reader.records)
    if claim.scope is None:
        return [range(n)]
    now = reader.signal(claim.scope.signal)
    if claim.scope.kind == "since":
        starts = [k for k in range(n) if now[k] and not (k and now[k - 1])]
        return [range(a, b) for a, b in zip(starts, [*starts[1:], n], strict=False)]
    starts = [k for k in range(n) if now[k] and not (k and now[k - 1])]
    return [range(a, next((k for k in range(a, n) if not now[k]), n)) for a in starts]


def _findings(claim: Claim | Assumption, r: Reader, stretch: range) -> Iterator[Finding]:
    late = allowed(claim, r.machine.allowances.get(claim.name, 0), r.machine.rules)
    match claim.form:
        case Never(signal=signal):
            yield from _lasting(stretch, r.signal(signal), late)
        case Always(signal=signal):
            yield from _lasting(stretch, [not v for v in r.signal(signal)], late)
        case Whenever(cause=cause, effect=effect, within=within):
            yield from _response(r, stretch, r.signal(cause), r.signal(effect), within, late)
        case Before(signal=signal, first=first):
            yield from _before(stretch, r.signal(signal), r.signal(first), late)
        case StartsAtMost(signal=signal, count=count, window=window):
            yield from _starts(r, stretch, r.signal(signal), count, window)
        case QuietAfter(duration=duration, cause=cause, never=never):
            yield from _quiet(r, stretch, r.signal(cause), r.signal(never), duration, late)
        case LengthOf(signal=signal, bound=bound, duration=duration):
            yield from _length(r, stretch, r.signal(signal), duration, late, most=bound == "most")
        case StepOf(number=number, most=most, window=window):
            yield from _step(r, stretch, r.number(number), r.number(most), window)
        case Can(stages=stages):
            yield from _reaches(stretch, [r.signal(s) for s in stages])
        case _:
            assert_never(claim.form)


def _lasting(stretch: range, bad: list[bool], late: int) -> Iterator[Finding]:
    """Each cycle that is bad, as were as many before it."""
    good = stretch.start - 1
    for k in stretch:
        good = good if bad[k] else k
        if k - good > late:
            yield Finding(k, k - late)


def _before(stretch: range, now: list[bool], came: list[bool], late: int) -> Iterator[Finding]:
    early = next((k for k in stretch if now[k] or came[k]), None)
    if early is not None and early + late in stretch and not any(came[early : early + late + 1]):
        yield Finding(early + late, early)


def _response(
    r: Reader, stretch: range, cause: list[bool], effect: list[bool], within: e.Duration | None, late: int
) -> Iterator[Finding]:
    if within is None or (isinstance(within.amount, e.Constant) and not within.amount.value):
        last = range(stretch.start + late, stretch.stop)
        yield from (Finding(k, k - late) for k in last if cause[k - late] and not any(effect[k - late : k + 1]))
        return
    spans = r.number(within.amount)
    over = 0
    oldest: int | None = None
    for k in stretch:
        oldest = k if oldest is None and cause[k] else oldest
        if oldest is None:
            continue
        over += r.since(oldest, k, within.in_cycles) > spans[k] or (spans[k] == 0 and not effect[k])
        if over > late:
            yield Finding(k, oldest)
            return
        oldest, over = (None, 0) if effect[k] else (oldest, over)


def _starts(r: Reader, stretch: range, now: list[bool], most: int, window: e.Duration) -> Iterator[Finding]:
    spans = r.number(window.amount)
    begins = [k for k in stretch if now[k] and not (k and now[k - 1])]
    for first, last in zip(begins, begins[most:], strict=False):
        if r.since(first, last, window.in_cycles) <= spans[last]:
            yield Finding(last, first)


def _quiet(
    r: Reader, stretch: range, cause: list[bool], never: list[bool], duration: e.Duration, late: int
) -> Iterator[Finding]:
    spans = r.number(duration.amount)
    coming: int | None = None
    for start in reversed(stretch):
        counts = start + late + 1
        coming = counts if counts in stretch and never[counts] else coming
        if cause[start] and coming is not None:
            elapsed = r.since(start, coming, duration.in_cycles)
            if elapsed < spans[coming] or (elapsed == spans[coming] and duration.in_cycles):
                yield Finding(coming, start)


def _length(
    r: Reader, stretch: range, now: list[bool], duration: e.Duration, late: int, *, most: bool
) -> Iterator[Finding]:
    spans = r.number(duration.amount)
    less = Fraction(late) if duration.in_cycles else longest_time(late, r.machine.rules)
    for start in stretch:
        if not now[start] or (start > stretch.start and now[start - 1]):
            continue
        end = next((k for k in range(start, stretch.stop) if not now[k]), None)
        if most:
            last = stretch.stop if end is None else end + 1
            over = [k for k in range(start, last) if r.since(start, k, duration.in_cycles) > spans[k]]
            yield from (Finding(k, start) for k in over[late:])
        elif (
            end is not None
            and not (start and now[start - 1])
            and r.since(start, end, duration.in_cycles) < spans[end] - less
        ):
            yield Finding(end, start)


def _step(
    r: Reader, stretch: range, value: list[Fraction], most: list[Fraction], window: e.Duration
) -> Iterator[Finding]:
    spans = r.number(window.amount)
    for k in stretch:
        for start in range(k - 1, stretch.start - 1, -1):
            if r.since(start, k, window.in_cycles) > spans[k]:
                break
            if abs(value[k] - value[start]) > most[k]:
                yield Finding(k, start)
                break


def _reaches(stretch: range, stages: list[list[bool]]) -> Iterator[Finding]:
    stage, first = 0, 0
    for k in stretch:
        if stages[stage][k]:
            first = first if stage else k
            stage += 1
            if stage == len(stages):
                yield Finding(k, first)
                return
