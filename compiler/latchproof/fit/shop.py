"""What all rewritings share: the transmitter, names that are still free, what was made, what cannot be made."""

from dataclasses import dataclass, field, replace
from typing import Any

from latchproof.fit.model import Change, ChangeKind, Misfit, MisfitKind
from latchproof.fit.rewrite import everywhere, in_entries
from latchproof.fit.room import exists
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, NamedSignalDefinition, RuleSet
from latchproof.source import Span
from latchproof.transmitter.model import Kind, Transmitter


@dataclass
class Shop:
    """`where` is what the rule file calls the thing that is being worked on."""

    rules: RuleSet
    t: Transmitter
    changes: list[Change] = field(default_factory=list)
    misfits: list[Misfit] = field(default_factory=list)
    where: str = ""
    signals: dict[str, NamedSignalDefinition] = field(default_factory=dict)
    latches: dict[str, Latch] = field(default_factory=dict)
    named: dict[e.Signal, e.NamedSignal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        r = self.rules
        things: tuple[Any, ...] = (*r.facts, *r.tunes, *r.switches, *r.buttons, *r.controls, *r.sensors, *r.channels)
        things = (*things, *r.values, *r.samples, *r.signals, *r.latches, *r.counters, *r.rules, *r.sequences)
        self.taken: set[str] = {x.name for x in things} | {str(x.role) for x in r.roles}
        if r.device.pulse is not None:
            self.taken.add(r.device.pulse.name)

    def has(self, kind: Kind) -> bool:
        return exists(self.t, kind)

    def free(self, name: str) -> str:
        """The name, or with a number behind it, if it is taken."""
        base, number = name, 1
        while name in self.taken:
            number += 1
            name = f"{base}_{number}"
        self.taken.add(name)
        return name

    def short(self, x: e.Signal) -> e.Signal:
        """The same to be said several times: by a name, if it is long. A name takes no entry."""
        if fewer_than(LONG, x):
            return x
        if x not in self.named:
            self.named[x] = self.signal(self.free(f"{self.where}_part" if self.where else "part"), x, x.span)
        return self.named[x]

    def signal(self, name: str, signal: e.Signal, span: Span) -> e.NamedSignal:
        """A new definition under a name that is free."""
        self.signals[name] = NamedSignalDefinition(name, signal, span=span)
        return e.NamedSignal(name, span=span)

    def changed(self, kind: ChangeKind, span: Span, much: int = 0, *, late: bool = True, where: str = "") -> None:
        self.changes.append(Change(kind, where or self.where, much, late, span))

    def missing(
        self, kind: MisfitKind, span: Span, needs: str = "", has: str = "", helps: tuple[str, ...] = ()
    ) -> None:
        self.misfits.append(Misfit(kind, self.where, needs, has, helps=helps, span=span))

    def misfits_of_unit(self, span: Span, channel: str) -> None:
        self.misfits.append(Misfit("not percent", channel, span=span))

    def rewrite(self, change: Any) -> None:
        """`change` of every part of every entry, from the inside out; and what it newly made."""

        def one(x: Any) -> Any:
            self.where = str(getattr(x, "role", None) or getattr(x, "name", ""))
            return everywhere(x, change)

        self.rules = in_entries(self.rules, one)
        self.settle()

    def settle(self) -> None:
        """Puts what was newly made into the rules."""
        known = {s.name for s in self.rules.signals} | {x.name for x in self.rules.latches}
        more = tuple(s for name, s in self.signals.items() if name not in known)
        latches = tuple(x for name, x in self.latches.items() if name not in known)
        self.rules = replace(self.rules, signals=(*self.rules.signals, *more), latches=(*self.rules.latches, *latches))
        self.signals, self.latches = {}, {}


LONG = 16
"""Parts of a signal that is said several times only by a name, so that what is made of it stays small."""

DEEP = 20
"""How deep a signal may be before a part of it gets a name."""


def fewer_than(count: int, x: object) -> bool:
    """Whether an expression has fewer parts than that."""
    stack: list[object] = [x]
    while stack and count:
        y = stack.pop()
        if isinstance(y, e.Located):
            count -= 1
        if not isinstance(y, str) and y is not None:
            stack.extend(parts(y))
    return count > 0


def shallow(shop: Shop) -> None:
    """Names for parts of what is very deep, so that nothing later has to go down far."""
    depths: dict[int, tuple[Any, int]] = {}

    def depth(x: Any) -> int:
        return depths[id(x)][1] if id(x) in depths else 0

    def change(x: Any) -> Any:
        under = max(map(depth, parts(x)), default=0)
        if isinstance(x, SIGNALS) and under >= DEEP:
            name = shop.free(f"{shop.where}_part" if shop.where else "part")
            x, under = shop.signal(name, x, x.span), 0
        depths[id(x)] = x, under if isinstance(x, tuple) else under + 1
        return x

    shop.rewrite(change)


SIGNALS = (e.Not, e.AllOf, e.AnyOf, e.ExactlyOne, e.Timed, e.Edge, e.PreviousSignal)

# ---------- short forms


def both(*several: e.Signal, span: Span) -> e.Signal:
    return several[0] if len(several) == 1 else e.AllOf(several, span=span)


def either(*several: e.Signal, span: Span) -> e.Signal:
    return several[0] if len(several) == 1 else e.AnyOf(several, span=span)


def opposite(x: e.Signal) -> e.Signal:
    return x.operand if isinstance(x, e.Not) else e.Not(x, span=x.span)


def before(x: e.Signal, passes: int = 1) -> e.Signal:
    for _ in range(passes):
        x = e.PreviousSignal(x, span=x.span)
    return x
