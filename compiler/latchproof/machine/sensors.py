"""A sensor: frames, the reading kept between them, its age, and the true quantity behind it.

A frame may come in any cycle and any gap is possible; the rate fact bounds the true quantity over every gap. A frame
shows the truth to within the error and half a display step, shifted by what it can change during the lag.
"""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.machine.model import DT, Constraint, Input, State
from latchproof.machine.terms import Term, Terms
from latchproof.rules.model import Sensor


@dataclass(frozen=True, slots=True)
class SensorParts:
    """`definitions` by name: the reading under the sensor's own name, then its age, staleness and whether ever
    heard."""

    definitions: dict[str, Term]
    states: tuple[State, ...]
    inputs: tuple[Input, ...]
    constraints: tuple[Constraint, ...]
    starts: tuple[Constraint, ...]


def sensor(t: Terms, s: Sensor) -> SensorParts:
    frame, shown = t.var(f"{s.name}@frame", "bool"), t.var(f"{s.name}@reading", "number")
    last, since = t.var(f"{s.name}@last", "number"), t.var(f"{s.name}@since", "number")
    heard_before = t.var(f"{s.name}@heard_before", "bool")
    dt = t.var(DT, "number")

    heard = t.any(heard_before, frame)
    reading = t.if_(frame, shown, last)
    age = t.if_(frame, t.zero, t.add(since, dt))
    stale = t.not_(heard)
    if s.stale_after is not None:
        stale = t.any(stale, t.at_most(t.real(s.stale_after), age))
    value = reading if s.stale_reads is None else t.if_(stale, t.real(s.stale_reads), reading)

    states = [
        State(last.name, "number", None, reading, flows=True, holds=(s.low, s.high)),
        State(since.name, "number", t.zero, age, flows=True),
        State(heard_before.name, "bool", t.false, heard),
    ]
    inputs = [Input(frame.name, "bool"), Input(shown.name, "number", s.low, s.high, s.step)]
    constraints: list[Constraint] = []
    starts = [Constraint(_within(t, s.low, last, s.high), f"range of {s.name}")]
    if s.change is not None:
        truth, was = t.var(f"{s.name}@truth", "number"), t.var(f"{s.name}@was", "number")
        states.append(State(was.name, "number", None, truth, flows=True, holds=(s.low, s.high)))
        inputs.append(Input(truth.name, "number", s.low, s.high))
        starts.append(Constraint(_within(t, s.low, was, s.high), f"range of {s.name}"))
        slow, fast = s.change
        change = t.sub(truth, was)
        constraints.append(
            Constraint(
                t.all(t.at_most(t.scale(slow, dt), change), t.at_most(change, t.scale(fast, dt))), f"change of {s.name}"
            )
        )
        below, above = reading_error(s)
        off = t.sub(shown, truth)
        constraints.append(Constraint(t.implies(frame, _within(t, below, off, above)), f"error of {s.name}"))
    definitions = {s.name: value, f"{s.name}@age": age, f"{s.name}@stale": stale, f"{s.name}@heard": heard}
    return SensorParts(definitions, tuple(states), tuple(inputs), tuple(constraints), tuple(starts))


def reading_error(s: Sensor) -> tuple[Fraction, Fraction]:
    """How far a reading may lie below (negative) and above the true quantity at the moment the frame arrives."""
    own = s.error + (s.step or Fraction(0)) / 2
    slow, fast = s.change or (Fraction(0), Fraction(0))
    return min(Fraction(0), -fast * s.lag) - own, max(Fraction(0), -slow * s.lag) + own


def keeps_arriving(t: Terms, s: Sensor, waits: Term | None = None) -> Constraint:
    """Between two frames passes at most the declared interval, and before the first one as well, unless the sensor
    `waits` for it."""
    assert s.frame_every is not None
    late = t.false if waits is None else t.all(t.not_(t.var(f"{s.name}@heard_before", "bool")), waits)
    frame = t.var(f"{s.name}@frame", "bool")
    gap = t.add(t.var(f"{s.name}@since", "number"), t.var(DT, "number"))
    return Constraint(t.any(frame, t.at_most(gap, t.real(s.frame_every)), late), f"{s.name} keeps arriving")


def _within(t: Terms, low: Fraction, x: Term, high: Fraction) -> Term:
    return t.all(t.at_most(t.real(low), x), t.at_most(x, t.real(high)))
