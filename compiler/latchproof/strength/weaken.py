"""Every way to weaken a rule set by one step. Claims, assumptions and facts stay as they are."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from typing import TypeVar, assert_never

from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Action,
    Announce,
    Channel,
    Control,
    Counter,
    Drive,
    Latch,
    Limit,
    Modifiers,
    Move,
    Rule,
    RuleSet,
    Sequence,
)
from latchproof.rules.words import OPPOSITE
from latchproof.source import Span
from latchproof.strength.amounts import plus, unit_of, visible, worth
from latchproof.strength.reach import elements, that_matter
from latchproof.strength.signals import weakened
from latchproof.strength.weakening import (
    Change,
    Dominance,
    LineGone,
    NoAction,
    NoBlock,
    NoModifier,
    NoPriority,
    NoTimeout,
    OtherAction,
    Place,
    Swapped,
    Weakening,
)

T = TypeVar("T")


def weakenings(rules: RuleSet) -> tuple[Weakening, ...]:
    """In the order of the text, element by element. What only promises speak of is no part of the rules."""
    found = [
        *_signals(rules), *_samples(rules), *_latches(rules), *_counters(rules), *_rules(rules), *_sequences(rules),
        *_roles(rules), *_priorities(rules),
    ]  # fmt: skip
    starts = {x.name: (x.span.source, x.span.start) for x in elements(rules)}
    heard = that_matter(rules)
    return tuple(
        sorted(
            (w for w in found if w.place.noun == "priority" or w.place.name in heard),
            key=lambda w: starts.get(w.place.name, (w.span.source, w.span.start)),
        )
    )


def _signals(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.signals):
        place = Place("signal", x.name, "signal", x.signal)
        for step, span, signal in weakened(x.signal, rules):
            yield Weakening(
                place, step, span, replace(rules, signals=_with(rules.signals, k, replace(x, signal=signal)))
            )


def _roles(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.roles):
        place = Place("role", x.role, "role", x.signal)
        for step, span, signal in weakened(x.signal, rules):
            yield Weakening(place, step, span, replace(rules, roles=_with(rules.roles, k, replace(x, signal=signal))))


def _samples(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.samples):
        place = Place("sample", x.name, "when", x.when)
        for step, span, signal in weakened(x.when, rules):
            yield Weakening(place, step, span, replace(rules, samples=_with(rules.samples, k, replace(x, when=signal))))


def _counters(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.counters):

        def made(counter: Counter, at: int = k) -> RuleSet:
            return replace(rules, counters=_with(rules.counters, at, counter))

        for step, span, signal in weakened(x.counts, rules):
            place = Place("counter", x.name, "counts", x.counts)
            yield Weakening(place, step, span, made(replace(x, counts=signal)))
        for n, clear in enumerate(x.clears):
            place = Place("counter", x.name, "clears", clear)
            without = made(replace(x, clears=_without(x.clears, n)))
            yield Weakening(place, LineGone("clears when", clear), clear.span, without)
            for step, span, signal in weakened(clear, rules):
                yield Weakening(place, step, span, made(replace(x, clears=_with(x.clears, n, signal))))


def _latches(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.latches):

        def made(latch: Latch, at: int = k) -> RuleSet:
            return replace(rules, latches=_with(rules.latches, at, latch))

        yield from _latch(x, made, rules)


def _latch(x: Latch, made: Callable[[Latch], RuleSet], rules: RuleSet) -> Iterator[Weakening]:
    whole = Place("latch", x.name)
    for n, signal in enumerate(x.sets):
        place = Place("latch", x.name, "set", signal)
        gone = replace(x, sets=_without(x.sets, n))
        yield Weakening(place, LineGone("set when", signal), signal.span, made(gone))
        for step, span, after in weakened(signal, rules):
            yield Weakening(place, step, span, made(replace(x, sets=_with(x.sets, n, after))))
    for n, signal in enumerate(x.resets):
        place = Place("latch", x.name, "reset", signal)
        gone = replace(x, resets=_without(x.resets, n))
        yield Weakening(place, LineGone("reset when", signal), signal.span, made(gone))
        for step, span, after in weakened(signal, rules):
            yield Weakening(place, step, span, made(replace(x, resets=_with(x.resets, n, after))))
    if x.sets and x.resets:
        yield Weakening(whole, Swapped(), x.span, made(replace(x, sets=x.resets, resets=x.sets)))
        yield Weakening(whole, Dominance(x.set_wins), x.span, made(replace(x, set_wins=not x.set_wins)))
    if x.timeout is None:
        return
    yield Weakening(whole, NoTimeout(x.timeout), x.timeout.span, made(replace(x, timeout=None)))
    if x.timeout.blocked_until is not None or x.timeout.blocked_for is not None:
        free = replace(x.timeout, blocked_until=None, blocked_for=None)
        yield Weakening(whole, NoBlock(x.timeout), x.timeout.span, made(replace(x, timeout=free)))
    until = x.timeout.blocked_until
    if until is not None:
        place = Place("latch", x.name, "blocked until", until)
        for step, span, after in weakened(until, rules):
            other = replace(x.timeout, blocked_until=after)
            yield Weakening(place, step, span, made(replace(x, timeout=other)))


def _rules(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.rules):

        def made(rule: Rule, at: int = k) -> RuleSet:
            return replace(rules, rules=_with(rules.rules, at, rule))

        place = Place("rule", x.name, "condition", x.condition)
        for step, span, signal in weakened(x.condition, rules):
            yield Weakening(place, step, span, made(replace(x, condition=signal)))
        for change, span, actions in _actions(x.actions, rules):
            yield Weakening(place, change, span, made(replace(x, actions=actions)))


def _sequences(rules: RuleSet) -> Iterator[Weakening]:
    for k, x in enumerate(rules.sequences):

        def made(sequence: Sequence, at: int = k) -> RuleSet:
            return replace(rules, sequences=_with(rules.sequences, at, sequence))

        place = Place("sequence", x.name, "condition", x.condition)
        for step, span, signal in weakened(x.condition, rules):
            yield Weakening(place, step, span, made(replace(x, condition=signal)))
        for n, phase in enumerate(x.phases):
            on = e.NamedSignal(f"{x.name}.{phase.name}", span=phase.span)
            for change, span, actions in _actions(phase.actions, rules):
                other = replace(x, phases=_with(x.phases, n, replace(phase, actions=actions)))
                yield Weakening(Place("sequence", x.name, "condition", on), change, span, made(other))
            if phase.until is not None:
                place = Place("sequence", x.name, "until", phase.until)
                for step, span, signal in weakened(phase.until, rules):
                    other = replace(x, phases=_with(x.phases, n, replace(phase, until=signal)))
                    yield Weakening(place, step, span, made(other))


def _priorities(rules: RuleSet) -> Iterator[Weakening]:
    for k, p in enumerate(rules.precedences):
        without = replace(rules, precedences=_without(rules.precedences, k))
        yield Weakening(Place("priority", p.over), NoPriority(p.over, p.under), p.span, without)


# ---------- actions


def _actions(actions: tuple[Action, ...], rules: RuleSet) -> Iterator[tuple[Change, Span, tuple[Action, ...]]]:
    for n, action in enumerate(actions):
        yield NoAction(action), action.span, _without(actions, n)
        for change, other in _action(action, rules):
            yield change, action.span, _with(actions, n, other)


def _action(a: Action, rules: RuleSet) -> Iterator[tuple[Change, Action]]:
    match a:
        case Announce(every=every):
            if every is not None:
                yield NoModifier(a, "every"), replace(a, every=None)
            return
        case Drive(target=target):
            for number in _other(target, a.channel, rules):
                drive = replace(a, target=number)
                yield OtherAction(a, drive), drive
        case Limit(amount=amount):
            for number in _other(amount, a.channel, rules):
                limit = replace(a, amount=number)
                yield OtherAction(a, limit), limit
        case Move(amount=amount):
            back = replace(a, sign=-a.sign, word=OPPOSITE.get(a.word, a.word))
            yield OtherAction(a, back), back
            for number in _other(amount, a.channel, rules):
                move = replace(a, amount=number)
                yield OtherAction(a, move), move
        case _:
            assert_never(a)
    yield from _modifiers(a, a.modifiers)


def _modifiers(a: Drive | Move | Limit, m: Modifiers) -> Iterator[tuple[Change, Action]]:
    if m.after is not None:
        yield NoModifier(a, "after"), replace(a, modifiers=replace(m, after=None))
    if m.rising is not None:
        yield NoModifier(a, "rising"), replace(a, modifiers=replace(m, rising=None))
    if m.falling is not None:
        yield NoModifier(a, "falling"), replace(a, modifiers=replace(m, falling=None))
    if m.back is not None:
        yield NoModifier(a, "back"), replace(a, modifiers=replace(m, back=None))


def _other(x: e.Number, channel: str, rules: RuleSet) -> Iterator[e.Number]:
    """The amount changed so that it can be seen, upward if the channel has room for it, else downward."""
    owners: tuple[Channel | Control, ...] = (*rules.channels, *rules.controls)
    owner = next(c for c in owners if c.name == channel)
    unit = unit_of(x, rules) or owner.unit
    value = worth(x, rules)
    amount = visible(value or Fraction(0), unit, Fraction(0))
    if value is not None and value + amount > owner.high:
        amount = -amount
    yield plus(x, amount, unit)


# ---------- tuples


def _with(items: tuple[T, ...], at: int, item: T) -> tuple[T, ...]:
    return (*items[:at], item, *items[at + 1 :])


def _without(items: tuple[T, ...], at: int) -> tuple[T, ...]:
    return (*items[:at], *items[at + 1 :])
