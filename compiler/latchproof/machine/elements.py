"""The building blocks, each defined once: latches, delays, pulses, edges, bands, counters, samples, slews.

Delays, pulses and latches follow IEC 61131-3 (TON, TOF, TP, R_TRIG, SR, RS), with elapsed time 0 in the cycle of the
edge.
"""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.machine.model import DT, Element, Holds, State
from latchproof.machine.terms import Real, Term, Terms


@dataclass(frozen=True, slots=True)
class Span:
    """A duration: seconds, or a whole number of cycles."""

    amount: Term
    in_cycles: bool = False


def clock(t: Terms) -> Term:
    return t.var(DT, "number")


def stopwatch(t: Terms, name: str, running: Term, span: Span, restart: Term | None = None) -> Element:
    """Elapsed since `running` became true, 0 in that cycle; time starts anew in a cycle where `restart` is true.

    Counted in cycles it stops at the span, which is all that anybody compares it with.
    """
    was_running, past = t.var(f"{name}@ran", "bool"), t.var(f"{name}@elapsed", "number")
    later = t.smaller(t.add(past, t.real(1)), span.amount) if span.in_cycles else t.add(past, clock(t))
    goes_on = was_running if restart is None else t.all(was_running, t.not_(restart))
    now = t.if_(goes_on, later, t.zero)
    return Element(
        now,
        (
            State(was_running.name, "bool", t.false, running),
            _timer(past.name, t.zero, t.if_(running, now, t.zero), span),
        ),
    )


def _timer(name: str, zero: Term, following: Term, span: Span) -> State:
    """What has elapsed: never negative; counted in cycles no more than anybody asks for."""
    most = span.amount.value if span.in_cycles and isinstance(span.amount, Real) else None
    return State(name, "number", zero, following, not span.in_cycles, holds=(Fraction(0), most), whole=span.in_cycles)


def on_delay(t: Terms, name: str, signal: Term, span: Span) -> Element:
    """True once `signal` has been seen true for the span (TON)."""
    elapsed = stopwatch(t, name, signal, span)
    return Element(t.all(signal, t.at_most(span.amount, elapsed.output)), elapsed.states)


def off_delay(t: Terms, name: str, signal: Term, span: Span) -> Element:
    """True with `signal` and for the span after it fell (TOF)."""
    was_out = t.var(f"{name}@out", "bool")
    fallen = stopwatch(t, name, t.not_(signal), span)
    out = t.any(signal, t.all(was_out, t.less(fallen.output, span.amount)))
    return Element(out, (*fallen.states, State(was_out.name, "bool", t.false, out)))


def pulse(t: Terms, name: str, signal: Term, span: Span) -> Element:
    """A rising edge gives a pulse of the span, neither prolonged nor shortened by `signal` (TP)."""
    was_out, was_in = t.var(f"{name}@out", "bool"), t.var(f"{name}@in", "bool")
    past = t.var(f"{name}@elapsed", "number")
    elapsed = t.add(past, t.real(1) if span.in_cycles else clock(t))
    starts = t.all(signal, t.not_(was_in), t.not_(was_out), t.less(t.zero, span.amount))
    out = t.any(starts, t.all(was_out, t.less(elapsed, span.amount)))
    return Element(
        out,
        (
            State(was_out.name, "bool", t.false, out),
            State(was_in.name, "bool", t.false, signal),
            _timer(past.name, t.zero, t.if_(t.all(out, was_out), elapsed, t.zero), span),
        ),
    )


def begins(t: Terms, name: str, signal: Term) -> Element:
    """True now and not in the cycle before; before the first cycle counts as false (R_TRIG)."""
    before = t.var(f"{name}@was", "bool")
    return Element(t.all(signal, t.not_(before)), (State(before.name, "bool", t.false, signal),))


def ends(t: Terms, name: str, signal: Term) -> Element:
    """True in the cycle before and not now. Never in the first cycle (F_TRIG differs: it is `begins` of the
    opposite)."""
    before = t.var(f"{name}@was", "bool")
    return Element(t.all(before, t.not_(signal)), (State(before.name, "bool", t.false, signal),))


def band(t: Terms, name: str, enter: Term, leave: Term) -> Element:
    """Two thresholds: becomes true with `enter`, false with `leave`."""
    was = t.var(f"{name}@in", "bool")
    out = t.if_(was, t.not_(leave), enter)
    return Element(out, (State(was.name, "bool", t.false, out),))


@dataclass(frozen=True, slots=True)
class TimeOut:
    """`until` releases the block in the cycle where it is true; `blocked` releases it after a time."""

    span: Span
    until: Term | None = None
    blocked: Span | None = None


