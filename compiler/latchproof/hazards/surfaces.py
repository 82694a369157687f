"""What a rule does to a surface: H20 to H22."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import stands
from latchproof.hazards.model import Check, NotApplicable, Outcome, Procedure, Remedy, Seen
from latchproof.hazards.promise import Names, claim, figure, kind, own, words
from latchproof.hazards.site import Site, acts, all_of, any_of
from latchproof.hazards.takers import Actor, followed, surfaces
from latchproof.hazards.written import whole
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, Drive, Limit, Move, Never

HALF = Fraction(1, 2)
"""Part of a stick's way that must keep its effect while a rule uses the same surface. Common practice, no source."""
NO_SURFACE = "no rule moves a surface that a stick moves"

Action = Drive | Move | Limit


def h20(site: Site) -> Iterator[Outcome]:
    """The rule says 20 % up, and on this model that is down: a reversed channel, a servo on the other side. The guard
    flies the model into the ground.

    Looked for: every surface that a rule moves says which way is which (`up is positive`). Whether that is true of
    the model no file can know: it is looked at on the bench.

    Remedy: the direction written at the channel, and a look at the surface itself.
    """
    done: set[str] = set()
    steps: list[str] = []
    for x in site.guards:
        for a in _signed(site, x):
            if a.channel in site.channels and a.channel not in done:
                done.add(a.channel)
                yield _direction(site, x, site.channels[a.channel])
            steps.append(f"{_said(site, a)} ({x.name})")
    if not steps:
        yield NotApplicable("H20", NO_SURFACE)
        return
    listed = "; ".join(dict.fromkeys(steps))
    step = (
        "Propeller off, stand behind the model. Pull the elevator stick: the trailing edge goes UP. Then let each rule "
        f"come in and look at the surface itself, not at the screen: {listed}"
    )
    yield Procedure("H20", step, "before the first flight")


def _signed(site: Site, x: Actor) -> Iterator[Action]:
    """Actions that move a surface away from the middle or from the stick."""
    mine = surfaces(site, x)
    for a in site.actions_of(x):
        if not isinstance(a, Drive | Move | Limit) or a.channel not in mine:
            continue
        target = a.target if isinstance(a, Drive) else a.amount
        middle = isinstance(target, e.Constant) and target.value == 0
        if isinstance(a, Move) or (stands(site, target) and not middle):
            yield a


def _direction(site: Site, x: Actor, c: Channel) -> Seen:
    if c.directions and _declared(site, c):
        ways = ", ".join(f"{word} is {'positive' if sign > 0 else 'negative'}" for word, sign in c.directions)
        return Seen("H20", c.name, True, f"{c.name} says which way is which: {ways}", c.span)
    word = "right" if any(part in c.name for part in ("rudder", "yaw")) else "up"
    clauses = " ".join(f"{w} is positive" for w in _spoken(site, c) or (word,))
    mend = Remedy(
        "say which way is which; look at the model first, and write negative if it is the other way round",
        (edits.clause(site, c, clauses, where=f"channel {c.name}"),),
    )
    said = f"{x.name} moves {c.name}, and the file does not say which way is up on this model"
    return Seen("H20", c.name, False, said, c.span, (mend,))


def _spoken(site: Site, c: Channel) -> tuple[str, ...]:
    """Direction words that the file already uses for it, by pair: once one pair is declared, no other counts."""
    acting = [a for x in site.acting for a in site.actions_of(x) if isinstance(a, Drive | Move | Limit)]
    mine = [a for a in acting if a.channel == c.name]
    used = {w for a in mine for w, _ in a.modifiers.words} | {a.word for a in mine if isinstance(a, Move)}
    return tuple(one for one, other in (("up", "down"), ("more", "less")) if used & {one, other})


def _declared(site: Site, c: Channel) -> bool:
    return " is positive" in words(site, c) or " is negative" in words(site, c)


def _said(site: Site, a: Action) -> str:
    text = site.line(whole(site, a).span)
    for word in (" after ", " ramp ", " hand back "):
        text = text.partition(word)[0]
    return text


def h21(site: Site) -> Iterator[Outcome]:
    """The file says 20 % of elevator. On the model a dual rate makes 12 % of it, or a mix behind the rule 35 %, or a
    trim has used it up already.

    No file knows what the transmitter does behind the rules, so it is looked at: each rule let in once at every rate
    and with the trims at both ends, and the way of the surface measured.
    """
    found: list[str] = []
    for x in site.guards:
        names = [n for n in site.touched(x) if n in surfaces(site, x)]
        found += [f"{n} ({x.name})" for n in names]
    if not found:
        yield NotApplicable("H21", NO_SURFACE)
        return
    step = (
        "Propeller off. With each rate switched on in turn, and the trims at both ends, let the rules in and compare "
        f"what the servo does with what the listing says: {', '.join(found)}. Measure the way of the surface once and "
        "write it down"
    )
    yield Procedure("H21", step, "before the first flight")


