"""How strong, how fast and how exact: H23 to H26."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import powers, stands
from latchproof.hazards.hand_back import reached
from latchproof.hazards.model import Check, NotApplicable, Outcome, Procedure, Remedy, Seen
from latchproof.hazards.promise import Names, claim, figure, kind, own, words
from latchproof.hazards.site import Site, acts, all_of, any_of, not_
from latchproof.hazards.takers import Actor
from latchproof.hazards.vocabulary import fact, number
from latchproof.hazards.written import modifier, with_more
from latchproof.machine.reads import parts
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Channel, Control, Drive, Fact, Limit, Move, Never, Tune
from latchproof.rules.units import TIME, UNITS

TELLING = Fraction(5)
"""Points that an action makes at the least, or the knob has turned it off. Common practice, no source."""
JUMP = Fraction(30)
"""Points that a motor may be raised without a ramp. Common practice, no source."""
FASTEST = Fraction(150)
"""Points per second that a rule may raise a motor's power: 70 % in half a second. Common practice, no source."""
RISE = Fraction(2)
"""Seconds in which nine tenths of what a rule asks for must be there. Common practice, no source."""
MOST_OF_IT = Fraction(9, 10)
RAMP = "100 %/s"
STEP = Fraction(1, 10)
"""Seconds: the finest step of a delay on many transmitters. Common practice, no source."""

Action = Drive | Move | Limit


def h23(site: Site) -> Iterator[Outcome]:
    """The strength of the rescue is on a knob, for tuning. A sleeve turns it to nothing, and from then on the guard
    announces itself and does nothing.

    Checked for each action whose amount a knob decides, with the knob anywhere: while the rule acts it makes at least
    5 points (for a motor: at least `fact climb_power`, if the file states it), in the same cycle.

    Remedy: the knob's part inside bounds; before the rules are given away, the number in place of the knob.
    """
    names = Names("H23")
    for x in site.guards:
        for a in site.actions_of(x):
            if isinstance(a, Announce):
                continue
            knobs, least = _knobs(site, _amount(a)), _least(site, x, a)
            if knobs and least is not None:
                yield _turned_down(site, names.next(x.name), x, a, knobs, least)
    if names.unused:
        yield NotApplicable("H23", "no knob decides how much a rule does")


def _amount(a: Action) -> e.Number:
    return a.target if isinstance(a, Drive) else a.amount


def _knobs(site: Site, x: e.Number) -> tuple[str, ...]:
    """Knobs that decide about the number, by way of values and samples too."""
    knobs = {c.name for c in site.rules.controls if c.kind == "knob"}
    found: dict[str, None] = {}
    seen: set[str] = set()
    waiting: list[object] = [x]
    while waiting:
        node = waiting.pop()
        match node:
            case e.Held(control=control) if control in knobs:
                found[control] = None
            case e.NamedNumber(name=name) if name not in seen:
                seen.add(name)
                waiting.extend(v.value for v in site.rules.values if v.name == name)
                waiting.extend(s.value for s in site.rules.samples if s.name == name)
            case str() | None:
                pass
            case _:
                waiting.extend(parts(node))
    return tuple(found)


def _thing(site: Site, name: str) -> Channel | Control:
    things: tuple[Channel | Control, ...] = (*site.rules.channels, *site.rules.controls)
    return next(c for c in things if c.name == name)


def _least(site: Site, x: Actor, a: Action) -> tuple[e.Order, e.Number] | None:
    """What the amount must not be: too little to tell. None where any position may be meant."""
    c = _thing(site, a.channel)
    powered = a.channel in powers(site, x)
    climb = fact(site, "climb_power")
    match a:
        case Move():
            return "<", e.Constant(TELLING, c.unit, span=a.span)
        case Limit(bound="most"):
            return ">", e.Constant(c.high - TELLING, c.unit, span=a.span)
        case Limit() | Drive() if powered and climb is not None:
            return "<", number(climb)
        case Limit():
            return "<", e.Constant(c.low + TELLING, c.unit, span=a.span)
        case _:
            return ("<", e.Constant(max(c.low, Fraction(0)) + TELLING, c.unit, span=a.span)) if powered else None


