"""Release, disarm, motor stop: H12 to H16. What comes with letting go of a motor has a file of its own."""

from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction
from typing import Literal

from latchproof.hazards import edits, hand_back
from latchproof.hazards.causes import behind
from latchproof.hazards.minute import in_a_minute
from latchproof.hazards.model import Check, Edit, NotApplicable, NotNamed, Outcome, Remedy
from latchproof.hazards.promise import amount, claim, figure, kind, off, on, own, words
from latchproof.hazards.remedies import inside_named, unused_name
from latchproof.hazards.site import Site, acts, any_of, not_
from latchproof.hazards.switched import NO_SWITCH, ONLY_HANDS, acts_by_itself, arm_line, obeying
from latchproof.hazards.takers import NOTHING_FLIES, Actor, followed, role_line, surfaces, takers
from latchproof.hazards.vocabulary import fact
from latchproof.hazards.written import whole, without_channel
from latchproof.rules import expressions as e
from latchproof.rules.model import Announce, Drive, Latch, Never, QuietAfter, Rule, Scope, Sequence

FLICKER = Fraction(1)
"""Seconds: a shorter break in what a rule does counts as none. Common practice, no source."""
LONGEST = Fraction(8)
"""Seconds that a rule may fly the model at a stretch. Common practice, no source."""
NO_KILL = "no role tells which switch stops the motor"


def h12(site: Site) -> Iterator[Outcome]:
    """The pilot switches off, and the guard holds on: for the three seconds that were meant against flicker, until a
    latch forgets, or while a slow return is under way. In those seconds he fights his own model.

    Checked for each rule that the switch turns on, and each one that acts on a sensor and has no switch of its own:
    with the switch at off it does nothing, in the same cycle, in every situation. Rules that only keep a motor from
    running are left alone unless it is the switch that brings them in.

    Remedy: the switch in the rule's own condition, not only behind a delay, and no `hand back`. A slow return and
    "mine at once" cannot both be had; usual is: switched off, everything is yours at once; let go by itself, slowly.
    """
    if site.arm is None:
        yield _without_switch(site, "H12")
        return
    rules = obeying(site, site.arm)
    if not rules:
        yield NotApplicable(
            "H12", f"no rule waits for {on(site, site.arm)}, and none acts on a sensor without a switch"
        )
    for x in rules:
        made = hand_back.freed(site, x)
        remedies = (*hand_back.at_once(site, x, site.arm), *hand_back.lived_with(site, x))
        yield Check("H12", x.name, made, site.rules, remedies, otherwise=hand_back.jump_without(site, x, site.arm))


def h14(site: Site) -> Iterator[Outcome]:
    """The motor stop is pulled, and the guard's own power comes through. Or the motor stands, and the guard still
    pulls the nose up, into a stall without power.

    Checked: while the kill role holds, every motor that the rules touch is at what the motor stop asks for, in the
    same cycle; and a rule that flies the model because of a sensor does not act on anything else. Parachute, tow
    release and gear are never held back.

    Remedy: `rule ... while kill { drive motor to 0 % }`, which outranks all others, and the motor stop as a reason to
    end the guard.
    """
    motors = [c for c in site.motors if any(c in hand_back.reached(site, x) for x in site.acting)]
    others = [x for x in takers(site) if surfaces(site, x) or _elsewhere(site, x)]
    if not motors and not (site.motors and others):
        yield NotApplicable("H14", "no rule acts on a motor" if site.motors else "nothing drives a motor")
        return
    if site.kill is None:
        yield NotNamed("H14", NO_KILL, role_line(site, "kill", "stop", "cut", "kill"))
        return
    scope = Scope("while", site.kill.signal, span=site.kill.span)
    while_ = on(site, site.kill)
    for c in motors:
        still, drive = _stopped_at(site, c.name)
        said = words(site, still) if drive else figure(Fraction(0), c.unit.symbol)
        running = e.Comparison(e.Output(c.name, span=c.span), ">", still, span=c.span)
        if c.low < 0:
            wrong = e.Not(e.Comparison(e.Output(c.name, span=c.span), "==", still, span=c.span), span=c.span)
            text = f"always {c.name} is equal to {said}  while {while_}"
            made = claim(f"H14 {c.name}", f"the motor stop stops {c.name} at once, whatever else goes on", text,
                         Never(wrong, span=c.span), scope=scope)  # fmt: skip
        else:
            text = f"never {c.name} is above {said}  while {while_}"
            made = claim(f"H14 {c.name}", f"the motor stop stops {c.name} at once, whatever else goes on", text,
                         Never(running, span=c.span), scope=scope)  # fmt: skip
        yield Check("H14", c.name, made, site.rules, _outranking(site, c.name, said))
    for x in others:
        wanted = [n for n in site.touched(x) if n not in _powered(site)]
        acting = any_of(*(acts(x, n) for n in wanted))
        listed = " or ".join(wanted)
        made = claim(
            f"H14 {x.name}",
            f"after a motor stop {x.name} is not left over on {listed}",
            f"never {x.name} acts on {listed}  while {while_}",
            Never(acting, span=x.span),
            scope=scope,
        )
        yield Check("H14", x.name, made, site.rules, hand_back.gated_off(site, x, off(site, site.kill)))