def h22(site: Site) -> Iterator[Outcome]:
    """Two surfaces do pitch and roll together. The guard takes so much up elevon that at full stick nothing is left to
    level the wings with; or the trim and the guard's share together run against the stop.

    Checked for each surface that a rule moves: while it does, with the stick of that movement in the middle and every
    other stick no further than half its way, the servo with its trim does not reach its end, in the same cycle.

    Remedy: a smaller amount; or, for a rule that drives such a surface, `move` instead, which leaves the other stick
    its part.
    """
    names = Names("H22")
    for x in site.guards:
        for c, touched in _reached(site, x):
            driven = [a for a in site.actions_of(x) if isinstance(a, Drive) and a.channel == c.name]
            if driven and len(_sticks(site, c)) > 1:
                names.next(x.name)
                yield _taken_over(site, x, c, driven[0])
            elif not driven:
                yield _room(site, names.next(x.name), x, c, touched)
    if names.unused:
        yield NotApplicable("H22", NO_SURFACE)


def _reached(site: Site, x: Actor) -> Iterator[tuple[Channel, tuple[str, ...]]]:
    """Surfaces that a rule moves by an amount that stands still, with what it acts on: the channel or its sticks."""
    signed = {a.channel for a in _signed(site, x)}
    motors = {c.name for c in site.motors}
    for c in site.rules.channels:
        touched = tuple(n for n in signed if n == c.name or n in followed(c.source))
        if c.name not in motors and touched:
            yield c, touched


def _sticks(site: Site, c: Channel) -> tuple[str, ...]:
    """In the order of the file."""
    return tuple(s.name for s in site.rules.controls if s.name in followed(c.source))


def _room(site: Site, name: str, x: Actor, c: Channel, touched: tuple[str, ...]) -> Check:
    resting = _resting(site, c, touched)
    others = [s for s in _sticks(site, c) if s not in resting]
    still = [e.Comparison(e.Held(s, span=c.span), "==", _points(c, Fraction(0)), span=c.span) for s in resting]
    half = [test for s in others for test in _within_half(site, s, c)]
    trim = c.trim or Fraction(0)
    out = e.Output(c.name, span=c.span)
    ends = any_of(
        e.Comparison(out, ">=", _points(c, c.high - trim), span=c.span),
        e.Comparison(out, "<=", _points(c, c.low + trim), span=c.span),
    )
    acting = any_of(*(acts(x, n) for n in touched))
    left = f"{figure(c.low + trim, c.unit.symbol)} and {figure(c.high - trim, c.unit.symbol)}"
    more = f", and half the way of {' and '.join(others)} still has its effect" if others else ""
    made = claim(
        name,
        f"while {x.name} acts, {c.name} does not run against its end{more}",
        f"never {x.name} acts and {c.name} is not between {left}",
        Never(all_of(acting, *still, *half, ends), span=x.span),
    )
    return Check("H22", x.name, made, site.rules, _smaller(site, x, touched))


def _points(c: Channel, value: Fraction) -> e.Constant:
    return e.Constant(value, c.unit, span=c.span)


def _resting(site: Site, c: Channel, touched: tuple[str, ...]) -> tuple[str, ...]:
    """The sticks of the movement that the rule makes: those it acts on; for the surface itself the first it follows."""
    sticks = _sticks(site, c)
    mine = tuple(s for s in sticks if s in touched)
    return mine or sticks[:1]


def _within_half(site: Site, stick: str, c: Channel) -> tuple[e.Signal, ...]:
    control = next(s for s in site.rules.controls if s.name == stick)
    held = e.Held(stick, span=c.span)
    low, high = (_points(c, end * HALF) for end in (control.low, control.high))
    return (e.Comparison(held, ">=", low, span=c.span), e.Comparison(held, "<=", high, span=c.span))


def _smaller(site: Site, x: Actor, touched: tuple[str, ...]) -> tuple[Remedy, ...]:
    """A third of the amount, for numbers that stand in the rule itself."""
    if not own(x.name):
        return ()
    changes = []
    for a in _signed(site, x):
        target = a.target if isinstance(a, Drive) else a.amount
        if a.channel in touched and isinstance(target, e.Constant):
            third = Fraction(int(target.value / 3))
            changes.append(edits.instead(site, target, figure(third, target.unit.symbol), where=f"{kind(x)} {x.name}"))
    return (Remedy("a smaller amount", tuple(dict.fromkeys(changes))),) if changes else ()


def _taken_over(site: Site, x: Actor, c: Channel, a: Drive) -> Seen:
    sticks = " and ".join(_sticks(site, c))
    mend: tuple[Remedy, ...] = ()
    if own(x.name):
        sign = -1 if isinstance(a.target, e.Constant) and a.target.value < 0 else 1
        word = next((w for w, s in c.directions if s == sign), "more" if sign > 0 else "less")
        at = whole(site, a).span
        head = e.Located(span=replace(at, end=a.target.span.end))
        text = f"move {c.name} {word} by {words(site, a.target).lstrip('-')}"
        mend = (
            Remedy(
                f"`move` leaves {sticks} their part", (edits.instead(site, head, text, where=f"{kind(x)} {x.name}"),)
            ),
        )
    said = f"{x.name} drives {c.name}, which {sticks} share: while it acts, none of them does anything there"
    return Seen("H22", x.name, False, said, a.span, mend)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {"H20": h20, "H21": h21, "H22": h22}
