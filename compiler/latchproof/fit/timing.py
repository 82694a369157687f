"""Delays, pulses and edges out of what there is, where that is exact."""

from dataclasses import replace
from typing import Any

from latchproof.fit.shop import Shop, before, both, either, opposite
from latchproof.fit.still import numbers_of
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Drive, Latch, Limit, Move

MOST_PASSES = 8
"""The longest time in passes that is made of gates."""


def timing(shop: Shop) -> None:
    work = _Timing(shop)
    shop.rewrite(work.change)


def edges(shop: Shop) -> None:
    """Out of a gate that reads the pass before."""
    if shop.has("edge"):
        return

    def change(x: Any) -> Any:
        if not isinstance(x, e.Edge):
            return x
        shop.changed("edge", x.span)
        now = shop.short(x.operand)
        was = before(now)
        if x.kind == "begins":
            return both(now, opposite(was), span=x.span)
        return both(was, opposite(now), span=x.span)

    shop.rewrite(change)


class _Timing:
    def __init__(self, shop: Shop) -> None:
        self.shop, self.able, self.n = shop, shop.t.delays, numbers_of(shop.rules)
        self.known: dict[e.Timed, e.Signal] = {}

    def change(self, x: Any) -> Any:
        match x:
            case e.Timed():
                if x not in self.known:
                    self.known[x] = self._timed(x)
                return self.known[x]
            case Drive() | Move() | Limit() if x.modifiers.after is not None:
                return self._after(x)
            case Announce(every=every) if every is not None and self.n.value(every.amount) is None:
                self.shop.missing("varying time", x.span)
                return x
            case Announce(every=every) if every is not None and every.in_cycles:
                self.shop.missing("delay in cycles", x.span, "how often a sound is repeated")
                return x
            case Latch(timeout=out) if out is not None:
                times = (out.duration, *(() if out.blocked_for is None else (out.blocked_for,)))
                if any(self.n.value(d.amount) is None for d in times):
                    self.shop.missing("varying time", x.span)
                elif any(d.in_cycles for d in times):
                    self.shop.missing("delay in cycles", x.span, "a time-out", helps=("write it in seconds",))
                elif "on" not in self.able.kinds or not self.shop.has("delay"):
                    self._no_delay(x, "on", "a time-out is a delay as well")
                return x
            case _:
                return x

    def _after(self, x: Any) -> Any:
        after = x.modifiers.after
        if self.n.value(after.amount) == 0:
            return replace(x, modifiers=replace(x.modifiers, after=None))
        if self.n.value(after.amount) is None:
            self.shop.missing("varying time", x.span)
        elif after.in_cycles:
            self.shop.missing("delay in cycles", x.span, "the time after which an action begins")
        elif "on" not in self.able.kinds or not self.shop.has("delay"):
            self._no_delay(x, "on")
        return x

    def _no_delay(self, x: e.Located, kind: str, needs: str = "") -> None:
        has = ", ".join(sorted(self.able.kinds)) if self.shop.has("delay") else ""
        self.shop.missing("no delay", x.span, needs or kind, has)

    def _timed(self, x: e.Timed) -> e.Signal:
        length = self.n.value(x.duration.amount)
        if length is None:
            self.shop.missing("varying time", x.span)
            return x
        if length == 0:
            self.shop.changed("zero delay", x.span, late=False)
            return e.AnyOf((), span=x.span) if x.kind == "pulsed" else x.operand
        if x.duration.in_cycles:
            return self._in_passes(x, length)
        has = self.able.kinds if self.shop.has("delay") else frozenset()
        match x.kind:
            case "for" if "on" not in has:
                self._no_delay(x, "on")
            case "extended" if "off" not in has:
                if "on" in has:
                    return self._off_delay(x)
                self._no_delay(x, "off")
            case "pulsed" if "pulse" not in has:
                if "on" in has:
                    return self._pulse(x)
                self._no_delay(x, "pulse")
            case "pulsed" if self.able.again is not False and not self._held_back(x.operand):
                return self._not_again(x)
            case _:
                pass
        return x

    def _in_passes(self, x: e.Timed, length: Any) -> e.Signal:
        """A time in passes: what was so many passes ago, all or any of it."""
        if length > MOST_PASSES or length.denominator != 1:
            helps = ("write it in seconds",)
            self.shop.missing("delay in cycles", x.span, "a time in passes", f"{MOST_PASSES} passes", helps)
            return x
        count = int(length)
        self.shop.changed("cycles", x.span, count)
        x = replace(x, operand=self.shop.short(x.operand))
        if x.kind == "for":
            return both(*(before(x.operand, k) for k in range(count + 1)), span=x.span)
        if x.kind == "extended":
            return either(*(before(x.operand, k) for k in range(count + 1)), span=x.span)
        name = self.shop.free(self._called("pulse"))
        starts = self._rising(x.operand, before(e.NamedSignal(name, span=x.span)))
        starts = self.shop.signal(self.shop.free(f"{name}_begins"), starts, x.span)
        return self.shop.signal(name, either(*(before(starts, k) for k in range(count)), span=x.span), x.span)

    def _called(self, what: str) -> str:
        return f"{self.shop.where}_{what}" if self.shop.where else what

    def _rising(self, x: e.Signal, running: e.Signal) -> e.Signal:
        """True in the pass in which a pulse begins: never while one runs."""
        return both(e.Edge("begins", x, span=x.span), opposite(running), span=x.span)

    def _off_delay(self, x: e.Timed) -> e.Signal:
        """Not yet off for so long, once it was ever on: a delay before true of the opposite, and a memory."""
        self.shop.changed("no off-delay", x.span)
        x = replace(x, operand=self.shop.short(x.operand))
        name, span = self.shop.free(self._called("ever")), x.span
        if self.shop.has("latch"):
            self.shop.latches[name] = Latch(name, (x.operand,), (), span=span)
        else:
            self.shop.signal(name, either(x.operand, before(e.NamedSignal(name, span=span)), span=span), span)
        long_off = e.Timed("for", opposite(x.operand), x.duration, span=span)
        return both(e.NamedSignal(name, span=span), opposite(long_off), span=span)

    def _pulse(self, x: e.Timed) -> e.Signal:
        """Two delays that take turns, so that one is back at zero before the next pulse may begin."""
        self.shop.changed("no pulse", x.span)
        span, name = x.span, self.shop.free(self._called("pulse"))
        was = before(e.NamedSignal(name, span=span))
        begins = self.shop.signal(self.shop.free(f"{name}_begins"), self._rising(x.operand, was), span)
        turn = self.shop.free(f"{name}_turn")
        way = self.shop.signal(turn, e.ExactlyOne((before(e.NamedSignal(turn, span=span)), begins), span=span), span)
        runs = either(begins, was, span=span)
        over = [e.Timed("for", both(runs, w, span=span), x.duration, span=span) for w in (way, opposite(way))]
        return self.shop.signal(name, both(runs, opposite(either(*over, span=span)), span=span), span)

    def _held_back(self, x: e.Signal) -> bool:
        """Whether a cause is never true while its own pulse runs."""
        running = before(e.NamedSignal(self.shop.where, span=x.span))
        return isinstance(x, e.AllOf) and opposite(running) in x.operands

    def _not_again(self, x: e.Timed) -> e.Signal:
        """A pulse that would begin anew: its cause is held back while it runs."""
        self.shop.changed("pulse again", x.span)
        name = self.shop.free(self._called("pulse"))
        cause = self._rising(x.operand, before(e.NamedSignal(name, span=x.span)))
        return self.shop.signal(name, replace(x, operand=cause), x.span)
