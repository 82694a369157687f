"""Rules at the constants of their listing: tunes at their value, facts that nobody knows closer at their middle."""

from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

X = TypeVar("X")


def pinned(rules: RuleSet) -> RuleSet:
    """The logic takes a fact with a span at its middle, as the listing does; what is promised goes on to hold for all
    of it."""
    tunes = tuple(replace(t, low=t.value, high=t.value, steps=(t.value,) if t.steps else ()) for t in rules.tunes)
    spans = {f.name: e.Constant((f.low + f.high) / 2, f.unit, span=f.span) for f in rules.facts if f.low != f.high}
    made = replace(rules, tunes=tunes)
    if not spans:
        return made
    logic = ("values", "samples", "signals", "latches", "counters", "rules", "sequences", "channels")
    return replace(made, **{name: fixed(getattr(made, name), spans) for name in logic})


def fixed(x: X, spans: dict[str, e.Constant]) -> X:
    return cast(X, _fixed(x, spans))


def _fixed(x: object, spans: dict[str, e.Constant]) -> object:
    match x:
        case e.Parameter(name=name) if name in spans:
            return spans[name]
        case tuple():
            return tuple(_fixed(y, spans) for y in x)
        case _ if is_dataclass(x) and not isinstance(x, type):
            inside = {f.name: getattr(x, f.name) for f in fields(x) if f.name != "span"}
            changed: dict[str, Any] = {k: _fixed(v, spans) for k, v in inside.items()}
            return replace(x, **changed) if any(changed[k] is not inside[k] for k in inside) else x
        case _:
            return x
