"""Latches out of gates that read themselves, bands out of latches, sequences out of latches and delays."""

from dataclasses import replace
from typing import Any

from latchproof.fit.rewrite import reading_itself
from latchproof.fit.shop import Shop, before, both, either, opposite
from latchproof.fit.still import numbers_of
from latchproof.rules import expressions as e
from latchproof.rules.model import Action, Announce, Latch, Phase, Precedence, Rule, RuleSet, Sequence
from latchproof.run.expressions import compared


def said_earlier(r: RuleSet) -> RuleSet:
    """What reads itself is said to read the pass before, so that it may be taken apart."""
    return replace(
        r,
        signals=tuple(reading_itself(x, x.name) for x in r.signals),
        latches=tuple(reading_itself(x, x.name) for x in r.latches),
        counters=tuple(reading_itself(x, x.name) for x in r.counters),
    )


# ---------- bands


def bands(shop: Shop) -> None:
    n = numbers_of(shop.rules)
    known: dict[e.Band, e.Signal] = {}

    def change(x: Any) -> Any:
        if not isinstance(x, e.Band):
            return x
        still = n.value(x.enter[1]) is not None and n.value(x.leave[1]) is not None and n.value(x.subject) is None
        orders = shop.t.comparisons.orders
        if shop.t.comparisons.band and still and x.enter[0] in orders and x.leave[0] in orders:
            return x
        if x not in known:
            known[x] = _band(shop, x)
        return known[x]

    shop.rewrite(change)


def _band(shop: Shop, x: e.Band) -> e.Signal:
    shop.changed("band", x.span)
    enter = e.Comparison(x.subject, *x.enter, span=x.span)
    leave = e.Comparison(x.subject, *x.leave, span=x.span)
    name = shop.free(f"{shop.where}_between" if shop.where else "between")
    if shop.has("latch") and _apart(shop, x):
        shop.latches[name] = Latch(name, (enter,), (leave,), span=x.span)
        return e.NamedSignal(name, span=x.span)
    was = before(e.NamedSignal(name, span=x.span))
    inside = both(was, opposite(leave), span=x.span)
    return shop.signal(name, either(inside, both(opposite(was), enter, span=x.span), span=x.span), x.span)


def _apart(shop: Shop, x: e.Band) -> bool:
    """Whether both tests are never true at once."""
    n = numbers_of(shop.rules)
    a, b = n.value(x.enter[1]), n.value(x.leave[1])
    match x.enter[0], x.leave[0]:
        case ("<" | "<=") as enter, (">" | ">=") as leave:
            strict = enter == "<" or leave == ">"
            return a is not None and b is not None and compared(a, "<=" if strict else "<", b)
        case (">" | ">=") as enter, ("<" | "<=") as leave:
            strict = enter == ">" or leave == "<"
            return a is not None and b is not None and compared(a, ">=" if strict else ">", b)
        case _:
            return False


# ---------- latches


def latches(shop: Shop) -> None:
    """Where there are none: gates of which one reads the pass before."""
    if shop.has("latch"):
        return
    kept = []
    for x in shop.rules.latches:
        shop.where = x.name
        made = _out_of_gates(shop, x)
        if made is None:
            kept.append(x)
        else:
            shop.changed("latch" if x.timeout is None else "time-out", x.span)
            shop.signal(x.name, made, x.span)
    shop.rules = replace(shop.rules, latches=tuple(kept))
    shop.settle()


def _out_of_gates(shop: Shop, x: Latch) -> e.Signal | None:
    span = x.span
    was = before(e.NamedSignal(x.name, span=span))
    if x.timeout is not None:
        return _timed(shop, x, was)
    sets = either(*x.sets, span=span)
    if not x.resets:
        return either(*x.sets, was, span=span)
    resets = either(*x.resets, span=span)
    if x.set_wins:
        return either(*x.sets, both(was, opposite(resets), span=span), span=span)
    return both(either(was, sets, span=span), opposite(resets), span=span)


