"""Expressions and rule sets made anew with something in them changed."""

from collections.abc import Callable
from dataclasses import fields, is_dataclass, replace
from typing import Any, TypeVar, cast

from latchproof.fit.used import used
from latchproof.rules import expressions as e
from latchproof.rules.model import RuleSet

X = TypeVar("X")

Change = Callable[[Any], Any]


def children(x: X, go: Change) -> X:
    """The same with `go` of every part of it: expressions, tuples and records of them; texts and numbers stay."""
    if isinstance(x, tuple):
        made = tuple(map(go, x))  # not a comprehension: each would be a level more to the stack
        return x if all(a is b for a, b in zip(made, x, strict=True)) else cast(X, made)
    if not isinstance(x, e.Located) and not _is_record(x):
        return x
    changed: dict[str, Any] = {}
    for f in fields(cast(Any, x)):
        y = getattr(x, f.name)
        if f.name != "span" and (isinstance(y, tuple) or is_dataclass(y)):
            z = go(y)
            if z is not y:
                changed[f.name] = z
    return cast(X, replace(cast(Any, x), **changed)) if changed else x


def _is_record(x: object) -> bool:
    return is_dataclass(x) and not isinstance(x, type) and type(x).__module__ == "latchproof.rules.model"


def everywhere(x: X, change: Change) -> X:
    """`change` of every part from the inside out; it is given each one and returns it or what stands in its place."""

    known: dict[int, tuple[Any, Any]] = {}

    def go(y: Any) -> Any:
        # what stands in several places is one object, and gone through once
        if id(y) not in known:
            known[id(y)] = y, change(children(y, go))
        return known[id(y)][1]

    return cast(X, go(x))


ENTRIES = ("values", "samples", "signals", "latches", "counters", "rules", "sequences", "channels", "roles")
"""The parts of a rule set that become entries; what is promised about them is none."""


def in_entries(rules: RuleSet, change: Change) -> RuleSet:
    """`change` of every definition, action and channel that the model's doing hangs on, each by itself."""
    needed = used(rules)

    def changed(x: Any) -> Any:
        return change(x) if needed.has(x) else x

    made: dict[str, Any] = {part: tuple(changed(x) for x in getattr(rules, part)) for part in ENTRIES}
    return replace(rules, **made)


def reading_itself(x: X, *names: str) -> X:
    """What a memory that reads itself means: the pass before. Here that is said. Within a `previous` it is already."""

    def go(y: Any) -> Any:
        match y:
            case e.PreviousSignal() | e.PreviousNumber():
                return y
            case e.NamedSignal(name) if name in names:
                return e.PreviousSignal(y, span=y.span)
            case e.NamedNumber(name) if name in names:
                return e.PreviousNumber(y, span=y.span)
            case _:
                return children(y, go)

    return cast(X, go(x))