def _turned_down(
    site: Site, name: str, x: Actor, a: Action, knobs: tuple[str, ...], least: tuple[e.Order, e.Number]
) -> Check:
    order, bound = least
    shown = figure(bound.value, bound.unit.symbol) if isinstance(bound, e.Constant) else "climb_power"
    if (climb := fact(site, "climb_power")) is not None and number(climb) == bound:
        shown = "climb_power"
    weak = e.Comparison(_amount(a), order, bound, span=a.span)
    less, said = ("less", "below") if order == "<" else ("more", "above")
    made = claim(
        name,
        f"wherever {' and '.join(knobs)} is turned to, {x.name} asks {a.channel} for no {less} than {shown}",
        f"never {x.name} acts on {a.channel} and {words(site, _amount(a))} is {said} {shown}",
        Never(all_of(acts(x, a.channel), weak), span=a.span),
    )
    mend: tuple[Remedy, ...] = ()
    if own(x.name):
        chosen = "larger" if order == "<" else "smaller"
        text = f"{chosen} of ({shown}, {words(site, _amount(a))})"
        change = edits.instead(site, _amount(a), text, where=f"{kind(x)} {x.name}")
        mend = (Remedy(f"never {less} than {shown}, wherever the knob stands", (change,)),)
    return Check("H23", x.name, made, site.rules, mend)


# ---------- ramps


def h24(site: Site) -> Iterator[Outcome]:
    """From 0 to 70 % in one instant: the model rolls with the torque, the supply of the receiver dips. Or, the other
    way, the ramp takes five seconds, and the ground is nearer than that.

    Checked for each rule that can raise a motor by more than 30 points: with the stick still, the power does not rise
    by more than 150 points a second; and, worked out from the numbers, nine tenths of what the rule asks for are there
    within 2 s of its beginning to act on the motor. Both bounds together; a `fact ramp_rate` or `fact rise_time` puts
    others in their place.

    Remedy: a ramp of about 100 points a second.
    """
    names = Names("H24")
    for x in site.guards:
        if not powers(site, x):
            continue
        for c, touched in reached(site, x).items():
            raising = [a for a in site.actions_of(x) if not isinstance(a, Announce) and a.channel in touched]
            raising = [a for a in raising if _raises(site, a, c)]
            if raising:
                yield _fast(site, names.next(x.name), x, c, raising)
            yield from (seen for a in raising if (seen := _slow(site, x, a, c)) is not None)
    if names.unused:
        yield NotApplicable("H24", "no rule raises a motor's power by much")


def _raises(site: Site, a: Action, c: Channel) -> bool:
    """It may give more than 30 points more than there were."""
    if isinstance(a, Limit) and a.bound == "most":
        return False
    most = highest(site, _amount(a))
    if isinstance(a, Move):
        return a.sign > 0 and (most is None or most > JUMP)
    return most is None or most - max(c.low, Fraction(0)) > JUMP


def highest(site: Site, x: e.Number) -> Fraction | None:
    """The most that a number can be which stands still in flight; None where that is not plain."""
    bounds = _bounds(site, x)
    return None if bounds is None else bounds[1]


def _bounds(site: Site, x: e.Number) -> tuple[Fraction, Fraction] | None:
    match x:
        case e.Constant(value=value):
            return value, value
        case e.Parameter(name=name):
            ranges: tuple[Fact | Tune, ...] = (*site.rules.facts, *site.rules.tunes)
            return next((p.low, p.high) for p in ranges if p.name == name)
        case e.NamedNumber(name=name):
            meant = next((v.value for v in site.rules.values if v.name == name), None)
            return None if meant is None or not stands(site, meant) else _bounds(site, meant)
        case e.Plus(left=left, right=right) | e.Minus(left=left, right=right):
            one, other = _bounds(site, left), _bounds(site, right)
            if one is None or other is None:
                return None
            if isinstance(x, e.Plus):
                return one[0] + other[0], one[1] + other[1]
            return one[0] - other[1], one[1] - other[0]
        case _:
            return None


