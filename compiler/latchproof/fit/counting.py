"""A counter out of latches that come on one after the other, where it is only asked whether it is so far."""

from fractions import Fraction
from math import ceil, floor
from typing import Any

from latchproof.fit.comparing import FLIPPED
from latchproof.fit.shop import Shop, before, both, either, opposite
from latchproof.fit.still import numbers_of
from latchproof.fit.used import used
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Counter, Latch

MOST = 8
"""The highest count that is made of latches."""


def counters(shop: Shop) -> None:
    if shop.has("counter"):
        return
    needed = used(shop.rules)
    for x in shop.rules.counters:
        shop.where = x.name
        highest = _highest(shop, x) if needed.has(x) else None
        if highest is not None and highest <= MOST:
            shop.changed("counter", x.span, highest)
            _made(shop, x, highest)


def _highest(shop: Shop, x: Counter) -> int | None:
    """The highest count that is asked for; None where the counter is used as a number that varies."""
    n, needed, r = numbers_of(shop.rules), used(shop.rules), shop.rules
    things: tuple[Any, ...] = (*r.values, *r.samples, *r.signals, *r.latches, *r.counters)
    stack: list[object] = [t for t in (*things, *r.rules, *r.channels, *r.roles) if needed.has(t)]
    highest = 0
    while stack:
        match stack.pop():
            case e.Comparison(e.NamedNumber(name), order, other) if name == x.name and n.value(other) is not None:
                highest = max(highest, _asked(order, n.value(other)))
            case e.Comparison(other, order, e.NamedNumber(name)) if name == x.name and n.value(other) is not None:
                highest = max(highest, _asked(FLIPPED[order], n.value(other)))
            case e.NamedNumber(name) if name == x.name:
                return None
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))
    return min(highest, x.limit)


def _asked(order: e.Order, bound: Fraction | None) -> int:
    """The highest count that a comparison with this number has to tell."""
    assert bound is not None
    return ceil(bound) if order in ("<", ">=") else floor(bound) + 1


def _made(shop: Shop, x: Counter, highest: int) -> None:
    n = numbers_of(shop.rules)
    begins = e.Edge("begins", x.counts, span=x.span)
    names = [shop.free(f"{x.name}_{k}") for k in range(1, highest + 1)]
    for k, name in enumerate(names):
        one_more = begins if k == 0 else both(begins, before(e.NamedSignal(names[k - 1], span=x.span)), span=x.span)
        shop.latches[name] = Latch(name, (one_more,), x.clears, span=x.span)

    def at_least(count: int) -> e.Signal:
        if count <= 0:
            return e.AllOf((), span=x.span)
        return e.AnyOf((), span=x.span) if count > x.limit else e.NamedSignal(names[count - 1], span=x.span)

    def compared(order: e.Order, bound: Fraction) -> e.Signal:
        match order:
            case ">=":
                return at_least(ceil(bound))
            case ">":
                return at_least(floor(bound) + 1)
            case "<":
                return opposite(at_least(ceil(bound)))
            case "<=":
                return opposite(at_least(floor(bound) + 1))
            case "==" if bound.denominator == 1:
                exact = int(bound)
                return both(at_least(exact), opposite(at_least(exact + 1)), span=x.span)
            case _:
                return either(e.AnyOf((), span=x.span), span=x.span)

    def change(y: Any) -> Any:
        match y:
            case e.Comparison(e.NamedNumber(name), order, right) if name == x.name:
                bound = n.value(right)
            case e.Comparison(left, order, e.NamedNumber(name)) if name == x.name:
                bound = n.value(left)
                order = FLIPPED[order]
            case _:
                return y
        return y if bound is None else compared(order, bound)

    shop.rewrite(change)