def _elsewhere(site: Site, x: Actor) -> bool:
    return any(n not in _powered(site) for n in site.touched(x))


def _powered(site: Site) -> frozenset[str]:
    """Motors and the controls that they follow."""
    return frozenset(c.name for c in site.motors) | {n for c in site.motors for n in followed(c.source)}


def _stopped_at(site: Site, motor: str) -> tuple[e.Number, bool]:
    """What the motor stop asks for, and whether a rule says it."""
    for x in site.acting:
        if not site.is_kill(x):
            continue
        for a in site.actions_of(x):
            if isinstance(a, Drive) and a.channel == motor and isinstance(a.target, e.Constant):
                return a.target, True
    c = site.channels[motor]
    return e.Constant(Fraction(0), c.unit, span=c.span), False


def _outranking(site: Site, motor: str, still: str) -> tuple[Remedy, ...]:
    name = unused_name(site, f"stop_{motor}" if any(r.name == "cut" for r in site.rules.rules) else "cut")
    changes = [edits.statement(site, f"rule {name} while kill {{ drive {motor} to {still} }}")]
    for x in site.acting:
        if not own(x.name):
            continue
        condition = x.condition
        about = f"{kind(x)} {x.name}"
        if site.is_kill(x):
            if put := _put(site, x, motor, still):
                return (Remedy(f"let the motor stop put {motor} at {still} at once", put),)
            continue
        if site.kill is not None and _only_while_stopped(site, x) and any(
            isinstance(a, Drive) and a.channel == motor for a in site.actions_of(x)
        ):  # fmt: skip
            changes = [edits.instead(site, condition, "kill", where=about)]
            return (Remedy(f"let nothing stand between the motor stop and {x.name}", tuple(changes)),)
    return (Remedy("a rule of its own for the motor stop, which outranks all others", tuple(changes)),)


def _put(site: Site, x: Actor, motor: str, still: str) -> tuple[Edit, ...]:
    """One drive in place of all that a rule, or a phase, does to the motor; what it says of other channels stays."""
    made = []
    for actions in (x.actions,) if isinstance(x, Rule) else tuple(p.actions for p in x.phases):
        mine = [a for a in actions if not isinstance(a, Announce) and a.channel == motor]
        drives_first = sorted(mine, key=lambda a: not isinstance(a, Drive))
        for k, place in enumerate(dict.fromkeys(whole(site, a).span for a in drives_first)):
            at, where = e.Located(span=place), f"{kind(x)} {x.name}"
            left = without_channel(site, at, motor)
            text = "  ".join(filter(None, (f"drive {motor} to {still}" if k == 0 else "", left)))
            made.append(edits.instead(site, at, text, where=where) if text else edits.without(site, at, where=where))
    return tuple(made)


def _only_while_stopped(site: Site, x: Actor) -> bool:
    assert site.kill is not None
    wanted = (site.kill.signal, e.NamedSignal("kill", span=x.span))
    return isinstance(x.condition, e.AllOf) and any(o in wanted for o in x.condition.operands)


def h15(site: Site) -> Iterator[Outcome]:
    """Switched off, put down, hands on the model: and three seconds later the delayed throttle line comes in.

    Checked for the rules of H12 in which something waits (`for`, `extended`, `pulsed`, `after`, the phases of a
    sequence): with the switch at off no action of theirs begins, neither at once nor at any later time.

    Remedy: the switch behind the delay as well, in the rule's own condition.
    """
    if site.arm is None:
        yield _without_switch(site, "H15")
        return
    rules = [x for x in obeying(site, site.arm) if _waits(site, x)]
    if not rules:
        yield NotApplicable("H15", "nothing waits in the rules that the guard switch turns on")
    for x in rules:
        begins = any_of(*(e.Edge("begins", acts(x, n), span=x.span) for n in site.touched(x)))
        made = claim(
            f"H15 {x.name}",
            f"with the guard switched off no action of {x.name} begins, however late",
            f"never (an action of {x.name} begins)  while {off(site, site.arm)}",
            Never(begins, span=x.span),
            scope=Scope("while", not_(site.arm.signal), span=x.span),
        )
        yield Check("H15", x.name, made, site.rules, hand_back.gated_off(site, x, hand_back.gate_text(site, site.arm)))


