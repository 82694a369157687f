"""A sequence: one phase after the other while its condition holds."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.machine.elements import Span, clock
from latchproof.machine.model import Holds, State
from latchproof.machine.terms import Real, Term, Terms

EVER: Holds = (Fraction(0), None)
"""What a clock can show."""


@dataclass(frozen=True, slots=True)
class PhaseEnd:
    """When a phase gives way: after a time, at a signal, or never."""

    lasts: Span | None = None
    until: Term | None = None


@dataclass(frozen=True, slots=True)
class Phases:
    active: tuple[Term, ...]
    states: tuple[State, ...]


def sequence(t: Terms, name: str, condition: Term, ends: tuple[PhaseEnd, ...]) -> Phases:
    """At most one step a cycle; everything ends in the cycle in which the condition is false.

    `@ran`: the condition held in the cycle before (so that after the last phase nothing starts again).
    """
    ran, past = t.var(f"{name}@ran", "bool"), t.var(f"{name}@elapsed", "number")
    counts = any(e.lasts is not None and e.lasts.in_cycles for e in ends)
    times = any(e.lasts is not None and not e.lasts.in_cycles for e in ends)
    cycles = t.var(f"{name}@cycles", "number")
    was = tuple(t.var(f"{name}@in{k}", "bool") for k in range(len(ends)))
    over = tuple(t.all(was[k], _over(t, ends[k], past, cycles)) for k in range(len(ends)))
    active: list[Term] = []
    for k in range(len(ends)):
        enters = t.not_(ran) if k == 0 else over[k - 1]
        active.append(t.all(condition, t.any(enters, t.all(was[k], t.not_(over[k])))))
    timed = [k for k in range(len(ends)) if ends[k].lasts is not None]
    stays = t.all(condition, t.any(*(t.all(was[k], t.not_(over[k])) for k in timed)))
    states = [State(ran.name, "bool", t.false, condition)]
    if times:
        states.append(
            State(past.name, "number", t.zero, t.if_(stays, t.add(past, clock(t)), t.zero), flows=True, holds=EVER)
        )
    if counts:
        most = max((e.lasts.amount for e in ends if e.lasts and e.lasts.in_cycles), key=_whole)
        counted = t.smaller(t.add(cycles, t.real(1)), most)
        ends_at = (Fraction(0), Fraction(_whole(most)))
        states.append(State(cycles.name, "number", t.zero, t.if_(stays, counted, t.zero), holds=ends_at, whole=True))
    states.extend(State(was[k].name, "bool", t.false, active[k]) for k in range(len(ends)))
    return Phases(tuple(active), tuple(states))


def _over(t: Terms, end: PhaseEnd, past: Term, cycles: Term) -> Term:
    if end.until is not None:
        return end.until
    if end.lasts is None:
        return t.false
    if end.lasts.in_cycles:
        return t.at_most(end.lasts.amount, t.add(cycles, t.real(1)))
    return t.at_most(end.lasts.amount, t.add(past, clock(t)))


def _whole(amount: Term) -> int:
    assert isinstance(amount, Real)
    return int(amount.value)
