"""What a motor does when a rule lets go of it (H13), and the choice between that and being free at once (H12)."""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind
from latchproof.hazards.model import Check, Edit, NotApplicable, Outcome, Remedy
from latchproof.hazards.promise import Names, amount, and_also, claim, figure, kind, off, on, own, words
from latchproof.hazards.remedies import unused_name
from latchproof.hazards.site import Site, acts, all_of, any_of, not_
from latchproof.hazards.switched import gate, obeying
from latchproof.hazards.takers import Actor, followed
from latchproof.hazards.written import with_more, without
from latchproof.rules import expressions as e
from latchproof.rules.model import Action, Announce, Channel, Claim, Drive, Limit, Move, Never, Role, RuleSet, Scope

JUMP = Fraction(30)
"""Points that the power may rise in one cycle when a rule lets go. Common practice, no source."""
SLOWLY = Fraction(40)
"""Points per second of a slow return. Common practice, no source."""
NEAR = "10 %"
STEP = "1 %"


def h13(site: Site) -> Iterator[Outcome]:
    """The stick still stands at full when the guard lets go: the motor jumps from 25 % to full in an instant. The
    model rolls, the supply of the receiver dips, and the pilot was not prepared.

    Checked for each rule that holds a motor below the pilot's stick: when it lets go by itself, with the stick and the
    switches still, the power does not rise by more than 30 points in one cycle. And the same for each motor when the
    guard is switched off.

    Remedy: a limit that opens slowly. Switched off it is a choice: either the motor is yours at once, and jumps to
    where the stick is, or it comes back slowly, and is not yours for that time (H12). Usual is: switched off, at once;
    let go by itself, slowly and with a sound. Say it with `accept H13 in MOTOR because "..."`.
    """
    pairs = [(x, c, names) for x in site.guards for c, names in held_down(site, x)]
    if not pairs:
        some = any(reached(site, x) for x in site.guards)
        yield NotApplicable(
            "H13",
            "whichever rule lets go of a motor, its power can only fall to the stick's" if some else
            "no rule but the motor stop acts on a motor",
        )  # fmt: skip
        return
    names_ = Names("H13")
    for x, c, held in pairs:
        still = [_at_rest(t) for t in _switches(site, x)]
        made = claim(
            names_.next(x.name),
            f"when {x.name} lets go of {c.name} by itself, the motor does not jump up",
            f"never ({x.name} lets go of {c.name}) and {_jump_text(c)}",
            Never(all_of(any_of(*(_ends(x, n) for n in held)), *_jumps(site, c), *still), span=x.span),
        )
        yield Check("H13", x.name, made, site.rules, _softened(site, x, c))
    if site.arm is None:
        return
    switched = obeying(site, site.arm)
    for c in site.rules.channels:
        mine = [(x, names) for x, m, names in pairs if m == c and x in switched]
        if mine:
            yield _switched_off(site, site.arm, c, mine)


def _switched_off(site: Site, arm: Role, c: Channel, mine: list[tuple[Actor, tuple[str, ...]]]) -> Check:
    made = _no_jump(site, arm, c, mine)
    rules = [x for x, _ in mine]
    slow = _slowly(site.rules, rules, [n for _, names in mine for n in names])
    other = Check("H12", rules[0].name, freed(site, rules[0]), slow, (), f"if {c.name} came back slowly instead")
    reason = f'accept H13 in {c.name} because "switched off, the motor is mine at once, wherever the stick is"'
    accepted = Remedy(
        f"with {off(site, arm)} {c.name} is yours at once, and jumps to where your stick is: if you want that, say so",
        (edits.statement(site, reason),),
    )
    changes = [change for x in rules for change in _handing_back(site, x, c)]
    found = [accepted]
    if changes and all(own(x.name) for x in rules):
        for x in rules:
            because = "what the rule holds is to come back slowly, even when I switch it off"
            changes.append(edits.statement(site, f'accept H12 in {x.name} because "{because}"'))
        found.append(
            Remedy(f"let {c.name} come back slowly, and live with its not being yours for that time", tuple(changes))
        )
    return Check("H13", c.name, made, site.rules, tuple(found), otherwise=other)


# ---------- promises


def freed(site: Site, x: Actor) -> Claim:
    """With the guard switched off a rule does nothing."""
    assert site.arm is not None
    while_ = off(site, site.arm)
    scope = Scope("while", not_(site.arm.signal), span=x.span)
    sentence = f"switched off, {x.name} lets go at once"
    return claim(f"H12 {x.name}", sentence, f"never {x.name} acts  while {while_}", Never(acts(x), span=x.span),
                 scope=scope)  # fmt: skip


