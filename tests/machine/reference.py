"""Every element once more, from the language's reference, over plain lists: one value a cycle, no memory cells.

`dts` are the cycle times in seconds; spans are given for every cycle, since a delay may be set by a knob while it runs.
Nothing here is shared with the machine.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

Bools = Sequence[bool]
Numbers = Sequence[Fraction]


@dataclass(frozen=True, slots=True)
class Clock:
    """Elapsed from cycle `a` to cycle `b`: in seconds, or in cycles."""

    dts: Numbers
    in_cycles: bool = False

    def elapsed(self, a: int, b: int) -> Fraction:
        return Fraction(b - a) if self.in_cycles else sum(self.dts[a + 1 : b + 1], Fraction(0))


def began(signal: Bools, k: int) -> int:
    """The cycle in which the stretch of equal values that contains cycle k began."""
    while k and signal[k - 1] == signal[k]:
        k -= 1
    return k


def on_delay(signal: Bools, span: Numbers, clock: Clock) -> list[bool]:
    """`S for D`."""
    return [s and clock.elapsed(began(signal, k), k) >= span[k] for k, s in enumerate(signal)]


def off_delay(signal: Bools, span: Numbers, clock: Clock) -> list[bool]:
    """`S extended D`: once it has fallen it does not come back by itself."""
    out: list[bool] = []
    for k, s in enumerate(signal):
        fell = began(signal, k)
        out.append(s or (bool(out) and out[-1] and clock.elapsed(fell, k) < span[k]))
    return out


def pulse(signal: Bools, span: Numbers, clock: Clock) -> list[bool]:
    """`S pulsed D`: a rising edge while the pulse runs, or in the cycle in which it ends, starts nothing."""
    out: list[bool] = []
    start = None
    for k, s in enumerate(signal):
        if start is not None:
            running = clock.elapsed(start, k) < span[k]
            if not running:
                start = None
        elif s and not (k and signal[k - 1]) and span[k] > 0:
            start, running = k, True
        else:
            running = False
        out.append(running)
    return out


def begins(signal: Bools) -> list[bool]:
    return [s and not (k and signal[k - 1]) for k, s in enumerate(signal)]


def ends(signal: Bools) -> list[bool]:
    return [not s and k > 0 and signal[k - 1] for k, s in enumerate(signal)]


def latch(sets: Bools, resets: Bools, *, set_wins: bool = False) -> list[bool]:
    out: list[bool] = []
    for s, r in zip(sets, resets, strict=True):
        before = bool(out) and out[-1]
        if s and r:
            out.append(set_wins)
        else:
            out.append(s or (before and not r))
    return out


def latch_with_timeout(
    sets: Bools,
    resets: Bools,
    span: Numbers,
    clock: Clock,
    block_clock: Clock,
    *,
    set_wins: bool = False,
    until: Bools | None = None,
    block: Numbers | None = None,
) -> list[bool]:
    """In the cycle of a time-out the latch is off whatever is set; the block counts from that cycle."""
    out: list[bool] = []
    on_since: int | None = None
    timed_out: int | None = None
    for k, (s, r) in enumerate(zip(sets, resets, strict=True)):
        if on_since is not None and clock.elapsed(on_since, k) >= span[k]:
            on_since, timed_out = None, k if until is not None or block is not None else None
            out.append(False)
            continue
        if timed_out is not None:
            over = (
                until[k] if until is not None else block is not None and block_clock.elapsed(timed_out, k) >= block[k]
            )
            timed_out = None if over else timed_out
        s = s and timed_out is None
        on = set_wins if s and r else s or (on_since is not None and not r)
        on_since = (k if on_since is None else on_since) if on else None
        out.append(on)
    return out


def band(x: Numbers, low: Fraction, high: Fraction) -> list[bool]:
    """`x is below LOW until above HIGH`."""
    out: list[bool] = []
    for v in x:
        out.append(v <= high if out and out[-1] else v < low)
    return out


def counter(counts: Bools, clears: Bools, limit: int) -> list[Fraction]:
    out: list[Fraction] = []
    value = 0
    for up, clear in zip(begins(counts), clears, strict=True):
        value = 0 if clear else min(value + up, limit)
        out.append(Fraction(value))
    return out


def sample(x: Numbers, when: Bools, first: Fraction) -> list[Fraction]:
    out: list[Fraction] = []
    for v, take in zip(x, when, strict=True):
        out.append(v if take else out[-1] if out else first)
    return out


@dataclass(frozen=True, slots=True)
class Phase:
    """Lasts for a time (one span a cycle), until a signal, or for ever."""

    lasts: Numbers | None = None
    until: Bools | None = None
    in_cycles: bool = False


def sequence(condition: Bools, phases: Sequence[Phase], dts: Numbers) -> list[list[bool]]:
    """For each phase: whether it is the one, cycle by cycle."""
    out: list[list[bool]] = [[] for _ in phases]
    at, entered = len(phases), 0
    for k, on in enumerate(condition):
        if not on:
            at = len(phases)
        elif not (k and condition[k - 1]):
            at, entered = 0, k
        elif at < len(phases):
            phase = phases[at]
            over = phase.until is not None and phase.until[k]
            if phase.lasts is not None:
                over = Clock(dts, phase.in_cycles).elapsed(entered, k) >= phase.lasts[k]
            if over:
                at, entered = at + 1, k
        for number, row in enumerate(out):
            row.append(on and number == at)
    return out


def toward(start: Fraction, target: Fraction, up: Fraction | None, down: Fraction | None) -> Fraction:
    """One cycle's way; None: at once."""
    if target >= start:
        return target if up is None else min(target, start + up)
    return target if down is None else max(target, start - down)


