"""The pass before, as a transmitter has it: an entry sees it of an entry that stands further down the list.

So a switch has to be an entry to be seen late, and so has what is seen late twice over; and what an entry needs of this
pass cannot stand further down as well, so that it gets a second entry there that only repeats it.
"""

from typing import Any

from latchproof.fit.shop import Shop
from latchproof.machine.nodes import nodes_of
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e

ENTRIES = (e.Comparison, e.RateComparison, e.Band, e.AllOf, e.AnyOf, e.ExactlyOne, e.Timed, e.Edge)


def mirrors(shop: Shop) -> None:
    work = _Mirrors(shop)

    def change(x: Any) -> Any:
        return work.seen_late(x) if isinstance(x, e.PreviousSignal) else x

    shop.rewrite(change)


class _Mirrors:
    def __init__(self, shop: Shop) -> None:
        self.shop = shop
        nodes = nodes_of(shop.rules)
        owner = {name: n.name for n in nodes for name in n.defines}
        self.owner = owner
        self.above: dict[str, set[str]] = {
            n.name: {owner[r] for r, _ in n.reads if r in owner} - {n.name} for n in nodes
        }
        """What has to stand above each thing."""
        self.names = {s.name: s.signal for s in shop.rules.signals} | {str(r.role): r.signal for r in shop.rules.roles}
        self.entries = {s.name for s in shop.rules.signals} | {x.name for x in shop.rules.latches}
        self.now: set[e.Signal] = set()
        for x in (
            *shop.rules.signals,
            *shop.rules.latches,
            *shop.rules.counters,
            *shop.rules.samples,
            *shop.rules.rules,
        ):
            self._read_now(x)

    def _read_now(self, x: object) -> None:
        """Notes every entry that something sees in this pass."""
        stack: list[object] = [x]
        while stack:
            y = stack.pop()
            if isinstance(y, ENTRIES):
                self.now.add(y)
            if isinstance(y, e.PreviousSignal) and isinstance(y.operand, ENTRIES):
                stack.extend(parts(y.operand))  # seen late itself, but not what it is made of
            elif not isinstance(y, str) and y is not None:
                stack.extend(parts(y))

    def seen_late(self, x: e.PreviousSignal) -> e.Signal:
        y = x.operand
        match y:
            case e.NamedSignal(name) if self._is_entry(name) and self._stands_below(name):
                return x
            case e.Comparison() | e.Timed() | e.AllOf() | e.AnyOf() | e.ExactlyOne() | e.Edge() if y not in self.now:
                return x
            case _:
                pass
        self.shop.changed("mirror", x.span, late=False)
        return e.PreviousSignal(self._repeated(y), span=x.span)

    def _is_entry(self, name: str) -> bool:
        """Whether a name stands for an entry, and not for a switch or button, or for nothing that it could be."""
        x: e.Signal = e.NamedSignal(name, span=self.shop.rules.cycle.span)
        seen: set[str] = set()
        while isinstance(x, e.NamedSignal) and x.name in self.names and x.name not in seen:
            seen.add(x.name)
            x = self.names[x.name]
        return isinstance(x, ENTRIES) or (isinstance(x, e.NamedSignal) and x.name in self.entries)

    def _stands_below(self, name: str) -> bool:
        """Whether it can stand below the thing that is worked on; from now on it does."""
        here, there = self.shop.where, self.owner.get(name, name)
        if here == there:
            return True
        if there in self._all_above(here):
            return False
        self.above.setdefault(there, set()).add(here)
        return True

    def _all_above(self, name: str) -> set[str]:
        found: set[str] = set()
        waiting = [name]
        while waiting:
            more = self.above.get(waiting.pop(), set()) - found
            found |= more
            waiting.extend(more)
        return found

    def _repeated(self, x: e.Signal) -> e.Signal:
        """A gate whose other input changes nothing."""
        kinds = self.shop.t.gates.kinds
        if "all" in kinds:
            return e.AllOf((x, e.AllOf((), span=x.span)), span=x.span)
        return (e.AnyOf if "any" in kinds else e.ExactlyOne)((x, e.AnyOf((), span=x.span)), span=x.span)
