"""What of a rule set does not go with a transmitter and with what the model already has, as data with what to do.

Only what no rewriting of entries can mend; numbers that fall between steps, gates too wide and missing kinds of entry
are the business of the room `fit`.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from latchproof.hazards.causes import behind, obeys
from latchproof.hazards.site import Site
from latchproof.rules.expressions import AtPosition
from latchproof.rules.model import Announce, Channel, RuleSet
from latchproof.rules.suggest import did_you_mean, listed
from latchproof.transmitter.differences import differences
from latchproof.transmitter.finding import Finding, acting, word
from latchproof.transmitter.hands import TAKES, InputKind, Serving, free, serving
from latchproof.transmitter.model import Hand, Has, Transmitter

Verb = Literal["takes its place", "stays"]


@dataclass(frozen=True, slots=True)
class Replaces:
    """Something that the model has and that rules take over: `by` are their names, `channels` those in common."""

    has: Has
    by: tuple[str, ...]
    channels: tuple[str, ...]
    do: str


def conflicts(t: Transmitter, rules: RuleSet) -> tuple[Finding, ...]:
    """The grave ones first, else in the order in which a pilot meets them."""
    found = (*_hands(t, rules), *_channels(t, rules), *_sounds(t, rules), *differences(t, rules))
    weight = ("stops", "unlike", "look")
    return tuple(sorted(dict.fromkeys(found), key=lambda f: weight.index(f.weight)))


def replaces(t: Transmitter, rules: RuleSet) -> tuple[Replaces, ...]:
    """What the model has and must be taken out, because an entry does the same from now on."""
    site = Site(rules, {})
    found = []
    for has in t.has:
        common = _common(has, rules)
        by: list[str] = []
        for x in site.acting:
            on = {a.channel for a in site.actions_of(x) if not isinstance(a, Announce)} & {c.name for c in common}
            match has.what:
                case "throttle cut" if site.kill is not None and on and obeys(site, x, site.kill):
                    by.append(x.name)
                case "soft start" if on and any(
                    not isinstance(a, Announce) and a.channel in on and a.modifiers.rising is not None
                    for a in site.actions_of(x)
                ):
                    by.append(x.name)
                case _:
                    pass
        if by:
            names = tuple(c.name for c in common)
            do = (
                f"keep {has.name} until the list is entered, proved and tried; then take it out, and test, "
                "propeller off, that "
                f"{listed(word(n) for n in by)} does the same"
            )
            found.append(Replaces(has, tuple(by), names, do))
    return tuple(found)


# ---------- what hands move


def _hands(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    inputs = serving(t, rules)
    known = [s.name for s in inputs]
    for hand in t.hands:
        if hand.serves and hand.serves not in known:
            hints = did_you_mean(hand.serves, known)
            do = hints[0] if hints else "correct `serves` in the description, or leave it empty"
            yield Finding(
                "serves nothing",
                "look",
                (hand.serves,),
                f"{hand.name} serves {word(hand.serves)}, which the rules have not got",
                do,
            )
    promised: set[str] = set()
    for s in inputs:
        if s.hand is None:
            yield _unserved(t, s, promised)
        else:
            yield from _served(t, s, s.hand, rules)


def _unserved(t: Transmitter, s: Serving, promised: set[str]) -> Finding:
    """`promised`: hands that were named for another input already."""
    candidates = [h for h in free(t, s.kind, len(s.positions)) if h.name not in promised]
    what = _needed(s.kind, len(s.positions))
    if candidates:
        promised.add(candidates[0].name)
        do = f'write serves = "{s.name}" at {candidates[0].name}, which is free'
        do += ", and which place means what" if s.kind == "switch" else ""
        return Finding("not served", "look", (s.name,), f"nothing says which {what} {word(s.name)} is", do)
    do = f"free a {what}, let one that does something else share it, or do without {word(s.name)} in the rules"
    return Finding("none free", "stops", (s.name,), f"no {what} is left for {word(s.name)}", do)


def _needed(kind: InputKind, places: int) -> str:
    if kind == "switch":
        return f"switch of {places} or more places" if places > 2 else "switch"
    return {"button": "button", "stick": "stick", "knob": "slider or knob"}[kind]


def _served(t: Transmitter, s: Serving, hand: Hand, rules: RuleSet) -> Iterator[Finding]:
    name = word(s.name)
    if hand.kind not in TAKES[s.kind]:
        do = f"let a {' or '.join(TAKES[s.kind])} serve it"
        yield Finding("wrong kind", "stops", (s.name,), f"{name} is a {s.kind}, {hand.name} a {hand.kind}", do)
        return
    if hand.taken:
        do = f"take {hand.taken} off it, or choose another one for {name}"
        yield Finding("hand taken", "stops", (s.name,), f"{hand.name} already does something ({hand.taken})", do)
    for has in t.has:
        if hand.name in has.uses:
            do = f"find out whether both are meant to act together; else move {has.name} to something else"
            yield Finding("hand taken", "look", (s.name,), f"{hand.name} also works {has.name}", do)
    if s.kind == "switch" and hand.kind == "switch":
        yield from _places(s, hand)
    if s.kind == "switch" and hand.springs:
        yield _springs(s, hand, rules)
    if s.kind in ("stick", "knob") and hand.turned is not False:
        unsure = hand.turned is None
        text = f"{hand.name} {'may show' if unsure else 'shows'} its numbers the other way round"
        do = f"push it to the end that is the most of {name} in the rules; the number shown there must be the largest"
        if not unsure:
            do = f"turn it round where the transmitter allows that, or every threshold on {name} is the wrong way round"
        yield Finding("turned", "look" if unsure else "unlike", (s.name,), text, do)


def _springs(s: Serving, hand: Hand, rules: RuleSet) -> Finding:
    """A stop that lets go of itself is another thing than a switch that is meant to last only while held."""
    name, stops = word(s.name), _stopping(s, rules)
    there = [p for p, way in s.ways if way is not None and way == hand.rests]
    to = f" to {hand.rests}" if hand.rests is not None else ""
    means = f", which is {word(there[0])}" if there else ""
    text = f"{hand.name} goes back{to} by itself{means}"
    if not stops or (there and there[0] in stops):
        do = f"choose a switch that stays where it is put, unless {name} is meant to last only while held"
        return Finding("springs back", "look", (s.name,), text, do)
    do = f"choose a switch that stays where it is put, or the motor may run as soon as {hand.name} is let go"
    if there:
        return Finding("springs back", "unlike", (s.name,), f"{text}, so the motor stop lets go of itself", do)
    return Finding("springs back", "look", (s.name,), f"{text} and stops the motor only while held, perhaps", do)


def _stopping(s: Serving, rules: RuleSet) -> frozenset[str]:
    """Positions that stop the motor while the switch is there: not such as only set a latch."""
    site = Site(rules, {})
    found: set[str] = set()
    for cause in () if site.kill is None else behind(site, site.kill.signal).tests:
        match cause.test:
            case AtPosition(switch=s.name, position=position) if cause.latch is None:
                found |= {p for i, p in enumerate(s.positions) if (i == position) == cause.helps}
            case _:
                pass
    return frozenset(found)


def _places(s: Serving, hand: Hand) -> Iterator[Finding]:
    name = word(s.name)
    if len(hand.places) < len(s.positions):
        do = f"let a switch of {len(s.positions)} places serve it"
        text = f"{name} has {len(s.positions)} positions, {hand.name} only {len(hand.places)} places"
        yield Finding("too few places", "stops", (s.name,), text, do)
        return
    missing = [p for p, way in s.ways if way is None]
    if missing:
        do = f'write means = ["{missing[0]} is towards", ...] in the description'
        text = f"nothing says which place of {hand.name} means {listed(word(p) for p in missing)}"
        yield Finding("no place", "look", (s.name,), text, do)
    for position, _ in hand.means:
        if position not in s.positions:
            hints = did_you_mean(position, s.positions)
            do = hints[0] if hints else f"write {listed(s.positions, 'or')}"
            yield Finding("no position", "look", (s.name,), f"{name} has no position {word(position)}", do)
    for position in s.positions:
        ways = [way for p, way in s.ways if p == position]
        if len(ways) > 1:
            others = [word(p) for p in s.positions if p != position]
            do = f"in every entry that asks for {word(position)} take what is not {listed(others, 'or')}"
            text = f"{word(position)} of {name} is two places of {hand.name}: {listed(w for w in ways if w)}"
            yield Finding("two places", "look", (s.name,), text.replace(": ", ", "), do)
    spare = [p for p in hand.places if p not in {way for _, way in s.ways}]
    if not missing and spare:
        do = f"see which position the entries take it for, and say so; {name} is proved for its own positions only"
        text = f"{hand.name} has a place that means nothing ({listed(spare)})"
        yield Finding("spare place", "look", (s.name,), text, do)


# ---------- channels


def _common(has: Has, rules: RuleSet) -> tuple[Channel, ...]:
    """Channels on which rules act and something that the model has acts as well."""
    acted = {a.channel for _, actions in acting(rules) for a in actions if not isinstance(a, Announce)}
    return tuple(c for c in rules.channels if c.name in acted and c.number in has.channels)


def _channels(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    taken_over = {r.has for r in replaces(t, rules)}
    for c in rules.channels:
        if c.number is None:
            continue
        name = word(c.name)
        if c.number > t.channels:
            do = f"give {name} one of the channels 1 to {t.channels} in the rule file"
            yield Finding("no channel", "stops", (c.name,), f"there is no channel {c.number} for {name}", do)
        elif c.name in t.order and t.order.index(c.name) + 1 != c.number:
            there = t.order.index(c.name) + 1
            text = f"{name} is channel {c.number} in the rules and {there} on this transmitter"
            yield Finding(
                "other channel", "stops", (c.name,), text, f"write {there} in the rule file, or change the order"
            )
        elif c.number <= len(t.order) and t.order[c.number - 1] not in ("", c.name):
            text = f"channel {c.number} moves {t.order[c.number - 1]} on this transmitter, not {name}"
            do = "find out which of the two is right: move the stick and look at the model, propeller off"
            yield Finding("other channel", "look", (c.name,), text, do)
    for has in t.has:
        if has in taken_over:
            continue
        for c in _common(has, rules):
            text = f"{has.name} ({has.what}) acts on {word(c.name)} as well"
            yield Finding("channel shared", "unlike", (c.name,), text, _shared(has, c))
        if has.what == "flight phase" and t.active_only is not False:
            text = f"entries may stand still in a flight phase that they were not made in, and there is {has.name}"
            do = f"make every entry act in {has.name} too, and repeat a step of the bench test there"
            yield Finding("phase", "unlike", (), text, do)


def _shared(has: Has, c: Channel) -> str:
    match has.what:
        case "mode channel":
            return f"look which of the two wins on channel {c.number}; the rules take it that theirs does"
        case "throttle cut":
            return "let it stay only if it wins over every entry, and try that with the propeller off"
        case "soft start":
            return f"take it out: with it {word(c.name)} gets its power later than was proved"
        case "mix":
            return f"say the mix in the rule file, where it says what {word(c.name)} follows, or take it out"
        case _:
            return "take it out, or say it in the rule file"


# ---------- sounds


def _sounds(t: Transmitter, rules: RuleSet) -> Iterator[Finding]:
    has = {"voice": t.sounds.voice, "tone": t.sounds.tone, "vibration": t.sounds.vibration}
    others = [means for means, there in has.items() if there]
    for name, actions in acting(rules):
        for a in actions:
            if not isinstance(a, Announce) or has[a.means]:
                continue
            said = f'"{a.text}"' if a.text else "itself"
            text = f"{word(name)} announces {said} by {a.means}, which this transmitter has not got"
            if others:
                do = f"write announce {others[0]} in the rule file, one that sounds like no other"
                yield Finding("no sound", "unlike", (name,), text, do)
            else:
                do = f"nothing will tell you that {word(name)} acts; have somebody watch the model for it"
                yield Finding("no sound", "stops", (name,), text, do)