def _timed(shop: Shop, x: Latch, was: e.Signal) -> e.Signal | None:
    """A latch with a time-out. Two delays take turns, so that one that has run out is back at zero before its latch may
    come on again."""
    out, span = x.timeout, x.span
    assert out is not None
    if out.duration.in_cycles or not numbers_of(shop.rules).value(out.duration.amount) or out.blocked_for is not None:
        needs = "a lock-out for a time" if out.blocked_for is not None else "a time-out in passes"
        helps = ("end the lock-out by a signal: `then blocked until ...`",) if out.blocked_for is not None else ()
        shop.missing("time-out", span, needs, helps=helps)
        return None
    sets = shop.short(either(*x.sets, span=span))
    after = shop.free(f"{x.name}_blocked")
    if out.blocked_until is not None:
        sets = both(
            sets, either(opposite(before(e.NamedSignal(after, span=span))), out.blocked_until, span=span), span=span
        )
    allowed = (opposite(shop.short(either(*x.resets, span=span))),) if x.resets else ()
    begins = both(sets, opposite(was), *(() if x.set_wins else allowed), span=span)
    begins = shop.signal(shop.free(f"{x.name}_begins"), begins, span)
    turn_name = shop.free(f"{x.name}_turn")
    turn = shop.signal(turn_name, e.ExactlyOne((before(e.NamedSignal(turn_name, span=span)), begins), span=span), span)
    runs = either(was, begins, span=span)
    ran = [e.Timed("for", both(runs, way, span=span), out.duration, span=span) for way in (turn, opposite(turn))]
    over = shop.signal(shop.free(f"{x.name}_over"), either(*ran, span=span), span)
    if out.blocked_until is not None:
        still = both(before(e.NamedSignal(after, span=span)), opposite(out.blocked_until), span=span)
        shop.signal(after, either(still, over, span=span), span)
    stays = both(was, *allowed, span=span)
    sets_now = sets if x.set_wins else both(sets, *allowed, span=span)
    return both(either(sets_now, stays, span=span), opposite(over), span=span)


# ---------- sequences


def sequences(shop: Shop) -> None:
    """No transmitter has them: each phase is a latch or what stands for one, its time a delay, its actions a rule."""
    if not shop.rules.sequences:
        return
    for s in shop.rules.sequences:
        shop.where = s.name
        shop.changed("sequence", s.span)
        _sequence(shop, s)
    shop.rules = replace(shop.rules, sequences=())
    shop.settle()


def _sequence(shop: Shop, s: Sequence) -> None:
    over: e.Signal | None = None
    for p in s.phases:
        over = _phase(shop, s, p, over)
    does = [(p, shop.free(f"{s.name}_{p.name}")) for p in s.phases if p.actions]
    rules = tuple(
        Rule(name, e.NamedSignal(f"{s.name}.{p.name}", span=p.span), p.actions, span=p.span) for p, name in does
    )
    r = shop.rules
    ordered: list[Precedence] = []
    for o in r.precedences:
        overs = [n for _, n in does] if o.over == s.name else [o.over]
        unders = [n for _, n in does] if o.under == s.name else [o.under]
        ordered += [Precedence(a, b, span=o.span) for a in overs for b in unders]
    shop.rules = replace(r, rules=(*r.rules, *rules), precedences=tuple(ordered))
    _told(shop, s, [(name, p.actions) for p, name in does])


def _phase(shop: Shop, s: Sequence, p: Phase, enters: e.Signal | None) -> e.Signal:
    """Defines the phase; gives when it is over. `enters`: when the one before it is over, None for the first."""
    name, span = f"{s.name}.{p.name}", p.span
    was = before(e.NamedSignal(name, span=span))
    begins = e.Edge("begins", s.condition, span=span) if enters is None else enters
    over: e.Signal = e.AnyOf((), span=span)
    if p.lasts is not None:
        runs = both(s.condition, either(was, begins, span=span), span=span)
        over = both(was, e.Timed("for", runs, p.lasts, span=span), span=span)
    elif p.until is not None:
        over = both(was, p.until, span=span)
    ends = p.lasts is not None or p.until is not None
    if shop.has("latch"):
        resets = (opposite(s.condition), over) if ends else (opposite(s.condition),)
        shop.latches[name] = Latch(name, (begins,), resets, span=span)
    else:
        stays = both(was, opposite(over), span=span) if ends else was
        shop.signal(name, both(s.condition, either(begins, stays, span=span), span=span), span)
    return over


def _told(shop: Shop, s: Sequence, made: list[tuple[str, tuple[Action, ...]]]) -> None:
    """What could be asked about the announcements of the sequence is asked of those that took their place."""
    telling = [(name, {a.means for a in actions if isinstance(a, Announce)}) for name, actions in made]
    for kind in ("voice", "tone", "vibration"):
        names = [name for name, means in telling if kind in means]
        _any_of(shop, f"{s.name}.{kind}", [f"{name}.{kind}" for name in names], s)
    _any_of(shop, f"{s.name}.announced", [f"{name}.announced" for name, means in telling if means], s)
    shop.signal(s.name, s.condition, s.span)


def _any_of(shop: Shop, name: str, names: list[str], s: Sequence) -> None:
    shop.signal(name, either(*(e.NamedSignal(n, span=s.span) for n in names), span=s.span) if len(names) == 1
                else e.AnyOf(tuple(e.NamedSignal(n, span=s.span) for n in names), span=s.span), s.span)  # fmt: skip
