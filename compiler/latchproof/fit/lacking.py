"""What the rules use that the transmitter has not and that nothing else can stand for."""

from typing import Any

from latchproof.fit.rewrite import everywhere
from latchproof.fit.shop import Shop
from latchproof.fit.still import numbers_of
from latchproof.fit.used import used
from latchproof.rules import expressions as e
from latchproof.rules.model import Counter, Latch, Sample


def lacking(shop: Shop) -> None:
    """Adds a misfit for each."""
    needed = used(shop.rules)
    r = shop.rules
    memories: tuple[Latch | Counter | Sample, ...] = (*r.latches, *r.counters, *r.samples)
    for x in memories:
        shop.where = x.name
        if not needed.has(x):
            continue
        match x:
            case Latch() if not shop.has("latch"):
                if not any(m.where == x.name and m.kind == "time-out" for m in shop.misfits):
                    shop.missing("no latch", x.span)
            case Counter() if not shop.has("counter") and needed.has(x):
                shop.missing("no counter", x.span, helps=("a latch can tell whether it came at all",))
            case Sample() if not shop.has("kept value"):
                shop.missing("no kept value", x.span, helps=("compare with a fixed number instead",))
            case _:
                pass
    _calculations(shop)
    _earlier(shop)


def _calculations(shop: Shop) -> None:
    """A calculation that a comparison does not need is one that an action or another calculation does."""
    if shop.has("calculation"):
        return
    n, needed = numbers_of(shop.rules), used(shop.rules)
    kinds = (e.Plus, e.Minus, e.Product, e.Quotient, e.Size, e.Smallest, e.Largest, e.FromTable)
    taken = [(s.name, s.value) for s in shop.rules.samples if needed.has(s)]
    for r in shop.rules.rules:
        amounts = (getattr(a, "target", None) or getattr(a, "amount", None) for a in r.actions)
        taken += [(r.name, amount) for amount in amounts if amount is not None]
    for name, x in taken:
        shop.where = name
        if isinstance(x, kinds) and n.value(x) is None:
            shop.missing("no calculation", x.span, helps=("take a number that stands still, or a sensor, instead",))


def _earlier(shop: Shop) -> None:
    """Feedback needs an entry that reads one further down the list."""
    if shop.t.gates.later is not False:
        return
    needed = used(shop.rules)
    found: dict[str, Any] = {}

    def look(x: Any) -> Any:
        if isinstance(x, e.PreviousSignal | e.PreviousNumber):
            found.setdefault(shop.where, x)
        return x

    r = shop.rules
    for thing in (*r.signals, *r.latches, *r.counters, *r.samples, *r.rules, *r.roles, *r.values):
        if needed.has(thing):
            shop.where = str(getattr(thing, "role", None) or getattr(thing, "name", ""))
            everywhere(thing, look)
    for where, x in found.items():
        shop.where = where
        shop.missing("no order", x.span)
