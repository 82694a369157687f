"""Which way a number may be rounded so that a rule acts rather than not.

A heuristic: that a rule acts sooner or longer is taken for the safe side. What is proved afterwards is the evidence.
"""

from collections.abc import Iterator
from typing import Literal

from latchproof.fit.model import Reason, Way
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, RuleSet

Part = Literal["bound", "enter", "leave", "time"]

Ways = dict[tuple[object, Part], set[Way]]
"""By the test, delay or latch that a number stands in, and its part there."""

UP: dict[e.Order, Way] = {"<": "up", "<=": "up", ">": "down", ">=": "down"}
"""The way in which a test of something against a number on its right comes true sooner."""

OTHER: dict[Way, Way] = {"up": "down", "down": "up", "nearest": "nearest"}


def directions(rules: RuleSet) -> Ways:
    """For every number that a rule's acting hangs on the ways that make the rule act rather than not."""
    return _Walk(rules).ways()


def agreed(ways: set[Way]) -> tuple[Way, Reason]:
    match sorted(ways):
        case ["up"]:
            return "up", "acts rather than not"
        case ["down"]:
            return "down", "acts rather than not"
        case []:
            return "nearest", "no safe direction known"
        case ["nearest"]:
            return "nearest", "no safe direction known"
        case _:
            return "nearest", "needed both ways"


class _Walk:
    def __init__(self, rules: RuleSet) -> None:
        self.rules = rules
        self.latches: dict[str, Latch] = {x.name: x for x in rules.latches}
        self.named: dict[str, e.Signal] = {str(r.role): r.signal for r in rules.roles}
        self.named |= {s.name: s.signal for s in rules.signals}
        self.named |= {f"{s.name}.{p.name}": s.condition for s in rules.sequences for p in s.phases}
        self.found: Ways = {}

    def ways(self) -> Ways:
        waiting: list[tuple[e.Signal, bool]] = [(r.condition, True) for r in self.rules.rules]
        waiting += [(s.condition, True) for s in self.rules.sequences]
        waiting += [(y, helps) for s in self.rules.samples for y in [s.when] for helps in (True, False)]
        waiting += [(c.counts, True) for c in self.rules.counters]
        seen: set[tuple[e.Signal, bool]] = set()
        while waiting:
            x, helps = waiting.pop()
            if (x, helps) not in seen:
                seen.add((x, helps))
                waiting.extend(self._behind(x, helps=helps))
        return self.found

    def note(self, x: object, part: Part, way: Way, *, helps: bool) -> None:
        self.found.setdefault((x, part), set()).add(way if helps else OTHER[way])

    def _behind(self, x: e.Signal, *, helps: bool) -> Iterator[tuple[e.Signal, bool]]:
        match x:
            case e.Not(operand):
                yield operand, not helps
            case e.AllOf(operands) | e.AnyOf(operands):
                yield from ((o, helps) for o in operands)
            case e.ExactlyOne(operands):
                yield from ((o, way) for o in operands for way in (True, False))
            case e.NamedSignal(name) if name in self.latches:
                latch = self.latches[name]
                yield from ((s, helps) for s in latch.sets)
                yield from ((r, not helps) for r in latch.resets)
                yield from self._timeout(latch, helps=helps)
            case e.NamedSignal(name) if name in self.named:
                yield self.named[name], helps
            case e.Timed(kind, operand):
                self.note(x, "time", "down" if kind == "for" else "up", helps=helps)
                yield operand, helps
            case e.Edge(_, operand):
                # an edge has no sooner or later that is safe in itself: its operand counts in both ways
                yield operand, True
                yield operand, False
            case e.PreviousSignal(operand):
                yield operand, helps
            case e.Comparison(order=order):
                self.note(x, "bound", "nearest" if order == "==" else UP[order], helps=helps)
            case e.RateComparison(order=order):
                self.note(x, "bound", "nearest" if order == "==" else UP[order], helps=helps)
            case e.Band(_, (enter, _), (leave, _)):
                self.note(x, "enter", "nearest" if enter == "==" else UP[enter], helps=helps)
                self.note(x, "leave", "nearest" if leave == "==" else UP[leave], helps=not helps)
            case _:
                return

    def _timeout(self, x: Latch, *, helps: bool) -> Iterator[tuple[e.Signal, bool]]:
        if x.timeout is None:
            return
        self.note(x.timeout, "time", "up", helps=helps)
        if x.timeout.blocked_for is not None:
            self.note(x.timeout.blocked_for, "time", "down", helps=helps)
        if x.timeout.blocked_until is not None:
            yield x.timeout.blocked_until, helps
