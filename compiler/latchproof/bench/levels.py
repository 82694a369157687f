"""Which settings and which waits are worth trying: between the numbers that a machine compares with, well clear of
each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from latchproof.bench.can_do import KNOB, nothing
from latchproof.bench.play import OFF, Bench
from latchproof.machine.model import DT, Machine
from latchproof.machine.terms import Add, AtMost, Equal, If, Less, Real, Scale, Term, Var, walk

LONGEST_WAIT = Fraction(600)
"""Seconds; nobody waits longer for one step of a test."""

MOST_WAITS = 10
MOST_FORMS = 8
WIDE = 6
"""A value is no further from the number it is to be told from than so many times what it may be off."""

Linear = tuple[dict[str, Fraction], Fraction]


@dataclass(frozen=True, slots=True)
class Levels:
    """Settings of each stick and sensor, rising, and waits in seconds, rising."""

    controls: Mapping[str, tuple[Fraction, ...]]
    readings: Mapping[str, tuple[Fraction, ...]]
    waits: tuple[Fraction, ...]


def levels(b: Bench) -> Levels:
    names = _leaves(b)
    found = [_thresholds(m, names) for m in b.machines]
    controls: dict[str, tuple[Fraction, ...]] = {}
    readings: dict[str, tuple[Fraction, ...]] = {}
    for x in b.rules.controls:
        span = x.high - x.low
        made = _between([f.get(x.name, set()) for f in found], span / OFF, x.low, x.high)
        rest = nothing(x.low, x.high)
        far = rest + (x.high - rest) * 3 / 5
        above = [] if any(v >= far for v in made) else [far]
        controls[x.name] = tuple(sorted({rest, *made, *above, *([x.low] if x.low < rest else [])}))
    for s in b.rules.sensors:
        way = b.ways[s.name]
        low, high = s.low, s.high
        if way.kind in ("stairs", "thresholds"):
            low, high = max(s.low, Fraction(0)), min(s.high, way.up_to)
        if way.kind == "stuck":
            readings[s.name] = ()
            continue
        made = _between([f.get(s.name, set()) for f in found], b.error(s.name), low, high)
        readings[s.name] = tuple(sorted({nothing(low, high), *made}))
    return Levels(controls, readings, _waits(b, found[0].get(DT, set())))


def thresholds(b: Bench) -> dict[str, tuple[Fraction, ...]]:
    """For each stick and sensor the numbers that the right machine compares it with."""
    found = _thresholds(b.machines[0], _leaves(b))
    return {name: tuple(sorted(numbers)) for name, numbers in found.items() if name != DT}


def _leaves(b: Bench) -> Mapping[str, str]:
    """What stands for a reading: the sensor's name."""
    return {s.name + KNOB: s.name for s in b.rules.sensors}


def _thresholds(m: Machine, names: Mapping[str, str]) -> dict[str, set[Fraction]]:
    """For each stick and reading the numbers that it alone is compared with; for the cycle time, those of clocks."""
    inputs = {i.name for i in m.inputs}
    readings = {id(x): s for s, x in m.definitions.items() if f"{s}@reading" in inputs}
    constants = {p.name: p.value for p in m.parameters}
    found: dict[str, set[Fraction]] = {}
    wanted = inputs | {*names, *readings.values()}
    roots = [s.next for s in m.states] + list(m.definitions.values())
    for term in walk(roots):
        if not isinstance(term, AtMost | Less | Equal):
            continue
        for one, other in product(*(_linear(x, readings, constants) for x in (term.left, term.right))):
            _note(one, other, found, names, wanted)
    return found


def _note(
    left: Linear, right: Linear, found: dict[str, set[Fraction]], names: Mapping[str, str], wanted: set[str]
) -> None:
    weights = {n: left[0].get(n, Fraction(0)) - right[0].get(n, Fraction(0)) for n in {*left[0], *right[0]}}
    weights = {n: w for n, w in weights.items() if w}
    rest = right[1] - left[1]
    if DT in weights and len(weights) == 2 and abs(weights[DT]) == 1:
        found.setdefault(DT, set()).add(abs(rest))
    elif len(weights) == 1:
        ((name, weight),) = weights.items()
        if name in wanted:
            found.setdefault(names.get(name, name), set()).add(rest / weight)