def _fast(site: Site, name: str, x: Actor, c: Channel, raising: list[Action]) -> Check:
    stated = fact(site, "ramp_rate")
    most = FASTEST if stated is None else stated.low
    shown = figure(most, "%/s")
    out, own_ = e.Output(c.name, span=x.span), e.Own(c.name, span=x.span)
    rate = e.RateComparison(out, ">", most, UNITS["%/s"], span=x.span)
    still = e.Comparison(own_, "==", e.PreviousNumber(own_, span=x.span), span=x.span)
    acting = any_of(*(acts(x, a.channel) for a in raising))
    others = [s for y in site.guards if y is not x for s in _keeps_out(site, y, c)]
    kill = site.kill
    stopped = [] if kill is None else [not_(kill.signal), not_(e.PreviousSignal(kill.signal, span=kill.span))]
    made = claim(
        name,
        f"{x.name} raises {c.name} by no more than {shown}",
        f"never {x.name} acts and rate of {c.name} is above {shown}, the stick at rest",
        Never(all_of(acting, rate, still, *stopped, *others), span=x.span),
    )
    return Check("H24", x.name, made, site.rules, _ramped(site, x, c, raising))


def _keeps_out(site: Site, y: Actor, c: Channel) -> Iterator[e.Signal]:
    """Another rule does not raise the motor's power itself, and does not let go of it in this cycle."""
    touched = reached(site, y).get(c, ())
    raising = {a.channel for a in site.actions_of(y) if not isinstance(a, Announce) and _raises(site, a, c)}
    for n in touched:
        yield not_(e.Edge("ends", acts(y, n), span=y.span))
        if n in raising:
            yield not_(acts(y, n))


def _slow(site: Site, x: Actor, a: Action, c: Channel) -> Seen | None:
    """From the numbers: how long nine tenths take. None where there is no ramp or the numbers are not plain."""
    rate, most = a.modifiers.rising, highest(site, _amount(a))
    if rate is None or most is None or not isinstance(rate, e.Constant):
        return None
    stated = fact(site, "rise_time")
    allowed = RISE if stated is None else stated.low
    takes = MOST_OF_IT * (most if isinstance(a, Move) else most - c.low) / rate.value
    fine = takes <= allowed
    said = f"nine tenths of what {x.name} asks {c.name} for are there after {figure(takes, 's')}"
    if not fine:
        said += f", more than {figure(allowed, 's')}"
    return Seen("H24", x.name, fine, said, a.span, () if fine else _ramped(site, x, c, [a]))


def _ramped(site: Site, x: Actor, c: Channel, raising: list[Action]) -> tuple[Remedy, ...]:
    """A ramp upwards of a middling rate."""
    if not own(x.name):
        return ()
    changes, where = [], f"{kind(x)} {x.name}"
    for a in raising:
        thing = _thing(site, a.channel)
        # what is up at a stick's surfaces the stick does not know
        up = next((w for w, s in thing.directions if s > 0), "up") if isinstance(thing, Channel) else "more"
        rising = next((w for w, r in a.modifiers.words if r == a.modifiers.rising), None)
        part = None if rising is None else modifier(site, a, f"ramp {rising}")
        if part is None:
            changes.append(with_more(site, a, f"ramp {up} {RAMP}", where))
        else:
            changes.append(edits.instead(site, part, f"  ramp {rising} {RAMP}", where=where))
    return (Remedy(f"a ramp of {RAMP}", tuple(dict.fromkeys(changes))),)


# ---------- what is typed in


