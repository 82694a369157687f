"""When a signal is surely over (or surely there) after the pilot has moved a switch and leaves it there.

A bound, never a guess: None means that these rules alone do not say. Seconds count from the moment of the switch; the
answer holds whatever else the world does.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import assert_never

from latchproof.listing.desk import Desk
from latchproof.listing.fixed import fixed
from latchproof.listing.signals import told_by
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch

AT_ONCE = Fraction(0)
Bound = Fraction | None


@dataclass
class After:
    """After the pilot's move the signals in `yes` are true and those in `no` false, for good."""

    desk: Desk
    yes: frozenset[e.Signal]
    no: frozenset[e.Signal]
    _open: set[tuple[str, bool]] = field(default_factory=set)

    def over(self, x: e.Signal) -> Bound:
        """Seconds after which it is surely false from then on."""
        if x in self.no:
            return AT_ONCE
        match x:
            case e.NamedSignal(name=name):
                return self._name(name, gone=True)
            case e.Not(operand=operand):
                return self.there(operand)
            case e.AllOf(operands=operands):
                return _first([self.over(o) for o in operands])
            case e.AnyOf(operands=operands):
                return _last([self.over(o) for o in operands])
            case e.Timed(kind="for", operand=operand):
                return self.over(operand)
            case e.Timed(operand=operand, duration=lasts):
                return _plus(self.over(operand), self._seconds(lasts))
            case e.Edge(kind="begins", operand=operand):
                return self.over(operand)
            case e.AtPosition() | e.Pressed() | e.Comparison() | e.RateComparison() | e.Band() | e.SensorState():
                return None
            case e.ChannelState() | e.ExactlyOne() | e.Edge() | e.PreviousSignal():
                return None
            case _:
                assert_never(x)

    def there(self, x: e.Signal) -> Bound:
        """Seconds after which it is surely true from then on."""
        if x in self.yes:
            return AT_ONCE
        match x:
            case e.NamedSignal(name=name):
                return self._name(name, gone=False)
            case e.Not(operand=operand):
                return self.over(operand)
            case e.AllOf(operands=operands):
                return _last([self.there(o) for o in operands])
            case e.AnyOf(operands=operands):
                return _first([self.there(o) for o in operands])
            case e.Timed(kind="for", operand=operand, duration=lasts):
                return _plus(self.there(operand), self._seconds(lasts))
            case e.Timed(kind="extended", operand=operand):
                return self.there(operand)
            case _:
                return None

    def _name(self, name: str, *, gone: bool) -> Bound:
        if (name, gone) in self._open:
            return None
        self._open.add((name, gone))
        try:
            return self._meaning(name, gone)
        finally:
            self._open.discard((name, gone))

    def _meaning(self, name: str, gone: bool) -> Bound:
        desk = self.desk
        if name in desk.latches:
            return self._latch(desk.latches[name]) if gone else self._latch_on(desk.latches[name])
        if name in desk.conditions:
            condition = desk.conditions[name]
            return self.over(condition) if gone else self.there(condition)
        if not gone:
            return None
        if name in desk.phases:
            return self.over(desk.phases[name][0].condition)
        owner, _, what = name.rpartition(".")
        return _last([self.over(c) for _, c, _ in told_by(desk, owner, what)])

    def _latch(self, x: Latch) -> Bound:
        reset = _first([self.there(r) for r in x.resets])
        return _last([reset, *(self.over(s) for s in x.sets)]) if x.set_wins else reset

    def _latch_on(self, x: Latch) -> Bound:
        if x.timeout is not None:
            return None
        sets = _first([self.there(s) for s in x.sets])
        return sets if x.set_wins else _last([sets, *(self.over(r) for r in x.resets)])

    def _seconds(self, d: e.Duration) -> Bound:
        if d.in_cycles:
            value = fixed(d.amount, self.desk.n)
            return None if value is None else value * self.desk.rules.cycle.longest
        return fixed(d.amount, self.desk.n)


def _first(bounds: list[Bound]) -> Bound:
    return min((b for b in bounds if b is not None), default=None)


def _last(bounds: list[Bound]) -> Bound:
    known = [b for b in bounds if b is not None]
    return max(known, default=AT_ONCE) if len(known) == len(bounds) else None


def _plus(a: Bound, b: Bound) -> Bound:
    return None if a is None or b is None else a + b