def _no_jump(site: Site, arm: Role, c: Channel, mine: list[tuple[Actor, tuple[str, ...]]]) -> Claim:
    ends = any_of(*(_ends(x, n) for x, names in mine for n in names))
    return claim(
        f"H13 {c.name}",
        f"when the guard is switched off, {c.name} does not jump up",
        f"never ({off(site, arm)} begins) and {_jump_text(c)}",
        Never(all_of(ends, not_(arm.signal), *_jumps(site, c)), span=c.span),
    )


def _ends(x: Actor, name: str) -> e.Signal:
    return e.Edge("ends", acts(x, name), span=x.span)


def _jumps(site: Site, c: Channel) -> tuple[e.Signal, ...]:
    """More power by far than in the cycle before, though the pilot did not ask for more just now."""
    now: e.Number = e.Output(c.name, span=c.span)
    before: e.Number = e.PreviousNumber(now, span=c.span)
    own_ = e.Own(c.name, span=c.span)
    still = e.Comparison(own_, "==", e.PreviousNumber(own_, span=c.span), span=c.span)
    if c.low < 0:
        now, before = e.Size(now, span=c.span), e.Size(before, span=c.span)
    more = e.Comparison(now, ">", e.Plus(before, amount(JUMP, "%", c.span), span=c.span), span=c.span)
    found = (e.ChannelState(c.name, "free", span=c.span), still, more)
    if site.kill is None:
        return found
    was = e.PreviousSignal(site.kill.signal, span=c.span)
    return (*found, not_(site.kill.signal), not_(was))


def _jump_text(c: Channel) -> str:
    return f"{c.name} is above previous of {c.name} + {figure(JUMP, '%')}"


def _switches(site: Site, x: Actor) -> tuple[e.Signal, ...]:
    """Tests of switches and buttons on which the rule rests; of a switch with two positions one is enough."""
    two = {s.name for s in site.rules.switches if len(s.positions) == 2}
    found: dict[object, e.Signal] = {}
    for cause in behind(site, x.condition).tests:
        match cause.test:
            case e.AtPosition(switch=switch) as test:
                found.setdefault(switch if switch in two else test, test)
            case e.Pressed() as test:
                found.setdefault(test, test)
    return tuple(found.values())


def _at_rest(t: e.Signal) -> e.Signal:
    return not_(any_of(e.Edge("begins", t, span=t.span), e.Edge("ends", t, span=t.span)))


# ---------- who holds which motor


def reached(site: Site, x: Actor) -> dict[Channel, tuple[str, ...]]:
    """The motors on which a rule acts, each with what it acts on: the motor itself, or controls that it follows."""
    touched = site.touched(x)
    found = {c: tuple(n for n in touched if n == c.name or n in followed(c.source)) for c in site.motors}
    return {c: names for c, names in found.items() if names}


def held_down(site: Site, x: Actor) -> Iterator[tuple[Channel, tuple[str, ...]]]:
    """The same, as far as the rule may give less power than the pilot's stick does."""
    for c, names in reached(site, x).items():
        less = tuple(
            dict.fromkeys(
                a.channel for a in site.actions_of(x)
                if isinstance(a, Drive | Move | Limit) and a.channel in names and (c.low < 0 or _lowers(a))
            )
        )  # fmt: skip
        if less:
            yield c, less


def _lowers(a: Drive | Move | Limit) -> bool:
    match a:
        case Drive():
            return True
        case Move(sign=sign):
            return sign < 0
        case Limit(bound=bound):
            return bound == "most"


# ---------- the other way


def jump_without(site: Site, x: Actor, arm: Role) -> Check | None:
    """What a motor does at the switch if a rule that comes back slowly did not: only where that is a choice."""
    slow = {a.channel for a in site.actions_of(x) if not isinstance(a, Announce) and a.modifiers.back is not None}
    for c, names in held_down(site, x):
        if slow & set(names):
            at_once_ = _with_returns(site.rules, [x], list(names), None)
            made = _no_jump(site, arm, c, [(x, names)])
            return Check("H13", c.name, made, at_once_, (), f"if {x.name} let go of {c.name} at once instead")
    return None


def _slowly(rules: RuleSet, several: list[Actor], names: list[str]) -> RuleSet:
    rate = amount(SLOWLY, "%/s", several[0].span)
    return _with_returns(rules, several, names, rate)


def _with_returns(rules: RuleSet, several: list[Actor], names: list[str], rate: e.Number | None) -> RuleSet:
    """The rules with another `hand back` for these rules' actions on these channels."""
    changed = {x.name for x in several}

    def turned(a: Action) -> Action:
        if isinstance(a, Announce) or a.channel not in names:
            return a
        return replace(a, modifiers=replace(a.modifiers, back=rate))

    return replace(
        rules,
        rules=tuple(replace(r, actions=tuple(map(turned, r.actions))) if r.name in changed else r for r in rules.rules),
        sequences=tuple(
            replace(s, phases=tuple(replace(p, actions=tuple(map(turned, p.actions))) for p in s.phases))
            if s.name in changed
            else s
            for s in rules.sequences
        ),
    )


