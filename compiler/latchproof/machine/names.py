"""What a rule set declares, by name, and the exact value of numbers that stand still."""

from dataclasses import dataclass
from fractions import Fraction

from latchproof.machine.spans import known_spans
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet


@dataclass
class Names:
    """What the rule set declares, by name."""

    rules: RuleSet

    def __post_init__(self) -> None:
        self.sensors = {s.name: s for s in self.rules.sensors}
        self.switches = {s.name: s for s in self.rules.switches}
        self.controls = {c.name: c for c in self.rules.controls}
        self.channels = {c.name: c for c in self.rules.channels}
        self.tunes = {t.name: t for t in self.rules.tunes}
        self.facts = {f.name: f for f in self.rules.facts}
        self.values = {v.name: v.value for v in self.rules.values}
        meanings: dict[str, e.Signal] = {r.role: r.signal for r in self.rules.roles}
        self.signals = meanings | {s.name: s.signal for s in self.rules.signals}
        self.spans = known_spans(self.rules)
        self.latches = {latch.name for latch in self.rules.latches}
        self.pulse = self.rules.device.pulse.name if self.rules.device.pulse is not None else None


def exact(x: e.Number, values: dict[str, Fraction]) -> Fraction:
    """The value of a number that stands still, at given values of its stepped tunes."""
    match x:
        case e.Constant(value):
            return value
        case e.Parameter(name):
            return values[name]
        case e.Plus(a, b):
            return exact(a, values) + exact(b, values)
        case e.Minus(a, b):
            return exact(a, values) - exact(b, values)
        case e.Product(a, b):
            return exact(a, values) * exact(b, values)
        case e.Quotient(a, b):
            return exact(a, values) / exact(b, values)
        case e.Size(a):
            return abs(exact(a, values))
        case e.Smallest(several):
            return min(exact(a, values) for a in several)
        case e.Largest(several):
            return max(exact(a, values) for a in several)
        case _:
            raise TypeError(f"not a standing number: {x}")
