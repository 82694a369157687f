"""Comparisons out of those that there are: other orders, differences by a calculation or a spare channel."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

from latchproof.fit.saying import said
from latchproof.fit.shop import Shop, both, opposite
from latchproof.fit.still import Numbers, numbers_of
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, RuleSet
from latchproof.rules.units import PERCENT, UNITS
from latchproof.run.expressions import compared

FLIPPED: dict[e.Order, e.Order] = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "=="}
OPPOSITE: dict[e.Order, e.Order] = {"<": ">=", "<=": ">", ">": "<=", ">=": "<"}


def comparisons(shop: Shop) -> None:
    work = _Comparing(shop, numbers_of(shop.rules))
    shop.rewrite(work.change)
    shop.rules = replace(shop.rules, channels=(*shop.rules.channels, *work.channels))


class _Comparing:
    def __init__(self, shop: Shop, numbers: Numbers) -> None:
        self.shop, self.n, self.able = shop, numbers, shop.t.comparisons
        self.channels: list[Channel] = []

    def change(self, x: Any) -> Any:
        match x:
            case e.Comparison(left, _, right):
                still = self.n.value(left) is not None, self.n.value(right) is not None
                if all(still):
                    return self._known(x)
                return self._in_order(self._of_one(x) if not any(still) else self._difference(x))
            case e.RateComparison() if not (self.able.rate and isinstance(x.subject, e.Reading)):
                self.shop.missing(
                    "no rate", x.span, helps=("compare what the model does instead, or take the rule out",)
                )
                return x
            case e.RateComparison():
                return self._rate_in_order(x)
            case _:
                return x

    def _known(self, x: e.Comparison) -> e.Signal:
        """What is known before the flight takes no entry."""
        if (self.n.parameters(x.left) | self.n.parameters(x.right)) & self.n.spanned:
            self.shop.missing("fact with a span", x.span, said(x))
            return x
        a, b = self.n.value(x.left), self.n.value(x.right)
        assert a is not None
        assert b is not None
        return e.AllOf((), span=x.span) if compared(a, x.order, b) else e.AnyOf((), span=x.span)

    # ---------- orders

    def _in_order(self, x: e.Comparison) -> e.Signal:
        """With an order that there is; the number that stands still is the threshold, on the right."""
        if self.n.value(x.left) is not None:
            x = replace(x, left=x.right, order=FLIPPED[x.order], right=x.left)
        return self._made(x, x.order, lambda order: replace(x, order=order))

    def _rate_in_order(self, x: e.RateComparison) -> e.Signal:
        return self._made(x, x.order, lambda order: replace(x, order=order))

    def _made(self, x: e.Signal, order: e.Order, as_: Any) -> e.Signal:
        if order in self.able.orders:
            return as_(order) if isinstance(x, e.Comparison) else x
        if order == "==":
            sides = [self._side(as_, o) for o in ("<=", ">=")]
            found = [s for s in sides if s is not None]
            if len(found) == 2:
                self.shop.changed("order", x.span)
                return both(*found, span=x.span)
        else:
            side = self._side(as_, order)
            if side is not None:
                self.shop.changed("order", x.span, late=False)
                return side
        self.shop.missing("no comparison", x.span, order, ", ".join(sorted(self.able.orders)))
        return x

    def _side(self, as_: Any, order: Any) -> e.Signal | None:
        if order in self.able.orders:
            found: e.Signal = as_(order)
            return found
        other = OPPOSITE[order]
        return opposite(as_(other)) if other in self.able.orders else None

    # ---------- two numbers

    def _of_one(self, x: e.Comparison) -> e.Comparison:
        """Two numbers that vary, compared as their difference with nothing."""
        if self.able.of_two:
            return x
        self.shop.changed("two numbers", x.span)
        unit = next((u for u in UNITS.values() if u.dimension == self.n.dimension(x.left) and u.factor == 1), UNITS[""])
        zero = e.Constant(Fraction(0), unit, span=x.span)
        return self._difference(replace(x, left=e.Minus(x.left, x.right, span=x.span), right=zero))

    def _difference(self, x: e.Comparison) -> e.Comparison:
        """A calculation compared with a number, where the transmitter calculates; else on a channel to spare."""
        subject, bound = (x.left, x.right) if self.n.value(x.right) is not None else (x.right, x.left)
        subject = self._meant(subject)
        if not _calculated(subject) or self.shop.has("calculation"):
            return x
        if (
            self.able.difference
            and isinstance(subject, e.Minus)
            and not any(map(_calculated, (subject.left, subject.right)))
        ):
            return x
        channel = self._spare(subject, bound)
        if channel is None:
            helps = ("compare each number with a threshold of its own instead",)
            self.shop.missing("no calculation", x.span, helps=helps)
            return x
        self.shop.changed("spare channel", x.span)
        seen = e.Output(channel.name, span=x.span)
        return replace(x, left=seen) if bound is x.right else replace(x, right=seen)

    def _meant(self, x: e.Number) -> e.Number:
        """What a name stands for."""
        while isinstance(x, e.NamedNumber) and x.name in self.n.named:
            x = self.n.named[x.name]
        return x

    def _spare(self, subject: e.Number, bound: e.Number) -> Channel | None:
        """A channel that nothing else uses, mixed of sticks and knobs; it cuts off what lies beyond the travel, so
        that the threshold must lie within."""
        known = next((c for c in self.channels if c.source == subject), None)
        most = self.shop.t.pulses.travel
        value = self.n.value(bound)
        fits = self.n.dimension(subject) == PERCENT and value is not None and -most < value < most
        if not fits or not _of_controls(subject):
            return None
        if known is not None:
            return known
        if free_channels(self.shop.rules, self.shop.t.channels, self.shop.t.has) <= len(self.channels):
            return None
        name = self.shop.free("spare_channel")
        self.channels.append(Channel(name, None, subject, False, -most, most, UNITS["%"], span=subject.span))
        return self.channels[-1]


def free_channels(rules: RuleSet, channels: int, has: Any) -> int:
    numbers = {c.number for c in rules.channels if c.number is not None} | {n for h in has for n in h.channels}
    unnumbered = sum(c.number is None for c in rules.channels)
    return channels - len(numbers) - unnumbered


def _calculated(x: e.Number) -> bool:
    kinds = (e.Plus, e.Minus, e.Product, e.Quotient, e.Size, e.Smallest, e.Largest, e.FromTable)
    return isinstance(x, kinds)


def _of_controls(x: e.Number) -> bool:
    """A mix: sums of sticks and knobs, with factors."""
    stack: list[object] = [x]
    while stack:
        match stack.pop():
            case e.Held() | e.Constant() | e.Parameter() | str() | None:
                pass
            case (e.Plus() | e.Minus() | e.Product()) as node:
                stack.extend(parts(node))
            case _:
                return False
    return True
