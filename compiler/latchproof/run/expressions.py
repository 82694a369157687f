"""Resolved expressions read directly on a finished run, cycle by cycle.

A second, independent reading of what delays, edges, bands and rates mean: it looks at the whole run instead of keeping
memory. It is what decides whether a claim is really false on a trace.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import assert_never

from latchproof.machine.model import Machine
from latchproof.rules import expressions as e
from latchproof.run.interpreter import Record


@dataclass(frozen=True)
class Reader:
    machine: Machine
    records: Sequence[Record]
    parameters: Mapping[str, Fraction]

    @property
    def cycles(self) -> range:
        return range(len(self.records))

    # ---------- numbers

    def number(self, x: e.Number) -> list[Fraction]:
        """The number in each cycle."""
        match x:
            case e.Constant(value):
                return [value for _ in self.records]
            case e.Parameter(name):
                default = next(p.value for p in self.machine.parameters if p.name == name)
                return [self.parameters.get(name, default) for _ in self.records]
            case e.Held(name):
                return [Fraction(r.inputs[name]) for r in self.records]
            case e.Truth(name):
                return [Fraction(r.inputs[f"{name}@truth"]) for r in self.records]
            case e.Controlled(name):
                return self._values(f"{name}@out")
            case e.Reading(name) | e.Output(name) | e.NamedNumber(name):
                return self._values(name)
            case e.Age(name):
                return self._values(f"{name}@age")
            case e.Own(name):
                held = name in {c.name for c in self.machine.rules.controls}
                return [Fraction(r.inputs[name]) for r in self.records] if held else self._values(f"{name}@own")
            case e.Plus(a, b):
                return self._pairwise(a, b, lambda p, q: p + q)
            case e.Minus(a, b):
                return self._pairwise(a, b, lambda p, q: p - q)
            case e.Product(a, b):
                return self._pairwise(a, b, lambda p, q: p * q)
            case e.Quotient(a, b):
                return self._pairwise(a, b, lambda p, q: p / q)
            case e.Size(a):
                return [abs(v) for v in self.number(a)]
            case e.Smallest(several):
                return [min(vs) for vs in zip(*map(self.number, several), strict=True)]
            case e.Largest(several):
                return [max(vs) for vs in zip(*map(self.number, several), strict=True)]
            case e.PreviousNumber(a):
                return [Fraction(0), *self.number(a)][: len(self.records)]
            case e.FromTable(switch, values):
                columns = [self.number(v) for v in values]
                return [columns[position(self.machine, switch, r)][k] for k, r in enumerate(self.records)]
            case _:
                assert_never(x)

    def _values(self, name: str) -> list[Fraction]:
        return [Fraction(r.values[name]) for r in self.records]

    def _pairwise(self, a: e.Number, b: e.Number, op: Callable[[Fraction, Fraction], Fraction]) -> list[Fraction]:
        return [op(p, q) for p, q in zip(self.number(a), self.number(b), strict=True)]

    # ---------- signals

    def signal(self, x: e.Signal) -> list[bool]:
        """Whether the signal is true, in each cycle."""
        match x:
            case e.AtPosition(switch, wanted):
                return [position(self.machine, switch, r) == wanted for r in self.records]
            case e.Pressed(button):
                return [bool(r.inputs[button]) for r in self.records]
            case e.NamedSignal(name):
                return [bool(r.values[name]) for r in self.records]
            case e.Comparison(a, order, b):
                return [compared(p, order, q) for p, q in zip(self.number(a), self.number(b), strict=True)]
            case e.RateComparison():
                return self._rate(x)
            case e.Band(subject, enter, leave):
                return self._band(self._against(subject, enter), self._against(subject, leave))
            case e.SensorState(sensor, state):
                if state == "fresh":
                    return [not r.values[f"{sensor}@stale"] for r in self.records]
                return [bool(r.values[f"{sensor}@{state}"]) for r in self.records]
            case e.ChannelState(channel, state):
                return [bool(r.values[f"{channel}@{state}"]) for r in self.records]
            case e.Not(a):
                return [not v for v in self.signal(a)]
            case e.AllOf(several):
                return [all(vs) for vs in zip(*map(self.signal, several), strict=True)]
            case e.AnyOf(several):
                return [any(vs) for vs in zip(*map(self.signal, several), strict=True)]
            case e.ExactlyOne(several):
                return [sum(vs) == 1 for vs in zip(*map(self.signal, several), strict=True)]
            case e.Timed(kind, a, duration):
                return self._timed(kind, self.signal(a), self.number(duration.amount), duration.in_cycles)
            case e.Edge(kind, a):
                now = self.signal(a)
                before = [False, *now]
                return [(n and not b) if kind == "begins" else (b and not n) for n, b in zip(now, before, strict=False)]
            case e.PreviousSignal(a):
                return [False, *self.signal(a)][: len(self.records)]
            case _:
                assert_never(x)

    def _against(self, subject: e.Number, bound: tuple[e.Order, e.Number]) -> list[bool]:
        order, limit = bound
        return [compared(p, order, q) for p, q in zip(self.number(subject), self.number(limit), strict=True)]

    def _band(self, enter: list[bool], leave: list[bool]) -> list[bool]:
        out: list[bool] = []
        for k in self.cycles:
            inside = bool(out) and out[-1]
            out.append(not leave[k] if inside else enter[k])
        return out

    def since(self, start: int, k: int, in_cycles: bool) -> Fraction:
        """Seconds (or cycles) from cycle `start` to cycle `k`."""
        return Fraction(k - start) if in_cycles else self.records[k].time - self.records[start].time

    def _timed(self, kind: str, now: list[bool], spans: list[Fraction], in_cycles: bool) -> list[bool]:
        match kind:
            case "for":
                starts = starts_of_runs(now)
                return [now[k] and self.since(starts[k], k, in_cycles) >= spans[k] for k in self.cycles]
            case "extended":
                return self._extended(now, spans, in_cycles)
            case _:
                return self._pulsed(now, spans, in_cycles)

    def _extended(self, now: list[bool], spans: list[Fraction], in_cycles: bool) -> list[bool]:
        """True until the first cycle at which the time since the fall has reached the span; it does not come back."""
        fell = starts_of_runs([not v for v in now])
        out: list[bool] = []
        for k in self.cycles:
            out.append(now[k] or (k > 0 and out[-1] and self.since(fell[k], k, in_cycles) < spans[k]))
        return out

    def _pulsed(self, now: list[bool], spans: list[Fraction], in_cycles: bool) -> list[bool]:
        out: list[bool] = []
        start: int | None = None
        for k in self.cycles:
            if start is not None:
                on = self.since(start, k, in_cycles) < spans[k]
                start = start if on else None
            else:
                on = now[k] and not (k and now[k - 1]) and spans[k] > 0
                start = k if on else None
            out.append(on)
        return out

    def _rate(self, x: e.RateComparison) -> list[bool]:
        match x.subject:
            case e.Reading(sensor):
                return self._rate_at_frames(x, sensor)
            case subject:
                now = self.number(subject)
                changes = [n - b for n, b in zip(now, now[:1] + now, strict=False)]
                return [self._changed(x, c, r.dt) for c, r in zip(changes, self.records, strict=True)]

    def _rate_at_frames(self, x: e.RateComparison, sensor: str) -> list[bool]:
        out: list[bool] = []
        last: tuple[Fraction, Fraction] | None = None
        for r in self.records:
            held = out[-1] if out else self._changed(x, Fraction(0), Fraction(1))
            if r.inputs[f"{sensor}@frame"]:
                shown = Fraction(r.inputs[f"{sensor}@reading"])
                if last is not None:
                    held = self._changed(x, shown - last[1], r.time - last[0])
                last = (r.time, shown)
            out.append(held)
        return out

    def _changed(self, x: e.RateComparison, change: Fraction, gap: Fraction) -> bool:
        return compared(abs(change) if x.size else change, x.order, x.bound * gap)


def starts_of_runs(now: list[bool]) -> list[int]:
    """For each cycle the first one of the unbroken stretch of true that reaches it (itself where it is false)."""
    starts: list[int] = []
    for k, on in enumerate(now):
        starts.append(starts[-1] if k and on and now[k - 1] else k)
    return starts


def compared(a: Fraction, order: e.Order, b: Fraction) -> bool:
    match order:
        case "<":
            return a < b
        case "<=":
            return a <= b
        case ">":
            return a > b
        case ">=":
            return a >= b
        case "==":
            return a == b
        case _:
            assert_never(order)


def position(machine: Machine, switch: str, r: Record) -> int:
    """The position of a switch in a cycle."""
    count = next(len(s.positions) for s in machine.rules.switches if s.name == switch)
    return next((k for k in range(count - 1, 0, -1) if r.inputs[f"{switch}@{k}"]), 0)
