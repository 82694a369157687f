"""Limits and moves out of drives, where that is exact; and what a channel, a ramp or a sound asks for."""

from dataclasses import replace

from latchproof.fit.shop import Shop
from latchproof.fit.still import Numbers, numbers_of
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Action,
    Announce,
    Channel,
    Control,
    Drive,
    Limit,
    Move,
    RuleSet,
)
from latchproof.rules.units import PERCENT

Layer = Drive | Move | Limit


def acting(shop: Shop) -> None:
    n = numbers_of(shop.rules)
    states = _asked(shop.rules)
    shop.rules = replace(
        shop.rules,
        rules=tuple(
            replace(r, actions=tuple(_action(shop, n, states, a, r.name) for a in r.actions)) for r in shop.rules.rules
        ),
    )


def _action(shop: Shop, n: Numbers, states: frozenset[str], a: Action, rule: str) -> Action:
    shop.where = rule
    match a:
        case Announce(means=means):
            has = {"voice": shop.t.sounds.voice, "tone": shop.t.sounds.tone, "vibration": shop.t.sounds.vibration}
            if not has[means]:
                can = [word for word, there in has.items() if there]
                helps = tuple(f"write `announce {word}` instead" for word in can[:1])
                shop.missing("no sound", a.span, means, ", ".join(can), helps)
            return a
        case Drive(channel=channel):
            _percent(shop, n, a, a.target, channel)
            if "drive" not in shop.t.actions.kinds:
                shop.missing("no action", a.span, "drive", ", ".join(sorted(shop.t.actions.kinds)))
            return a
        case Limit(channel=channel, bound=bound):
            _percent(shop, n, a, a.amount, channel)
            if f"limit {bound}" in shop.t.actions.kinds:
                return a
            return _as_drive(shop, n, states, a)
        case Move(channel=channel):
            _percent(shop, n, a, a.amount, channel)
            return a if "move" in shop.t.actions.kinds else _as_drive(shop, n, states, a)


def _percent(shop: Shop, n: Numbers, a: Layer, amount: e.Number, channel: str) -> None:
    if n.dimension(amount) != PERCENT:
        shop.misfits_of_unit(a.span, channel)


def _as_drive(shop: Shop, n: Numbers, states: frozenset[str], a: Limit | Move) -> Action:
    """What would be left of the value beneath, driven. Exact where nothing else acts on the channel."""
    word = "move" if isinstance(a, Move) else f"limit {a.bound}"
    target = _target(shop.rules, n, a)
    alone = sum(_acts(x, a.channel) for r in shop.rules.rules for x in r.actions) == 1
    ramps = a.modifiers.rising or a.modifiers.falling or a.modifiers.back
    able = "drive" in shop.t.actions.kinds and shop.has("calculation")
    if target is None or not alone or ramps or not able or a.channel in states:
        has = ", ".join(sorted(shop.t.actions.kinds))
        helps = ("drive the channel to a fixed value instead",) if "drive" in shop.t.actions.kinds else ()
        shop.missing("no action", a.span, word, has, helps)
        return a
    shop.changed("move" if isinstance(a, Move) else "limit", a.span)
    return Drive(a.channel, target, a.modifiers, span=a.span)


def _target(rules: RuleSet, n: Numbers, a: Limit | Move) -> e.Number | None:
    channel = next((c for c in rules.channels if c.name == a.channel), None)
    thing: Channel | Control = channel or next(c for c in rules.controls if c.name == a.channel)
    beneath: e.Number = e.Held(a.channel, span=a.span) if channel is None else channel.source
    # no drive has a value below or above the end points, a limit beyond them would have none either
    amount = n.value(a.amount)
    match a:
        case Limit() if amount is None or not thing.low <= amount <= thing.high:
            return None
        case Limit(bound="most"):
            return e.Smallest((beneath, a.amount), span=a.span)
        case Limit():
            return e.Largest((beneath, a.amount), span=a.span)
        case Move():
            # a move adds to what lies within the end points already
            ends = (e.Constant(thing.low, thing.unit, span=a.span), e.Constant(thing.high, thing.unit, span=a.span))
            inside = e.Smallest((e.Largest((beneath, ends[0]), span=a.span), ends[1]), span=a.span)
            base = beneath if isinstance(thing, Control) or isinstance(beneath, e.Constant) else inside
            kind = e.Plus if a.sign > 0 else e.Minus
            return kind(base, a.amount, span=a.span)


def _acts(x: Action, channel: str) -> bool:
    return not isinstance(x, Announce) and x.channel == channel


def _asked(rules: RuleSet) -> frozenset[str]:
    """Channels of which somebody asks who has them: an answer that a rewriting would change."""
    found: set[str] = set()
    stack: list[object] = [rules.signals, rules.latches, rules.counters, rules.samples, rules.rules, rules.roles]
    stack += [rules.claims, rules.assumptions, rules.sequences]
    while stack:
        match stack.pop():
            case e.ChannelState(channel, state) if state != "free":
                found.add(channel)
            case str() | None:
                pass
            case node:
                stack.extend(parts(node))
    return frozenset(found)
