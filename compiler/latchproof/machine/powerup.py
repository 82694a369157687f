"""Power-up: what the device gives when it is switched on, and memory that may start with anything."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

from latchproof.machine.elements import Span, stopwatch
from latchproof.machine.model import Constraint, Element, State
from latchproof.machine.terms import Term, Terms
from latchproof.rules.model import RuleSet, Sensor

SINCE = "@power_up"
"""The clock that runs from power-up, 0 in the first cycle."""

MOST_LISTED = 60
"""Counts up to this are told to be whole numbers; of greater ones that is not worth the work."""


def clock(t: Terms, rules: RuleSet) -> Element | None:
    """Seconds since power-up, where the device section speaks of them. It runs whatever the rules' memory holds."""
    if rules.device.pulse is None and rules.device.no_frame_before is None:
        return None
    return stopwatch(t, SINCE, t.true, Span(t.zero))


def pulse(t: Terms, since: Term, seconds: Fraction) -> Term:
    """True from power-up for a time."""
    return t.less(since, t.real(seconds))


def no_frame_before(t: Terms, rules: RuleSet, since: Term) -> tuple[Constraint, ...]:
    """For each sensor: no frame arrives earlier after power-up."""
    first = rules.device.no_frame_before
    if first is None:
        return ()
    return tuple(
        Constraint(
            t.any(t.not_(t.var(f"{s.name}@frame", "bool")), t.at_most(t.real(first), since)), f"first frame of {s.name}"
        )
        for s in rules.sensors
    )


def waits(t: Terms, rules: RuleSet, sensor: Sensor) -> Term | None:
    """While the first frame of a sensor that keeps arriving need not have come: the device lets none through at
    first."""
    first, since = rules.device.no_frame_before, clock(t, rules)
    if first is None or since is None:
        return None
    return t.at_most(since.output, t.real(first + (sensor.frame_every or 0)))


def with_any_start(t: Terms, states: Iterable[State]) -> tuple[list[State], list[Constraint]]:
    """Memory that may hold anything at power-up that it can hold at all."""
    made: list[State] = []
    bounds: list[Constraint] = []
    for s in states:
        made.append(replace(s, initial=None))
        if s.sort == "number" and (term := _can_hold(t, s)) is not t.true:
            bounds.append(Constraint(term, f"what {s.name} can hold"))
    return made, bounds


def _can_hold(t: Terms, s: State) -> Term:
    x, (least, most) = t.var(s.name, "number"), s.holds
    if s.whole and least is not None and most is not None and most - least <= MOST_LISTED:
        return t.any(*(t.equal(x, t.real(k)) for k in range(int(least), int(most) + 1)))
    low = t.true if least is None else t.at_most(t.real(least), x)
    high = t.true if most is None else t.at_most(x, t.real(most))
    return t.all(low, high)
