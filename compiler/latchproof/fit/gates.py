"""Gates out of those that there are: fewer inputs, fewer kinds, no opposite of an input."""

from collections import Counter
from typing import Any

from latchproof.fit.comparing import OPPOSITE
from latchproof.fit.shop import Shop, either, opposite
from latchproof.rules import expressions as e


def gates(shop: Shop) -> None:
    work = _Gates(shop)
    shop.rewrite(work.tidy)
    work.count()
    shop.rewrite(work.merged)
    shop.rewrite(work.tidy)
    shop.rewrite(work.kinds)
    if not shop.t.gates.inverts:
        shop.rewrite(work.without_opposites)
    shop.rewrite(work.narrow)


Gate = e.AllOf | e.AnyOf | e.ExactlyOne


class _Gates:
    def __init__(self, shop: Shop) -> None:
        self.shop, self.able = shop, shop.t.gates
        self.positions = {s.name: len(s.positions) for s in shop.rules.switches}
        self.first: dict[tuple[type, frozenset[tuple[e.Signal, int]]], e.Signal] = {}
        self.used: Counter[e.Signal] = Counter()

    # ---------- nothing needless

    def tidy(self, x: Any) -> Any:
        """Without gates of one input, the same input twice, and the opposite of an opposite."""
        match x:
            case e.Not(e.Not(operand)):
                return operand
            case e.Not(e.AllOf(()) | e.AnyOf(())):
                return e.AnyOf((), span=x.span) if isinstance(x.operand, e.AllOf) else e.AllOf((), span=x.span)
            case e.AllOf(operands) | e.AnyOf(operands):
                decisive, idle = (e.AnyOf, e.AllOf) if isinstance(x, e.AllOf) else (e.AllOf, e.AnyOf)
                if any(isinstance(o, decisive) and not o.operands for o in operands):
                    return decisive((), span=x.span)
                several = tuple(dict.fromkeys(o for o in operands if not (isinstance(o, idle) and not o.operands)))
                if len(several) == 1:
                    return several[0]
                return self._as_before(x if len(several) == len(operands) else type(x)(several, span=x.span))
            case e.ExactlyOne((single,)):
                return single
            case e.ExactlyOne():
                return self._as_before(x)
            case _:
                return x

    def _as_before(self, x: Gate) -> Gate:
        """The first gate of the same kind with the same inputs, in whatever order: one entry is enough for both."""
        found = self.first.setdefault((type(x), frozenset(Counter(x.operands).items())), x)
        assert isinstance(found, type(x))
        return found

    def count(self) -> None:
        """How often each gate is read, where it stands in several places more than once."""
        self.used.clear()

        def look(x: Any) -> Any:
            if isinstance(x, Gate):
                self.used[x] += 1
            return x

        self.shop.rewrite(look)

    def merged(self, x: Any) -> Any:
        """A gate that only one other of its kind reads is part of that one, as far as it has inputs."""
        if not isinstance(x, e.AllOf | e.AnyOf):
            return x
        inputs = list(x.operands)
        for y in x.operands:
            inner = self._inside(x, y)
            if inner is not None and len(inputs) - 1 + len(inner) <= self.able.inputs:
                at = inputs.index(y)
                inputs[at : at + 1] = inner
        if len(inputs) == len(x.operands):
            return x
        self.shop.changed("merged", x.span, len(inputs), late=False)
        return type(x)(tuple(inputs), span=x.span)

    def _inside(self, x: e.AllOf | e.AnyOf, y: e.Signal) -> tuple[e.Signal, ...] | None:
        other = e.AnyOf if isinstance(x, e.AllOf) else e.AllOf
        match y:
            case e.AllOf(operands) | e.AnyOf(operands) if isinstance(y, type(x)) and self.used[y] <= 1:
                return operands
            case e.Not(e.AllOf(operands) | e.AnyOf(operands)) if isinstance(y.operand, other):
                return tuple(opposite(o) for o in operands) if self.used[y.operand] <= 1 else None
            case _:
                return None

    # ---------- kinds

    def kinds(self, x: Any) -> Any:
        match x:
            case e.ExactlyOne(operands) if operands and not (
                "one" in self.able.kinds and len(operands) <= self.able.inputs
            ):
                self.shop.changed("no one" if "one" not in self.able.kinds else "wide gate", x.span, len(operands))
                return self._one(operands, x)
            case e.AnyOf(operands) if operands:
                return self._any(operands, x)
            case e.AllOf(operands) if operands:
                return self._all(operands, x)
            case _:
                return x

    def _any(self, operands: tuple[e.Signal, ...], x: e.Located) -> e.Signal:
        if "any" in self.able.kinds:
            return either(*operands, span=x.span)
        if "all" not in self.able.kinds:
            self.shop.missing("no gate", x.span, "any", ", ".join(sorted(self.able.kinds)))
            return either(*operands, span=x.span)
        self.shop.changed("no any", x.span, late=False)
        return e.Not(e.AllOf(tuple(opposite(o) for o in operands), span=x.span), span=x.span)

    def _all(self, operands: tuple[e.Signal, ...], x: e.Located) -> e.Signal:
        if "all" in self.able.kinds:
            return operands[0] if len(operands) == 1 else e.AllOf(operands, span=x.span)
        if "any" not in self.able.kinds:
            self.shop.missing("no gate", x.span, "all", ", ".join(sorted(self.able.kinds)))
            return e.AllOf(operands, span=x.span)
        self.shop.changed("no all", x.span, late=False)
        return e.Not(e.AnyOf(tuple(opposite(o) for o in operands), span=x.span), span=x.span)

    def _one(self, operands: tuple[e.Signal, ...], x: e.Located) -> e.Signal:
        """One after the other: whether exactly one was true so far, and whether none was."""
        rest = [self.shop.short(o) for o in operands]
        if "one" in self.able.kinds and self.able.inputs > 1:
            first = tuple(rest[: self.able.inputs])
            one: e.Signal = e.ExactlyOne(first, span=x.span)
            none = opposite(self._any(first, x))
            rest = rest[self.able.inputs :]
        else:
            one, none = rest[0], opposite(rest[0])
            rest = rest[1:]
        for k, y in enumerate(rest, 1):
            other = opposite(y)
            one = self._any((self._all((one, other), x), self._all((none, y), x)), x)
            if k < len(rest):
                none = self._all((none, other), x)
        return one

    # ---------- opposites

    def without_opposites(self, x: Any) -> Any:
        match x:
            case e.Not(operand):
                return self._opposite(operand, x)
            case e.SensorState(sensor, "fresh"):
                return self._inverter(e.SensorState(sensor, "stale", span=x.span), x)
            case _:
                return x

    def _opposite(self, x: e.Signal, whole: e.Located) -> e.Signal:
        match x:
            case e.Not(operand):
                return operand
            case e.AtPosition(switch, position):
                others = tuple(
                    e.AtPosition(switch, k, span=x.span) for k in range(self.positions[switch]) if k != position
                )
                if len(others) == 1 or "any" in self.able.kinds:
                    return either(*others, span=x.span)
                return self._inverter(x, whole)
            case e.Comparison(left, order, right) if self._may(order):
                return e.Comparison(left, OPPOSITE[order], right, span=x.span)
            case e.AllOf(operands) | e.AnyOf(operands) if all(self._freely(o) for o in operands):
                turned = tuple(self._opposite(o, whole) for o in operands)
                kind = e.AnyOf if isinstance(x, e.AllOf) else e.AllOf
                if ("any" if kind is e.AnyOf else "all") in self.able.kinds:
                    return kind(turned, span=x.span)
                return self._inverter(x, whole)
            case e.ExactlyOne((operand, e.AllOf(()))):
                return operand
            case _:
                return self._inverter(x, whole)

    def _may(self, order: e.Order) -> bool:
        return OPPOSITE.get(order) in self.shop.t.comparisons.orders

    def _freely(self, x: e.Signal) -> bool:
        """Whether the opposite needs no gate."""
        match x:
            case e.AtPosition(switch):
                return self.positions[switch] == 2
            case e.Comparison(_, order, _):
                return self._may(order)
            case e.ExactlyOne((_, e.AllOf(()))):
                return True
            case _:
                return False

    def _inverter(self, x: e.Signal, whole: e.Located) -> e.Signal:
        """Exactly one of two of which one is always true: the opposite of the other."""
        if "one" not in self.able.kinds or self.able.inputs < 2:
            self.shop.missing("no inversion", whole.span)
            return e.Not(x, span=whole.span)
        self.shop.changed("no inversion", whole.span)
        return e.ExactlyOne((x, e.AllOf((), span=whole.span)), span=whole.span)

    # ---------- width

    def narrow(self, x: Any) -> Any:
        """A tree of gates; as few as can be, and as few one behind the other."""
        match x:
            case e.AllOf(operands) | e.AnyOf(operands) if len(operands) > self.able.inputs > 1:
                self.shop.changed("wide gate", x.span, len(operands))
                waiting = list(operands)
                while len(waiting) > self.able.inputs:
                    few = min(self.able.inputs, len(waiting) - self.able.inputs + 1)
                    some, waiting = waiting[:few], waiting[few:]
                    waiting.append(type(x)(tuple(some), span=x.span))
                return type(x)(tuple(waiting), span=x.span)
            case e.AllOf(operands) | e.AnyOf(operands) if len(operands) > self.able.inputs:
                self.shop.missing("no gate", x.span, "a gate of two inputs")
                return x
            case _:
                return x