def _waits(site: Site, x: Actor) -> bool:
    """Something in it comes later than its cause."""
    if isinstance(x, Sequence) or any(
        a.modifiers.after is not None for a in site.actions_of(x) if not isinstance(a, Announce)
    ):
        return True
    found: list[e.Signal] = [x.condition]
    for latch in behind(site, x.condition).helping:
        found += latch.sets
    return any(isinstance(n, e.Timed) for s in found for n in inside_named(site, s))


def h16(site: Site) -> Iterator[Outcome]:
    """The time-out was to end it after 8 s. But the reading flickers, each flicker starts the time-out again, and the
    guard flies the model for minutes, with a tiny break now and then.

    Checked for each rule with a time-out, pulse or off-delay that gives power or moves a surface because of a sensor:
    once it has ended, it does not begin again within 1 s, as long as the guard stays switched on. Then no flicker
    makes one long flight out of short ones; how long each of them may be is H28. Where the fact `longest_in_a_minute`
    says how long a rule may fly the model in any minute, also: it does not begin so often that several engagements
    together, each no longer than H28 allows, could come to more.

    Remedy: the time-out on a latch that rests before it may come on again, and after the time-out nothing before the
    guard was switched off; for a minute, a counter of its turns.
    """
    several = takers(site)
    if not several:
        yield NotApplicable("H16", NOTHING_FLIES)
        return
    limited = [x for x in several if _timed(site, x) or _pulsing(site, x)]
    together = tuple(in_a_minute(site, several))
    if not limited and not together:
        yield NotApplicable("H16", "no time-out or pulse ends what the rules do; how long they act is H28")
    for x in limited:
        ends, begins = (e.Edge(way, acts(x), span=x.span) for way in _WAYS)
        rest = e.Duration(amount(FLICKER, "s", x.span), span=x.span)
        gated = site.arm is not None and x in obeying(site, site.arm)
        made = claim(
            f"H16 {x.name}",
            f"once {x.name} has ended, it does not begin again within {figure(FLICKER, 's')}",
            f"for {figure(FLICKER, 's')} after ({x.name} ends) never ({x.name} begins)",
            QuietAfter(rest, ends, begins, span=x.span),
            scope=Scope("while", site.arm.signal, span=site.arm.span) if site.arm is not None and gated else None,
        )
        yield Check("H16", x.name, made, site.rules, _resting(site, x))
    yield from together


_WAYS: tuple[Literal["ends"], Literal["begins"]] = ("ends", "begins")


def _timed(site: Site, x: Actor) -> tuple[Latch, ...]:
    return tuple(m for m in behind(site, x.condition).at_once if m.timeout is not None)


def _pulsing(site: Site, x: Actor) -> bool:
    return any(isinstance(n, e.Timed) and n.kind != "for" for n in inside_named(site, x.condition))


def _resting(site: Site, x: Actor) -> tuple[Remedy, ...]:
    """A latch around the rule that has the time-out, and rests before it comes on again."""
    if not own(x.name):
        return ()
    name, condition = unused_name(site, f"{x.name}_turn"), words(site, x.condition)
    stated = fact(site, "longest_engagement")
    most = LONGEST if stated is None else stated.low
    times = [words(site, m.timeout.duration) for m in _timed(site, x) if m.timeout is not None and own(m.name)]
    limit = times[0] if len(times) == 1 else figure(most - most / 8, "s")
    wanted = condition if isinstance(x.condition, e.NamedSignal) else f"({condition})"
    gated = site.arm is not None and x in obeying(site, site.arm)
    lines = [
        f"latch {name} {{",
        f"  set when   {wanted} and not ({name} extended 2 s)",
        f"  reset when not {wanted}",
    ]
    if site.arm is not None and gated:
        lines.append(f"  reset when {off(site, site.arm)}")
    lines.append(
        f"  timeout {limit}  then blocked "
        + (f"until {off(site, site.arm)}" if site.arm is not None and gated else "for 30 s")
    )
    change = edits.instead(site, x.condition, name, where=f"{kind(x)} {x.name}")
    said = f"let {x.name} rest for 2 s before it begins again, and stay away after its time-out"
    return (Remedy(said, (change, edits.statement(site, "\n".join([*lines, "}"])))),)


def _without_switch(site: Site, hazard: str) -> Outcome:
    if acts_by_itself(site):
        return NotNamed(hazard, NO_SWITCH, arm_line(site))
    return NotApplicable(hazard, ONLY_HANDS)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H12": h12, "H13": hand_back.h13, "H14": h14, "H15": h15, "H16": h16,
}  # fmt: skip
