"""Numbers that stand still in flight: their value, their greatest value, and edits that hold them apart."""

import re
from collections.abc import Callable, Mapping
from fractions import Fraction
from typing import Literal

from latchproof.hazards import edits
from latchproof.hazards.model import Edit
from latchproof.hazards.promise import figure, words
from latchproof.hazards.site import Site
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Tune
from latchproof.rules.units import NO_UNIT, Unit
from latchproof.source import Span

End = Literal["now", "low", "high"]
_OTHER: Mapping[End, End] = {"now": "now", "low": "high", "high": "low"}


def value_of(site: Site, x: e.Number, end: End = "now") -> Fraction | None:
    """With every tune at its value ("now") or at one end of its range; None for what varies in flight."""
    match x:
        case e.Constant(value=value):
            return value
        case e.Parameter(name=name):
            return _parameter(site, name, end)
        case e.NamedNumber(name=name):
            inner = next((v.value for v in site.rules.values if v.name == name), None)
            return None if inner is None else value_of(site, inner, end)
        case e.Plus(left=left, right=right):
            return _both(value_of(site, left, end), value_of(site, right, end), lambda a, b: a + b)
        case e.Minus(left=left, right=right):
            return _both(value_of(site, left, end), value_of(site, right, _OTHER[end]), lambda a, b: a - b)
        case e.Product(left=left, right=right) if end == "now":
            return _both(value_of(site, left), value_of(site, right), lambda a, b: a * b)
        case e.Quotient(left=left, right=right) if end == "now":
            return _both(value_of(site, left), value_of(site, right), lambda a, b: a / b)
        case e.Size(operand=operand) if end == "now":
            inner_value = value_of(site, operand)
            return None if inner_value is None else abs(inner_value)
        case e.Smallest(operands=several) | e.Largest(operands=several):
            found = [value_of(site, s, end) for s in several]
            known = [f for f in found if f is not None]
            if len(known) < len(found):
                return None
            return min(known) if isinstance(x, e.Smallest) else max(known)
        case _:
            return None


def _both(a: Fraction | None, b: Fraction | None, join: Callable[[Fraction, Fraction], Fraction]) -> Fraction | None:
    return None if a is None or b is None else join(a, b)


def _parameter(site: Site, name: str, end: End) -> Fraction | None:
    for t in site.rules.tunes:
        if t.name == name:
            return {"now": t.value, "low": t.low, "high": t.high}[end]
    for f in site.rules.facts:
        if f.name == name:
            return f.high if end == "high" else f.low
    return None


def unit_of(site: Site, x: e.Number) -> Unit:
    """The unit in which its first number, tune or fact is written."""
    waiting: list[object] = [x]
    while waiting:
        node = waiting.pop(0)
        match node:
            case e.Constant(unit=unit) if unit.symbol:
                return unit
            case e.Parameter(name=name):
                stated: dict[str, Unit] = {t.name: t.unit for t in site.rules.tunes}
                return stated.get(name) or next(f.unit for f in site.rules.facts if f.name == name)
            case e.NamedNumber(name=name):
                waiting.extend(v.value for v in site.rules.values if v.name == name)
            case _:
                waiting.extend(parts(node))
    return NO_UNIT


def rounded_up(value: Fraction, unit: Unit) -> Fraction:
    """To whole units, or to tenths of a unit below 2."""
    x = value / unit.factor
    parts = 1 if abs(x) >= 2 else 10
    return -(-x * parts // 1) / Fraction(parts) * unit.factor


def raised(site: Site, x: e.Number, least: Fraction, reason: str, unit: Unit, *, where: str) -> tuple[Edit, ...]:
    """Edits after which the number is at least `least`, the value of the text `reason`, whatever the tunes are.

    A plain number is replaced. What is made of tunes gets a `require`, and a tune that is too small now a new value.
    None where that cannot be done.
    """
    if isinstance(x, e.Constant):
        return (edits.instead(site, x, figure(rounded_up(least, unit), unit.symbol), where=where),)
    now, most = value_of(site, x), value_of(site, x, "high")
    if now is None or most is None or most < least:
        return ()
    required = edits.statement(site, f"require {words(site, x)} is at least {reason}")
    if now >= least:
        return (required,)
    tune = next((t for t in site.rules.tunes if isinstance(x, e.Parameter) and t.name == x.name), None)
    changed = None if tune is None else _set_to(site, tune, rounded_up(least, tune.unit))
    return () if changed is None else (changed, required)


def _set_to(site: Site, tune: Tune, value: Fraction) -> Edit | None:
    """Another value for a tune, inside its range."""
    found = re.search(r"=\s*(.*?)\s*\bfrom\b", site.text(tune.span), re.DOTALL)
    if found is None or value > tune.high or (tune.steps and value not in tune.steps):
        return None
    start = tune.span.start
    place = Span(tune.span.source, start + found.start(1), start + found.end(1))
    return Edit(place, figure(value, tune.unit.symbol), f"in tune {tune.name}, write instead of `{found[1]}`")