def _linear(x: Term, readings: Mapping[int, str], constants: Mapping[str, Fraction]) -> list[Linear]:
    """What a number can be, as sums of variables; nothing where that would be too many."""
    if id(x) in readings:
        return [({readings[id(x)]: Fraction(1)}, Fraction(0))]
    match x:
        case Real(value):
            return [({}, value)]
        case Var(name, "number"):
            return [({}, constants[name]) if name in constants else ({name: Fraction(1)}, Fraction(0))]
        case Scale(factor, operand):
            inner = _linear(operand, readings, constants)
            return [({n: w * factor for n, w in weights.items()}, rest * factor) for weights, rest in inner]
        case If(_, then, otherwise):
            both = _linear(then, readings, constants) + _linear(otherwise, readings, constants)
            return both if len(both) <= MOST_FORMS else []
        case Add(operands):
            made: list[Linear] = [({}, Fraction(0))]
            for o in operands:
                made = [_sum(m, n) for m in made for n in _linear(o, readings, constants)]
            return made if len(made) <= MOST_FORMS else []
        case _:
            return []


def _sum(a: Linear, b: Linear) -> Linear:
    return {n: a[0].get(n, Fraction(0)) + b[0].get(n, Fraction(0)) for n in {*a[0], *b[0]}}, a[1] + b[1]


def _between(found: Sequence[set[Fraction]], clear: Fraction, low: Fraction, high: Fraction) -> list[Fraction]:
    """Few values in a span such that each of these has one, well clear of both ends: every gap between neighbouring
    thresholds of the right machine, and every gap that a wrong one opens."""
    right = sorted(found[0])
    gaps: set[tuple[Fraction, Fraction]] = set()
    for a, b in zip([low, *right], [*right, high], strict=True) if right else ():
        gaps.add((a if a > low else max(a, b - WIDE * clear), b if b < high else min(b, a + WIDE * clear)))
    for wrong in found[1:]:
        for new in wrong - found[0]:
            for old in found[0] - wrong or found[0]:
                near = min(new, old + WIDE * clear) if new > old else max(new, old - WIDE * clear)
                gaps.add((min(near, old), max(near, old)))
    inner = [(max(a + clear, low), min(b - clear, high)) for a, b in gaps]
    narrow = sorted((b, a) for a, b in inner if a < b)
    chosen: list[Fraction] = []
    while narrow:
        end, start = narrow[0]
        meet = [g for g in narrow if g[1] <= end]
        start = max(a for _, a in meet)
        chosen.append(_round((start + end) / 2, start, end))
        narrow = [g for g in narrow if not g[1] <= chosen[-1] <= g[0]]
    return chosen


def _round(x: Fraction, low: Fraction, high: Fraction) -> Fraction:
    """The roundest number inside."""
    for step in (Fraction(100), Fraction(50), Fraction(10), Fraction(5), Fraction(1), Fraction(1, 2), Fraction(1, 10)):
        near = round(x / step) * step
        if low <= near <= high:
            return near
    return x


def _waits(b: Bench, times: Iterable[Fraction]) -> tuple[Fraction, ...]:
    """For each time of the rules one wait that is surely long enough to see what follows, and one that is surely too
    short."""
    known = {t for t in times if Fraction(1, 4) <= t <= LONGEST_WAIT}
    known |= {s.stale_after for s in b.rules.sensors if s.stale_after is not None}
    half = Fraction(1, 2)
    made = {Fraction(2)}
    for t in sorted(known):
        made.add(-(-(t + 3 * half) // half) * half)
        if t - half - half >= 3 * half:
            made.add((t - half - half) // half * half)
    kept: list[Fraction] = []
    for w in sorted(made):
        if not kept or w - kept[-1] >= half:
            kept.append(w)
    return tuple(kept[:MOST_WAITS])