def h25(site: Site) -> Iterator[Outcome]:
    """0.05 s becomes 0.0 on the screen, and the delay is gone; 29.5 m becomes 29 or 30.

    Looked for: no time between nothing and 0.1 s, which many transmitters cannot be set to. What the numbers of your
    own transmitter allow is seen when the rules are entered: what cannot be set exactly is proved again as it was set.

    Remedy: 0.1 s, or none at all.
    """
    short = [d for d in _durations(site) if isinstance(d.amount, e.Constant) and 0 < d.amount.value < STEP]
    for d in short:
        what, about = _owner(site, d)
        change = edits.instead(site, d, figure(STEP, "s"), where=f"{what} {about}".strip())
        said = f"{words(site, d)} is less than a transmitter's finest step of {figure(STEP, 's')}: it may become none"
        yield Seen("H25", about, False, said, d.span, (Remedy(f"{figure(STEP, 's')} instead", (change,)),))
    known = [d.amount for d in short]
    fine = sorted({figure(x.value, x.unit.symbol) for x in _fine_numbers(site) if x not in known})
    if fine:
        step = (
            "When the rules are entered, look whether these could be set exactly as they stand: "
            f"{', '.join(fine)}. If not, write into the file what could be set, and prove it again"
        )
        yield Procedure("H25", step, "once")
    elif not short:
        yield Seen("H25", "", True, "no time and no number is finer than 0.1 s, whole metres, whole per cent")


def _durations(site: Site) -> Iterator[e.Duration]:
    """Times in cycles are none that are typed in."""
    for node in _entered(site):
        if isinstance(node, e.Duration) and not node.in_cycles:
            yield node


def _fine_numbers(site: Site) -> Iterator[e.Constant]:
    """Numbers that a coarse screen does not show: not a whole tenth of a second or of a volt, not a whole unit."""
    for node in _entered(site):
        if isinstance(node, e.Constant):
            tenths = node.unit.dimension == TIME or node.unit.symbol == "V"
            whole_ = node.value / STEP if tenths else node.value / node.unit.factor
            if node.unit.symbol and whole_.denominator != 1 and "/" not in node.unit.symbol:
                yield node


def _entered(site: Site) -> Iterator[object]:
    """Everything in signals, memories and rules, as far as it stands in the rule file or its parts."""
    r = site.rules
    waiting: list[object] = [*(e.Constant(t.value, t.unit, span=t.span) for t in r.tunes)]
    waiting += [*r.values, *r.samples, *r.signals, *r.latches, *r.counters, *r.rules, *r.sequences]
    while waiting:
        node = waiting.pop()
        yield node
        if not isinstance(node, str):
            waiting.extend(parts(node))


def _owner(site: Site, d: e.Located) -> tuple[str, str]:
    """The statement in which it stands, if a finding can be accepted in it: what it is and its name."""
    r = site.rules
    for what, group in (("rule", r.rules), ("sequence", r.sequences), ("latch", r.latches)):
        for x in group:
            if x.span.source == d.span.source and x.span.start <= d.span.start < x.span.end:
                return what, x.name
    return "the rules", ""


def h26(site: Site) -> Iterator[Outcome]:
    """The rules stand in one flight mode, and the pilot flies in another; or the memory of another model is loaded.
    Everything was proved, and nothing is there.

    No rule can tell: the lines are entered so that they count in all flight modes, and the name of the model is read
    before each flight.
    """
    if not site.acting:
        yield NotApplicable("H26", "no rule acts on a channel or control")
        return
    names = ", ".join(x.name for x in site.acting)
    yield Procedure(
        "H26", f"Enter every line so that it counts in all flight modes, and try each mode: {names}", "once"
    )
    yield Procedure(
        "H26", f'Read the name of the model on the screen: these rules are "{site.rules.title}"', "every flight"
    )


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {"H23": h23, "H24": h24, "H25": h25, "H26": h26}
