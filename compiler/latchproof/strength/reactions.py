"""Claims about what rules do to channels and what they say, for weakenings of actions."""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil
from typing import Literal, assert_never

from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Action,
    Always,
    Announce,
    Before,
    Channel,
    Control,
    Drive,
    Form,
    Limit,
    Modifiers,
    Move,
    Never,
    Rule,
    RuleSet,
    Scope,
    Sequence,
    Whenever,
)
from latchproof.rules.units import UNITS, Unit
from latchproof.rules.words import per_second
from latchproof.source import Span
from latchproof.strength.amounts import plus, unit_of, worth
from latchproof.strength.logic import all_of, negated
from latchproof.strength.weakening import Weakening

Promise = tuple[Form, Scope | None]


@dataclass(frozen=True)
class Reactions:
    w: Weakening
    rules: RuleSet

    @property
    def span(self) -> Span:
        return self.w.span

    # ---------- who acts, and when

    def signs(self, name: str) -> tuple[e.Signal, ...]:
        """What tells that a rule or sequence acts: what it says first, then what it does."""
        actions = [a for r in self.rules.rules if r.name == name for a in r.actions]
        actions += [a for s in self.rules.sequences if s.name == name for p in s.phases for a in p.actions]
        said = [self.sign(a, name) for a in actions if isinstance(a, Announce)]
        return tuple(dict.fromkeys([*said, *(self.sign(a, name) for a in actions if not isinstance(a, Announce))]))

    def sign(self, a: Action, rule: str) -> e.Signal:
        match a:
            case Announce(means=means):
                return e.NamedSignal(f"{rule}.{means}", span=self.span)
            case Drive(channel=channel):
                return e.ChannelState(channel, "driven", span=self.span)
            case Move(channel=channel):
                return e.ChannelState(channel, "moved", span=self.span)
            case Limit(channel=channel):
                return e.ChannelState(channel, "limited", span=self.span)
            case _:
                assert_never(a)

    @property
    def condition(self) -> e.Signal:
        assert self.w.place.whole is not None
        return self.w.place.whole

    def in_force(self, m: Modifiers, more: Fraction = Fraction(0)) -> e.Signal:
        """The condition, for as long as it takes until the action is there, and `more` seconds."""
        if m.after is None or m.after.in_cycles:
            return self.lasting(self.condition, more)
        match m.after.amount:
            case e.Constant(value, unit):
                return self.lasting(self.condition, value + more, unit if not more else None)
            case amount:
                total = plus(amount, more, UNITS["s"])
                return e.Timed("for", self.condition, e.Duration(total, span=self.span), span=self.span)

    def lasting(self, x: e.Signal, seconds: Fraction, unit: Unit | None = None) -> e.Signal:
        if not seconds:
            return x
        amount = e.Constant(seconds, unit or UNITS["s"], span=self.span)
        return e.Timed("for", x, e.Duration(amount, span=self.span), span=self.span)

    def scopes(self, channel: str) -> Iterator[Scope | None]:
        """Always; while no other rule acts on the channel."""
        yield None
        others = []
        rules: tuple[Rule | Sequence, ...] = (*self.rules.rules, *self.rules.sequences)
        for r in rules:
            actions = r.actions if isinstance(r, Rule) else tuple(a for p in r.phases for a in p.actions)
            acts = any(not isinstance(a, Announce) and a.channel == channel for a in actions)
            if acts and r.name != self.w.place.name:
                others.append(negated(r.condition, self.rules))
        if others:
            yield Scope("while", all_of(*others), span=self.span)

    def still(self, channel: str) -> Scope:
        """While the pilot's own value does not move."""
        own, unit = e.Own(channel, span=self.span), per_second(self.owner(channel).unit)
        signal = e.RateComparison(own, "==", Fraction(0), unit, span=self.span)
        return Scope("while", signal, span=self.span)

    def owner(self, channel: str) -> Channel | Control:
        owners: tuple[Channel | Control, ...] = (*self.rules.channels, *self.rules.controls)
        return next(c for c in owners if c.name == channel)

    def is_(self, left: e.Number, order: e.Order, right: e.Number) -> e.Signal:
        return e.Comparison(left, order, right, span=self.span)

    def whenever(self, cause: e.Signal, effect: e.Signal) -> Whenever:
        return Whenever(cause, effect, None, span=self.span)

    def value(self, channel: str) -> e.Number | None:
        """Only channels have a value that a claim can compare."""
        return e.Output(channel, span=self.span) if any(c.name == channel for c in self.rules.channels) else None

    # ---------- an action that is missing

    def acts(self, a: Action) -> Iterator[Promise]:
        if isinstance(a, Announce):
            yield self.whenever(self.condition, self.sign(a, self.w.place.name)), None
            return
        for scope in self.scopes(a.channel):
            yield self.whenever(self.in_force(a.modifiers), self.sign(a, self.w.place.name)), scope
            yield from ((form, scope) for form in self._there(a))

    def _there(self, a: Drive | Move | Limit) -> Iterator[Form]:
        """Once it had the time for it, the channel is where the action wants it."""
        out = self.value(a.channel)
        if out is None:
            return
        when, own, owner = (
            self.in_force(a.modifiers, self._travel(a)),
            e.Own(a.channel, span=self.span),
            self.owner(a.channel),
        )
        match a:
            case Drive(target=target):
                yield self.whenever(when, self.is_(out, "==", target))
            case Limit(bound=bound, amount=amount):
                yield self.whenever(when, self.is_(out, "<=" if bound == "most" else ">=", amount))
            case Move(sign=sign, amount=amount):
                unit = unit_of(amount, self.rules) or owner.unit
                if sign > 0:
                    moved: e.Number = e.Plus(own, amount, span=self.span)
                    end = e.Constant(owner.high, unit, span=self.span)
                    yield self.whenever(when, self.is_(out, ">=", e.Smallest((moved, end), span=self.span)))
                else:
                    moved = e.Minus(own, amount, span=self.span)
                    end = e.Constant(owner.low, unit, span=self.span)
                    yield self.whenever(when, self.is_(out, "<=", e.Largest((moved, end), span=self.span)))

    def _travel(self, a: Drive | Move | Limit) -> Fraction:
        """Seconds, in round tenths, after which every ramp of the action has arrived."""
        owner = self.owner(a.channel)
        way = owner.high - owner.low
        if isinstance(a, Move):
            way = abs(worth(a.amount, self.rules) or way)
        rates = [worth(r, self.rules) for r in (a.modifiers.rising, a.modifiers.falling) if r is not None]
        slowest = min((r for r in rates if r), default=None)
        return Fraction(0) if slowest is None else Fraction(ceil(way / slowest * 10) + 1, 10)

    # ---------- another amount

    def amount(self, a: Action, instead: Action) -> Iterator[Promise]:
        if isinstance(a, Announce):
            return
        for scope in self.scopes(a.channel):
            yield from ((form, scope) for form in (*self._there(a), *self._no_further(a)))

    def _no_further(self, a: Drive | Move | Limit) -> Iterator[Form]:
        """The action never takes the channel past its amount, nor to the other side."""
        out = self.value(a.channel)
        if out is None:
            return
        own = e.Own(a.channel, span=self.span)
        match a:
            case Drive():
                return
            case Limit(bound="least", amount=amount):
                bounds = [self.is_(out, "<=", e.Largest((own, amount), span=self.span))]
            case Limit(amount=amount):
                bounds = [self.is_(out, ">=", e.Smallest((own, amount), span=self.span))]
            case Move(sign=sign, amount=amount) if sign > 0:
                bounds = [self.is_(out, ">=", own), self.is_(out, "<=", e.Plus(own, amount, span=self.span))]
            case Move(amount=amount):
                bounds = [self.is_(out, "<=", own), self.is_(out, ">=", e.Minus(own, amount, span=self.span))]
        for bound in bounds:
            yield Always(bound, span=self.span)
            yield self.whenever(self.condition, bound)

    # ---------- a modifier that is missing

    def modifier(self, a: Action, which: Literal["after", "rising", "falling", "back", "every"]) -> Iterator[Promise]:
        if isinstance(a, Announce):
            if a.every is not None:
                yield from self._again(a, a.every)
            return
        m, out = a.modifiers, self.value(a.channel)
        sign = self.sign(a, self.w.place.name)
        if which == "after" and m.after is not None:
            lasted = e.Timed("for", self.condition, m.after, span=self.span)
            yield Never(all_of(sign, negated(lasted, self.rules)), span=self.span), None
            yield Before(sign, lasted, span=self.span), Scope("since", self.condition, span=self.span)
            return
        rate = {"rising": m.rising, "falling": m.falling, "back": m.back}.get(which)
        speed = None if rate is None else worth(rate, self.rules)
        if out is None or not speed:
            return
        unit = self.owner(a.channel).unit
        step = speed * self.rules.cycle.longest
        own, before = e.Own(a.channel, span=self.span), e.PreviousNumber(out, span=self.span)
        higher = plus(e.Largest((own, before), span=self.span), step, unit)
        lower = plus(e.Smallest((own, before), span=self.span), -step, unit)
        up, down = self.is_(out, "<=", plus(before, step, unit)), self.is_(out, ">=", plus(before, -step, unit))
        still = self.still(a.channel)
        match which:
            case "rising":
                yield self.whenever(self.condition, up), still
                yield Always(self.is_(out, "<=", higher), span=self.span), None
                yield self.whenever(self.condition, self.is_(out, "<=", higher)), None
            case "falling":
                yield self.whenever(self.condition, down), still
                yield Always(self.is_(out, ">=", lower), span=self.span), None
                yield self.whenever(self.condition, self.is_(out, ">=", lower)), None
            case _:
                over = e.Edge("ends", self.condition, span=self.span)
                yield self.whenever(over, all_of(up, down)), still
                for scope in self.scopes(a.channel):
                    yield self.whenever(over, self.is_(out, "<=", higher)), scope
                    yield self.whenever(over, self.is_(out, ">=", lower)), scope

    def _again(self, a: Announce, every: e.Duration) -> Iterator[Promise]:
        name = self.w.place.name
        if not every.in_cycles:
            spare = Fraction(ceil(self.rules.cycle.longest * 20), 10)
            silent = e.Not(e.NamedSignal(f"{name}.announced", span=self.span), span=self.span)
            silence = all_of(self.sign(a, name), silent)
            gap = e.Duration(plus(every.amount, spare, UNITS["s"]), span=self.span)
            yield Never(e.Timed("for", silence, gap, span=self.span), span=self.span), None

    # ---------- who goes first

    def outranks(self, over: str) -> Iterator[Promise]:
        for r in self.rules.rules:
            if r.name != over:
                continue
            for a in r.actions:
                if isinstance(a, Drive) and (out := self.value(a.channel)) is not None:
                    yield self.whenever(r.condition, self.is_(out, "==", a.target)), None