def latch(t: Terms, name: str, sets: Term, resets: Term, *, set_wins: bool, timeout: TimeOut | None) -> Element:
    """Set and reset (SR with `set_wins`, else RS). A time-out always wins, and may block further sets."""
    was = t.var(name, "bool")
    if timeout is None:
        out = _set_reset(t, was, sets, resets, set_wins=set_wins)
        return Element(out, (State(name, "bool", t.false, out),))
    elapsed = t.var(f"{name}@on_for", "number")
    later = t.add(elapsed, t.real(1) if timeout.span.in_cycles else clock(t))
    expires = t.all(was, t.at_most(timeout.span.amount, later))
    block = _block(t, name, expires, timeout)
    out = t.all(_set_reset(t, was, t.all(sets, t.not_(block.output)), resets, set_wins=set_wins), t.not_(expires))
    on_for = _timer(elapsed.name, t.zero, t.if_(t.all(out, was), later, t.zero), timeout.span)
    return Element(out, (State(name, "bool", t.false, out), on_for, *block.states))


def _set_reset(t: Terms, was: Term, sets: Term, resets: Term, *, set_wins: bool) -> Term:
    if set_wins:
        return t.any(sets, t.all(was, t.not_(resets)))
    return t.all(t.any(was, sets), t.not_(resets))


def _block(t: Terms, name: str, expires: Term, timeout: TimeOut) -> Element:
    """Whether sets are ignored in this cycle because of an earlier time-out."""
    if timeout.until is not None:
        was = t.var(f"{name}@blocked", "bool")
        blocked = t.all(was, t.not_(timeout.until))
        return Element(blocked, (State(was.name, "bool", t.false, t.any(blocked, expires)),))
    if timeout.blocked is not None:
        was = t.var(f"{name}@blocked", "bool")
        span = timeout.blocked
        past = t.var(f"{name}@blocked_for", "number")
        later = t.add(past, t.real(1) if span.in_cycles else clock(t))
        blocked = t.all(was, t.less(later, span.amount))
        return Element(
            blocked,
            (
                State(was.name, "bool", t.false, t.any(blocked, expires)),
                _timer(past.name, t.zero, t.if_(blocked, later, t.zero), span),
            ),
        )
    return Element(t.false)


def counter(t: Terms, name: str, counts: Term, clears: Term, limit: int) -> Element:
    """How often `counts` began, up to `limit`; 0 while `clears`."""
    was, before = t.var(name, "number"), t.var(f"{name}@counted", "bool")
    more = t.smaller(t.add(was, t.real(1)), t.real(limit))
    out = t.if_(clears, t.zero, t.if_(t.all(counts, t.not_(before)), more, was))
    count = State(name, "number", t.zero, out, holds=(Fraction(0), Fraction(limit)), whole=True)
    return Element(out, (count, State(before.name, "bool", t.false, counts)))


def sample(
    t: Terms, name: str, value: Term, when: Term, first: Term, at_start: Term, holds: Holds = (None, None)
) -> Element:
    """The value of the last cycle in which `when` was true; `first` before that.

    `at_start`: what a reference to itself reads in the first cycle. `holds`: the least and the most that it can be.
    """
    kept, taken = t.var(name, "number"), t.var(f"{name}@taken", "bool")
    before = t.if_(taken, kept, first)
    out = t.if_(when, value, before)
    kept_value = State(name, "number", at_start, out, holds=holds)
    return Element(out, (kept_value, State(taken.name, "bool", t.false, t.any(taken, when))))


def repeater(t: Terms, name: str, signal: Term, every: Span | None) -> Element:
    """True in the first cycle of `signal`, and again each time the span has passed while it stays."""
    if every is None:
        return begins(t, name, signal)
    was, past = t.var(f"{name}@on", "bool"), t.var(f"{name}@since", "number")
    later = t.add(past, t.real(1) if every.in_cycles else clock(t))
    out = t.all(signal, t.any(t.not_(was), t.at_most(every.amount, later)))
    return Element(
        out,
        (
            State(was.name, "bool", t.false, signal),
            _timer(past.name, t.zero, t.if_(t.all(signal, t.not_(out)), later, t.zero), every),
        ),
    )


def slew(t: Terms, start: Term, target: Term, up: Term | None, down: Term | None) -> Term:
    """One cycle's way from `start` toward `target`, at most `up` or `down` (rate times cycle time).

    Who has arrived stays arrived whatever the cycle time, so that a long wait at the target is one in which nothing
    happens.
    """
    rising = target if up is None else t.if_(t.at_most(target, t.add(start, up)), target, t.add(start, up))
    falling = target if down is None else t.if_(t.at_most(t.sub(start, down), target), target, t.sub(start, down))
    return t.if_(t.at_most(start, target), rising, falling)
