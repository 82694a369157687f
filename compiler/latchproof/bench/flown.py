"""What a flight that only warns can show: slips that somebody hears, with the true sensor and nothing acting."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from fractions import Fraction

from latchproof.bench.can_do import Way
from latchproof.bench.levels import levels
from latchproof.bench.observe import Sight, eye
from latchproof.bench.play import bench
from latchproof.bench.position import Table
from latchproof.bench.search import search
from latchproof.machine.stage import at_stage
from latchproof.rules.model import RuleSet, Sensor, Stage

DEAF = Sight(Fraction(2), Fraction(2), Fraction(2))
"""Nobody looks at channels: only what is heard counts."""

SLOWEST = Fraction(1)
"""Units a second, where the file says nothing of how fast a quantity changes."""


def flown(
    right: RuleSet, others: Mapping[int, RuleSet], told: Callable[[int, int], None] = lambda done, of: None
) -> frozenset[int]:
    """Those of the others that a flight shows in which switches are moved and heights are flown, and sounds heard. The
    motor is never stopped, the transmitter never switched off, the sensor never unplugged."""
    if not others or not right.sensors:
        return frozenset()
    ways = {s.name: Way("flown", _rate(s)) for s in right.sensors}
    places = list(others)
    b = bench(_warning(right), tuple(_warning(others[n]) for n in places), ways)
    kill: list[object] = [r.signal for r in right.roles if r.role == "kill"]
    table = replace(Table(b, eye(b, DEAF), levels(b)), flying=True, never=frozenset(_switches(kill)))
    found = search(table, range(1, len(b.machines)), told)
    return frozenset(n for k, n in enumerate(places, 1) if k not in found.left)


def _warning(rules: RuleSet) -> RuleSet:
    """The same rules, but they only tell."""
    return at_stage(replace(rules, stages=(Stage("warns", True, (), span=rules.cycle.span),)), "warns")


def _rate(s: Sensor) -> Fraction:
    """Half of how fast the quantity can change, in the slower direction."""
    if s.change is None:
        return SLOWEST
    slower = min(abs(x) for x in s.change)
    return slower / 2 if slower else SLOWEST


def _switches(signals: list[object]) -> set[str]:
    """Switches that these signals look at."""
    found: set[str] = set()
    waiting = list(signals)
    while waiting:
        x = waiting.pop()
        name = getattr(x, "switch", None)
        if isinstance(name, str):
            found.add(name)
        for part in ("operand", "operands"):
            inner = getattr(x, part, None)
            waiting += inner if isinstance(inner, tuple) else [inner] if inner is not None else []
    return found