@dataclass(frozen=True, slots=True)
class Ramp:
    """Rates per second; None: at once."""

    up: Fraction | None = None
    down: Fraction | None = None
    back: Fraction | None = None

    def way(self, dt: Fraction) -> tuple[Fraction | None, Fraction | None]:
        return self.up and self.up * dt, self.down and self.down * dt


def drive(beneath: Numbers, active: Bools, target: Numbers, ramp: Ramp, dts: Numbers) -> list[Fraction]:
    """From the value beneath toward the target; handed back, it ends where it meets or crosses what is beneath."""
    out: list[Fraction] = []
    level: Fraction | None = None
    for k, under in enumerate(beneath):
        if active[k]:
            level = toward(under if level is None else level, target[k], *ramp.way(dts[k]))
        elif level is not None and ramp.back is not None:
            from_below, had_met = level < beneath[k - 1], level == beneath[k - 1]
            level += ramp.back * dts[k] if from_below else -ramp.back * dts[k]
            if had_met or ((level >= under) if from_below else (level <= under)):
                level = None
        else:
            level = None
        out.append(under if level is None else level)
    return out


def move(active: Bools, amount: Fraction, ramp: Ramp, dts: Numbers) -> list[Fraction]:
    """What is added."""
    out: list[Fraction] = []
    offset = Fraction(0)
    for on, dt in zip(active, dts, strict=True):
        if on:
            offset = toward(offset, amount, *ramp.way(dt))
        else:
            back = None if ramp.back is None else ramp.back * dt
            offset = Fraction(0) if back is None else toward(offset, Fraction(0), back, back)
        out.append(offset)
    return out


def limit(beneath: Numbers, active: Bools, most: Fraction, ramp: Ramp, dts: Numbers) -> list[Fraction]:
    """Never above: the bound comes down from the value beneath, and on its way back is gone where it meets it."""
    out: list[Fraction] = []
    bound: Fraction | None = None
    for k, under in enumerate(beneath):
        if active[k]:
            start = max(under, most) if bound is None else bound
            bound = toward(start, most, *ramp.way(dts[k]))
        elif bound is not None and ramp.back is not None:
            bound += ramp.back * dts[k]
            bound = None if bound >= under else bound
        else:
            bound = None
        out.append(under if bound is None else min(under, bound))
    return out


@dataclass(frozen=True, slots=True)
class Seen:
    """A sensor as the rules see it, in one cycle."""

    reading: Fraction
    age: Fraction
    stale: bool
    heard: bool


def sensor(
    frames: Bools, shown: Numbers, dts: Numbers, first: Fraction, stale_after: Fraction, stale_reads: Fraction | None
) -> list[Seen]:
    """Age counts from power-up, one cycle time before the first cycle, until a frame has come."""
    out = []
    last, age, heard = first, Fraction(0), False
    for frame, reading, dt in zip(frames, shown, dts, strict=True):
        age = Fraction(0) if frame else age + dt
        last, heard = (reading, True) if frame else (last, heard)
        stale = not heard or age >= stale_after
        out.append(Seen(stale_reads if stale and stale_reads is not None else last, age, stale, heard))
    return out


def rate_at_frames(frames: Bools, shown: Numbers, dts: Numbers, above: Fraction) -> list[bool]:
    """`rate of SENSOR is above R`: looked at when a frame comes, kept in between; until the second nothing changed."""
    out: list[bool] = []
    now, kept = Fraction(0), above < 0
    last: tuple[Fraction, Fraction] | None = None
    for frame, reading, dt in zip(frames, shown, dts, strict=True):
        now += dt
        if frame:
            if last is not None:
                kept = reading - last[1] > above * (now - last[0])
            last = (now, reading)
        out.append(kept)
    return out


def rate(x: Numbers, dts: Numbers, above: Fraction) -> list[bool]:
    """Of anything else: from cycle to cycle."""
    return [(v - x[k - 1] if k else Fraction(0)) > above * dts[k] for k, v in enumerate(x)]


def announced(active: Bools, every: Numbers | None, clock: Clock) -> list[bool]:
    """The cycles in which an announcement starts: at the beginning, and again when the span has passed since then."""
    out: list[bool] = []
    last: int | None = None
    for k, on in enumerate(active):
        starts = on and (last is None or (every is not None and clock.elapsed(last, k) >= every[k]))
        last = k if starts else last if on else None
        out.append(starts)
    return out
