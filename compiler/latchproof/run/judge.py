"""Whether a claim is broken on a finished run, by looking at the whole run. Shares nothing with the monitors."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

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
    match claim.form:
        case Never(signal=signal):
            now = r.signal(signal)
            yield from (Finding(k, k) for k in stretch if now[k])
        case Always(signal=signal):
            now = r.signal(signal)
            yield from (Finding(k, k) for k in stretch if not now[k])
        case Whenever(cause=cause, effect=effect, within=within):
            yield from _response(r, stretch, r.signal(cause), r.signal(effect), within)
        case Before(signal=signal, first=first):
            now, came = r.signal(signal), r.signal(first)
            for k in stretch:
                if came[k]:
                    return
                if now[k]:
                    yield Finding(k, k)
        case StartsAtMost(signal=signal, count=count, window=window):
            yield from _starts(r, stretch, r.signal(signal), count, window)
        case QuietAfter(duration=duration, cause=cause, never=never):
            yield from _quiet(r, stretch, r.signal(cause), r.signal(never), duration)
        case LengthOf(signal=signal, bound=bound, duration=duration):
            yield from _length(r, stretch, r.signal(signal), duration, most=bound == "most")
        case StepOf(number=number, most=most, window=window):
            yield from _step(r, stretch, r.number(number), r.number(most), window)
        case Can(stages=stages):
            yield from _reaches(stretch, [r.signal(s) for s in stages])
        case _:
            assert_never(claim.form)


def _response(
    r: Reader, stretch: range, cause: list[bool], effect: list[bool], within: e.Duration | None
) -> Iterator[Finding]:
    if within is None:
        yield from (Finding(k, k) for k in stretch if cause[k] and not effect[k])
        return
    spans = r.number(within.amount)
    oldest: int | None = None
    for k in stretch:
        oldest = k if oldest is None and cause[k] else oldest
        if oldest is None:
            continue
        if r.since(oldest, k, within.in_cycles) > spans[k] or (spans[k] == 0 and not effect[k]):
            yield Finding(k, oldest)
            return
        oldest = None if effect[k] else oldest


def _starts(r: Reader, stretch: range, now: list[bool], most: int, window: e.Duration) -> Iterator[Finding]:
    spans = r.number(window.amount)
    begins = [k for k in stretch if now[k] and not (k and now[k - 1])]
    for first, last in zip(begins, begins[most:], strict=False):
        if r.since(first, last, window.in_cycles) <= spans[last]:
            yield Finding(last, first)


def _quiet(r: Reader, stretch: range, cause: list[bool], never: list[bool], duration: e.Duration) -> Iterator[Finding]:
    spans = r.number(duration.amount)
    coming: int | None = None
    for start in reversed(stretch):
        if cause[start] and coming is not None:
            elapsed = r.since(start, coming, duration.in_cycles)
            if elapsed < spans[coming] or (elapsed == spans[coming] and duration.in_cycles):
                yield Finding(coming, start)
        coming = start if never[start] else coming


def _length(r: Reader, stretch: range, now: list[bool], duration: e.Duration, *, most: bool) -> Iterator[Finding]:
    spans = r.number(duration.amount)
    for start in stretch:
        if not now[start] or (start > stretch.start and now[start - 1]):
            continue
        end = next((k for k in range(start, stretch.stop) if not now[k]), None)
        if most:
            last = stretch.stop if end is None else end + 1
            late = (k for k in range(start, last) if r.since(start, k, duration.in_cycles) > spans[k])
            yield from (Finding(k, start) for k in late)
        elif (
            end is not None and not (start and now[start - 1]) and r.since(start, end, duration.in_cycles) < spans[end]
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
