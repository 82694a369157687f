"""Claims that may notice a weakening, by its kind. Whether one does is for the prover to say; most say again, from the
outside, what the rules say from the inside."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import assert_never

from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Before,
    Can,
    Form,
    Latch,
    LengthOf,
    Never,
    QuietAfter,
    RuleSet,
    Scope,
    Timeout,
    Whenever,
)
from latchproof.rules.units import UNITS
from latchproof.source import Span
from latchproof.strength.amounts import worth
from latchproof.strength.logic import all_of, any_of, negated
from latchproof.strength.reactions import Reactions
from latchproof.strength.weakening import (
    Dominance,
    LeftOut,
    LineGone,
    NoAction,
    NoBlock,
    NoModifier,
    NoPriority,
    NoTimeout,
    OtherAction,
    Replaced,
    Swapped,
    Weakening,
)

Promise = tuple[Form, Scope | None]


def promises(w: Weakening, rules: RuleSet) -> Iterator[Promise]:
    """The likeliest first."""
    match w.change:
        case LeftOut() | Replaced() | LineGone() | Swapped() | Dominance() | NoTimeout() | NoBlock():
            for form in _Logic(w, rules).forms():
                yield form if isinstance(form, tuple) else (form, None)
        case NoAction(action):
            yield from Reactions(w, rules).acts(action)
        case OtherAction(action, instead):
            yield from Reactions(w, rules).amount(action, instead)
        case NoModifier(action, which):
            yield from Reactions(w, rules).modifier(action, which)
        case NoPriority(over):
            yield from Reactions(w, rules).outranks(over)
        case _:
            assert_never(w.change)


@dataclass(frozen=True)
class _Logic:
    """Weakenings of signals and latches."""

    w: Weakening
    rules: RuleSet

    @property
    def span(self) -> Span:
        return self.w.span

    def never(self, *signals: e.Signal) -> Never:
        return Never(all_of(*signals), span=self.span)

    def whenever(self, cause: e.Signal, effect: e.Signal) -> Whenever:
        return Whenever(cause, effect, None, span=self.span)

    def begins(self, x: e.Signal) -> e.Signal:
        return e.Edge("begins", x, span=self.span)

    def ends(self, x: e.Signal) -> e.Signal:
        return e.Edge("ends", x, span=self.span)

    @property
    def shown(self) -> tuple[e.Signal, ...]:
        """Signals that tell that the element is on."""
        name = self.w.place.name
        if self.w.place.noun in ("rule", "sequence"):
            return Reactions(self.w, self.rules).signs(name)
        return (e.NamedSignal(name, span=self.span),)

    @property
    def latch(self) -> Latch:
        return next(x for x in self.rules.latches if x.name == self.w.place.name)

    def forms(self) -> Iterator[Form | Promise]:
        match self.w.place.slot:
            case "signal" | "condition" | "role":
                yield from self._logic()
            case "set" | "reset" | "blocked until" | None if self.w.place.noun == "latch":
                yield from self._latch()
            case "counts" | "clears" | "when" | "until" | "value" | _:
                return

    def _logic(self) -> Iterator[Form]:
        whole = self.w.place.whole
        assert whole is not None
        for x in self.shown:
            match self.w.change:
                case LeftOut(operand, "and"):
                    yield self.never(x, negated(operand, self.rules))
                case LeftOut(operand, _):
                    yield self.whenever(operand, x)
                case Replaced(_, before, _):
                    yield self.never(x, negated(before, self.rules))
                case _:
                    pass
            yield self.whenever(whole, x)
            yield self.never(x, negated(whole, self.rules))

    def _latch(self) -> Iterator[Form | Promise]:
        latch = self.latch
        x: e.Signal = e.NamedSignal(latch.name, span=self.span)
        free = tuple(negated(r, self.rules) for r in latch.resets)
        match self.w.place.slot, self.w.change:
            case "set", LeftOut(operand, "and"):
                yield self.never(self.begins(x), negated(operand, self.rules))
            case "set", Replaced(_, before, _):
                yield self.never(self.begins(x), negated(before, self.rules))
            case "reset", LineGone(_, signal):
                yield self.never(x, signal)
            case "reset", LeftOut(operand, "or"):
                yield self.never(x, operand)
            case "reset", Replaced(_, before, _):
                yield self.never(x, before)
            case None, NoTimeout(timeout):
                yield from self._length(x, timeout)
            case None, NoBlock(timeout):
                yield from self._blocked(x, timeout, free)
            case "blocked until", _:
                if latch.timeout is not None:
                    yield from self._blocked(x, latch.timeout, free)
            case None, Swapped() | Dominance(set_wins=False):
                yield from (self.never(x, r) for r in latch.resets)
            case _:
                pass
        if self.w.place.slot == "reset" and self.w.place.whole is not None:
            yield self.never(x, self.w.place.whole)
            yield from self._only_ends(x)
        else:
            for s in latch.sets:
                ready = all_of(s, *free) if not latch.set_wins else s
                yield self.whenever(ready, x)
                yield self.whenever(self.begins(ready), x)
                yield self.never(self.begins(x), negated(any_of(*latch.sets), self.rules))
            yield Can((x,), span=self.span)

    def _only_ends(self, x: e.Signal) -> Iterator[Form | Promise]:
        latch = self.latch
        why = any_of(*latch.resets)
        if latch.timeout is None:
            yield self.never(self.ends(x), negated(why, self.rules))
            return
        seconds = worth(latch.timeout.duration.amount, self.rules)
        if seconds is None or latch.timeout.duration.in_cycles:
            return
        almost = Fraction(int((seconds - 2 * self.rules.cycle.longest) * 10), 10)
        lasted = e.Timed("for", x, self._seconds(almost), span=self.span)
        yield Before(self.ends(x), any_of(why, lasted), span=self.span), Scope("since", x, span=self.span)

    def _length(self, x: e.Signal, timeout: Timeout) -> Iterator[Form]:
        duration = timeout.duration
        if not duration.in_cycles:
            spare = Fraction(ceil(2 * self.rules.cycle.longest * 10), 10)
            match duration.amount:
                case e.Constant(value):
                    longest = self._seconds(value + spare)
                case amount:
                    more = e.Constant(spare, UNITS["s"], span=self.span)
                    longest = e.Duration(e.Plus(amount, more, span=self.span), span=self.span)
            yield LengthOf(x, "most", longest, span=self.span)

    def _blocked(self, x: e.Signal, timeout: Timeout, free: tuple[e.Signal, ...]) -> Iterator[Form | Promise]:
        over = all_of(self.ends(x), *free)
        if timeout.blocked_until is not None:
            before = Before(self.begins(x), timeout.blocked_until, span=self.span)
            yield before, Scope("since", over, span=self.span)
        if timeout.blocked_for is not None:
            yield QuietAfter(timeout.blocked_for, over, self.begins(x), span=self.span)

    def _seconds(self, value: Fraction) -> e.Duration:
        return e.Duration(e.Constant(value, UNITS["s"], span=self.span), span=self.span)