# ---------- remedies


def gated_off(site: Site, x: Actor, text: str) -> tuple[Remedy, ...]:
    """The rule ends at once with a switch, its slow return as well."""
    if not own(x.name):
        return ()
    change = edits.instead(site, x.condition, and_also(site, x.condition, text), where=f"{kind(x)} {x.name}")
    changes = tuple(dict.fromkeys((change, *_without_returns(site, x))))
    return (Remedy(f"let {x.name} act only while {text}", changes),)


def at_once(site: Site, x: Actor, arm: Role) -> tuple[Remedy, ...]:
    """Free in the very cycle of the switch; where that makes a motor jump, slowly if it lets go by itself."""
    if not own(x.name):
        return ()
    slow = _without_returns(site, x)
    if not slow:
        return gated_off(site, x, gate_text(site, arm))
    changes: list[Edit] = list(slow)
    if not gate(site, x.condition, arm):
        changes += [c for r in gated_off(site, x, gate_text(site, arm)) for c in r.edits]
    said = f"let {x.name} go at once"
    for c, _ in held_down(site, x):
        changes += _easing(site, x, c)
        said = f"switched off, {c.name} is yours at once; let go by itself, it comes back slowly and with a sound"
    return (Remedy(said, tuple(dict.fromkeys(changes))),)


def lived_with(site: Site, x: Actor) -> tuple[Remedy, ...]:
    """A slow return that the pilot wants even when he switches off."""
    if not _without_returns(site, x):
        return ()
    line = f'accept H12 in {x.name} because "it is to come back slowly, even when I switch it off"'
    return (Remedy("keep the slow return, and say that you want it", (edits.statement(site, line),)),)


def gate_text(site: Site, arm: Role) -> str:
    """What turns the guard on, so that it may stand beside `and`."""
    text = on(site, arm)
    return f"({text})" if isinstance(arm.signal, e.AnyOf | e.Timed | e.Edge) else text


def _softened(site: Site, x: Actor, c: Channel) -> tuple[Remedy, ...]:
    if not own(x.name):
        return ()
    slow = Remedy(
        f"when {x.name} lets go by itself, let {c.name} come back slowly and with a sound; switched off, it is yours "
        "at once",
        tuple(_easing(site, x, c)),
    )
    back = _handing_back(site, x, c)
    switched = site.arm is not None and x in obeying(site, site.arm)
    if not back:
        return (slow,)
    simple = Remedy(f"let {c.name} come back slowly however {x.name} ends", back)
    return (slow, simple) if switched else (simple, slow)


def _handing_back(site: Site, x: Actor, c: Channel) -> tuple[Edit, ...]:
    """`hand back` for each action of the rule on the motor that has none."""
    names = reached(site, x)[c]
    found = (
        with_more(site, a, f"hand back {figure(SLOWLY, '%/s')}", f"{kind(x)} {x.name}")
        for a in site.actions_of(x)
        if isinstance(a, Drive | Move | Limit) and a.channel in names and a.modifiers.back is None
    )
    return tuple(dict.fromkeys(found))


def _without_returns(site: Site, x: Actor) -> tuple[Edit, ...]:
    """Every `hand back` of the rule taken out."""
    found = (
        without(site, a, "hand back", f"{kind(x)} {x.name}")
        for a in site.actions_of(x)
        if isinstance(a, Drive | Move | Limit) and a.modifiers.back is not None
    )
    return tuple(dict.fromkeys(change for change in found if change is not None))


def _easing(site: Site, x: Actor, c: Channel) -> list[Edit]:
    """From the moment at which the rule ends a limit that opens a little in each cycle, until it meets the stick."""
    name, rule = unused_name(site, f"{x.name}_easing"), unused_name(site, f"{x.name}_back")
    if len(tuple(held_down(site, x))) > 1:
        name, rule = unused_name(site, f"{x.name}_easing_{c.name}"), unused_name(site, f"{x.name}_back_{c.name}")
    ended = words(site, x.condition)
    ended = ended if isinstance(x.condition, e.NamedSignal) else f"({ended})"
    met = f"previous of {c.name} is at least pilot_value of {c.name} - {NEAR}"
    limits = [f"  limit {c.name} to at most previous of {c.name} + {STEP}"]
    if c.low < 0:
        met = f"size of (pilot_value of {c.name} - previous of {c.name}) is at most {NEAR}"
        limits.append(f"  limit {c.name} to at least previous of {c.name} - {STEP}")
    lines = [f"latch {name} {{", f"  set when   {ended} ends", f"  reset when {met}"]
    arm = site.arm
    if arm is not None and x in obeying(site, arm):
        lines.append(f"  reset when {off(site, arm)}")
    lines += ["}", f"rule {rule} while {name} {{", *limits, "  announce tone", "}"]
    return [edits.statement(site, "\n".join(lines))]
