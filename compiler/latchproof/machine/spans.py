"""The least and the most that a number of the rules can be, as far as ranges tell."""

from collections.abc import Mapping
from fractions import Fraction

from latchproof.machine.model import Holds
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

NOTHING: Holds = (None, None)


def known_spans(rules: RuleSet) -> dict[str, Holds]:
    """Of everything that declares its range, by name."""
    spans: dict[str, Holds] = {s.name: (s.low, s.high) for s in rules.controls}
    spans |= {s.name: (s.low, s.high) for s in rules.channels}
    for sensor in rules.sensors:
        stale = () if sensor.stale_reads is None else (sensor.stale_reads,)
        spans[sensor.name] = (min((sensor.low, *stale)), max((sensor.high, *stale)))
    spans |= {p.name: (p.low, p.high) for p in rules.tunes}
    spans |= {p.name: (p.low, p.high) for p in rules.facts}
    return spans | {c.name: (Fraction(0), Fraction(c.limit)) for c in rules.counters}


def span_of(x: e.Number, rules: RuleSet, spans: Mapping[str, Holds], inside: frozenset[str] = frozenset()) -> Holds:
    """`inside`: names whose meaning is being looked at; one that comes back to itself may grow without end."""

    def go(y: e.Number) -> Holds:
        return span_of(y, rules, spans, inside)

    match x:
        case e.Constant(value):
            return value, value
        case e.NamedNumber(name) if name not in spans:
            return _named(name, rules, spans, inside)
        case e.Age():
            return Fraction(0), None
        case (
            e.Parameter(name)
            | e.Held(name)
            | e.Controlled(name)
            | e.Reading(name)
            | e.Truth(name)
            | e.Output(name)
            | e.Own(name)
            | e.NamedNumber(name)
        ):
            return spans.get(name, NOTHING)
        case e.Plus(a, b):
            return _plus(go(a), go(b))
        case e.Minus(a, b):
            low, high = go(b)
            return _plus(go(a), (None if high is None else -high, None if low is None else -low))
        case e.Product(a, b):
            (p, q), (r, s) = go(a), go(b)
            if p is None or q is None or r is None or s is None:
                return NOTHING
            corners = (p * r, p * s, q * r, q * s)
            return min(corners), max(corners)
        case e.Quotient(a, b):
            (p, q), (r, s) = go(a), go(b)
            if p is None or q is None or r is None or s is None or r <= 0 <= s:
                return NOTHING
            corners = (p / r, p / s, q / r, q / s)
            return min(corners), max(corners)
        case e.Size(a):
            low, high = go(a)
            return Fraction(0), None if low is None or high is None else max(abs(low), abs(high))
        case e.PreviousNumber(a):
            return _hull([go(a), (Fraction(0), Fraction(0))])
        case e.Smallest(several) | e.Largest(several) | e.FromTable(_, several):
            return _hull([go(a) for a in several])


def _named(name: str, rules: RuleSet, spans: Mapping[str, Holds], inside: frozenset[str]) -> Holds:
    if name in inside:
        return NOTHING
    within = inside | {name}
    meanings = [v.value for v in rules.values if v.name == name]
    meanings += [n for s in rules.samples if s.name == name for n in (s.value, s.first)]
    return _hull([span_of(m, rules, spans, within) for m in meanings]) if meanings else NOTHING


def _plus(a: Holds, b: Holds) -> Holds:
    return (
        None if a[0] is None or b[0] is None else a[0] + b[0],
        None if a[1] is None or b[1] is None else a[1] + b[1],
    )


def _hull(several: list[Holds]) -> Holds:
    lows, highs = [s[0] for s in several], [s[1] for s in several]
    return (
        None if None in lows else min(x for x in lows if x is not None),
        None if None in highs else max(x for x in highs if x is not None),
    )
