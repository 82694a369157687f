"""From the entries of a listing to rules: what they do comes from the printed fields only, what is promised from the
rule file."""

from collections.abc import Iterable, Mapping
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from functools import partial
from typing import Any, TypeVar, cast

from latchproof.diagnostics import Diagnostic
from latchproof.listing.model import Entry
from latchproof.machine.loops import loops
from latchproof.readback import model as m
from latchproof.readback.circles import circle
from latchproof.readback.desk import WHERE, YIELDS, Back, yields
from latchproof.readback.doing import channel, control, does, tells
from latchproof.readback.logic import Made, latches, logic
from latchproof.readback.model import Problem
from latchproof.readback.phases import sequences
from latchproof.readback.pinned import pinned
from latchproof.readback.rules_of import Put, put_together
from latchproof.readback.sensors import sensor
from latchproof.readback.values import read
from latchproof.rules import expressions as e
from latchproof.rules.model import Channel, NamedSignalDefinition, NamedValue, Rule, RuleSet
from latchproof.rules.units import NO_UNIT
from latchproof.transmitter.model import Transmitter

X = TypeVar("X")
MOST_ENTRIES = 2000
MOST_FIELDS = 600
LATCHES = ("latch (set and reset)", "time-out of a latch", "lock-out of a latch")
TOLD = ("voice", "tone", "vibration", "announced")


def raised(
    entries: tuple[Entry, ...], rules: RuleSet, transmitter: Transmitter | None = None, *,
    lost: frozenset[str] = frozenset(),
) -> RuleSet | tuple[Problem, ...]:  # fmt: skip
    """The rules that a transmitter with these entries follows, or what is wrong with the entries.

    `rules`: the ones that the listing was made of, at the constants in the listing; inputs, sensors, facts, the
    device, claims and roles come from there. `transmitter`: what works with other numbers than are typed. `lost`: names
    of entries that are not there any more, so that what the claims ask about them is never so.
    """
    header = pinned(rules)
    problems = _outline(entries)
    if problems:
        return problems
    b = Back(header, {x.number: x for x in entries}, transmitter)
    _name(b, entries)
    made = Made()
    _logic(b, made, entries)
    doing = b.each((x for x in entries if yields(x) == "action"), does)
    telling = b.each((x for x in entries if yields(x) == "announcement"), tells)
    stands = b.each((x for x in entries if yields(x) == "channel"), channel)
    mixed = b.each((x for x in entries if yields(x) == "control"), control)
    heard = b.each((x for x in entries if yields(x) == "sensor"), partial(sensor, made))
    if b.problems:
        return tuple(b.problems)
    base = replace(header, sequences=tuple(made.sequences))
    put = put_together(b, base, doing, telling, [h for _, h in (*stands, *mixed)], _asked(entries))
    if b.problems:
        return tuple(b.problems)
    if (round_ := circle(entries)) is not None:
        return (round_,)
    whole = _whole(b, made, put, {c.name: c for c, _ in stands}, {s.name: s for s in heard}, lost)
    return tuple(map(_round, loops(whole))) or whole


def _round(x: Diagnostic) -> Problem:
    """Things that go round in a circle only together: the phases of a sequence, the actions on a channel."""
    at = next((label.span.start for label in x.labels if label.span.source == WHERE), 0)
    return Problem(x.title, "`..., one pass earlier` at one of them", 0, at)


def _outline(entries: tuple[Entry, ...]) -> tuple[Problem, ...]:
    """What must be so before anything can be read: a bounded number of entries, each number once, known kinds."""
    if len(entries) > MOST_ENTRIES:
        return (Problem(f"{len(entries)} entries", f"at most {MOST_ENTRIES}"),)
    found = []
    seen: set[int] = set()
    for x in entries:
        if x.number in seen or not 0 < x.number < 10**6:
            found.append(
                Problem(f"entry {x.number} stands here twice, or has no number", "each number once", 0, x.number)
            )
        seen.add(x.number)
        if x.kind not in YIELDS and not x.kind.startswith("phase "):
            found.append(Problem(f"no such kind of entry: {x.kind[:60]}", ", ".join(YIELDS), 0, x.number, "kind"))
        if len(x.fields) > MOST_FIELDS:
            found.append(Problem(f"{len(x.fields)} fields", f"at most {MOST_FIELDS}", 0, x.number))
    return tuple(found)


def _name(b: Back, entries: tuple[Entry, ...]) -> None:
    """What each entry is called: as in the rule file, else by its number. Channels and sticks have names already."""
    r = b.rules
    taken = {str(x.role) for x in r.roles}
    for things in (r.switches, r.buttons, r.controls, r.sensors, r.channels, r.tunes, r.facts, r.rules, r.sequences):
        taken |= names_of(things)
    taken |= {r.device.pulse.name} if r.device.pulse is not None else set()
    for x in entries:
        if yields(x) in ("channel", "control"):
            b.named[x.number] = x.names[0] if x.names else ""
            continue
        name = x.names[0] if x.names and yields(x) in ("state", "number") else f"entry_{x.number}"
        while name in taken:
            name += "_"
        taken.add(name)
        b.named[x.number] = name


def _logic(b: Back, made: Made, entries: tuple[Entry, ...]) -> None:
    for x in entries:
        phase = x.kind.startswith("phase ")
        if yields(x) in ("state", "number") and x.kind not in LATCHES and not phase:
            b.tried(partial(logic, b, made, x))
    latches(b, made, [x for x in entries if x.kind in LATCHES])
    sequences(b, made, [x for x in entries if x.kind.startswith("phase ")])


def _asked(entries: tuple[Entry, ...]) -> set[int]:
    """Announcements that an entry asks about, where the rule has others beside them."""
    asked: set[int] = set()
    for x in entries:
        for f in x.fields:
            value = read(f.value, f.kind) if f.kind == "state" else None
            if isinstance(value, m.Speaks):
                asked.add(value.entry)
    place = {x.number: x.names[:1] for x in entries if yields(x) == "announcement"}
    several = [p for n, p in place.items()]
    return {n for n in asked if several.count(place.get(n, ())) > 1}


def _whole(
    b: Back, made: Made, put: Put, channels: Mapping[str, Channel], sensors: Mapping[str, Any], lost: frozenset[str]
) -> RuleSet:
    r = b.rules
    spoken = {f"entry_{n}": name for n, name in put.where.items()}
    signals = [*made.signals, *_more_names(b)]
    there: set[str] = set()
    for things in (signals, made.values, made.samples, made.latches, made.counters):
        there |= names_of(things)
    there |= {f"{s.name}.{p.name}" for s in put.sequences for p in s.phases}
    kept = [x for x in r.signals if x.name not in there and x.name not in lost]
    rules, sequences_ = [*put.rules], [*put.sequences]
    told = names_of(rules) | names_of(sequences_)
    rules += [Rule(x.name, x.condition, (), span=x.span) for x in r.rules if x.name not in told]
    for s in r.sequences:
        if s.name not in told:
            phases = [f"{s.name}.{p.name}" for p in s.phases]
            if not there & set(phases) and not lost & set(phases):
                sequences_.append(replace(s, phases=tuple(replace(p, actions=()) for p in s.phases)))
                continue
            signals += [
                NamedSignalDefinition(n, e.AnyOf((), span=s.span), span=s.span) for n in phases if n not in there
            ]
            rules.append(Rule(s.name, s.condition, (), span=s.span))
    gone = lost - there
    span = r.cycle.span
    never = sorted(gone & (names_of(r.signals) | names_of(r.latches)))
    signals += [NamedSignalDefinition(name, e.AnyOf((), span=span), span=span) for name in never]
    zero = sorted(gone & (names_of(r.values) | names_of(r.samples) | names_of(r.counters)))
    values = [NamedValue(name, e.Constant(Fraction(0), NO_UNIT, span=span), NO_UNIT, span=span) for name in zero]

    def others(mine: Iterable[X]) -> list[X]:
        return [x for x in mine if cast(Any, x).name not in there | lost]

    names = {k: tuple(v) for k, v in put.owners.items() if v != [k]}
    return replace(
        r,
        channels=tuple(channels.get(c.name, c) for c in r.channels),
        sensors=tuple(sensors.get(s.name, s) for s in r.sensors),
        signals=_renamed(_announced(tuple(signals), spoken), {}) + _renamed(tuple(kept), names),
        values=(*made.values, *values, *others(r.values)),
        samples=(*_announced(tuple(made.samples), spoken), *_renamed(tuple(others(r.samples)), names)),
        latches=(*_announced(tuple(made.latches), spoken), *_renamed(tuple(others(r.latches)), names)),
        counters=(*_announced(tuple(made.counters), spoken), *_renamed(tuple(others(r.counters)), names)),
        rules=_announced(tuple(rules), spoken),
        sequences=_announced(tuple(sequences_), spoken),
        precedences=tuple(put.precedences),
        claims=_renamed(r.claims, names),
        assumptions=_renamed(r.assumptions, names),
        roles=_renamed(r.roles, names),
    )


def names_of(things: Iterable[object]) -> set[str]:
    return {cast(Any, x).name for x in things}


def _more_names(b: Back) -> list[NamedSignalDefinition]:
    """Two names for one entry."""
    out = []
    for x in b.entries.values():
        if yields(x) == "state":
            span = b.span(x)
            meant = e.NamedSignal(b.name(x.number), span=span)
            out += [NamedSignalDefinition(n, meant, span=span) for n in x.names[1:]]
    return out


def _announced(x: X, spoken: Mapping[str, str]) -> X:
    """`entry_50.announced`, by the name of the rule that the announcement now stands in."""
    names = {f"{entry}.announced": (f"{name}.announced",) for entry, name in spoken.items()}
    return cast(X, _changed(x, names)) if names else x


def _renamed(x: X, names: Mapping[str, tuple[str, ...]]) -> X:
    """What is asked of a rule that is now several: of any of them."""
    meant = {f"{old}.{kind}": tuple(f"{n}.{kind}" for n in new) for old, new in names.items() for kind in TOLD}
    meant |= {f"{old}.acting": tuple(f"{n}.acting" for n in new) for old, new in names.items()}
    return cast(X, _changed(x, meant)) if meant else x


def _changed(x: object, names: Mapping[str, tuple[str, ...]]) -> object:
    match x:
        case e.NamedSignal(name=name) if name in names:
            several = tuple(e.NamedSignal(n, span=x.span) for n in names[name])
            return several[0] if len(several) == 1 else e.AnyOf(several, span=x.span)
        case tuple():
            return tuple(_changed(y, names) for y in x)
        case _ if is_dataclass(x) and not isinstance(x, type):
            inside = {f.name: getattr(x, f.name) for f in fields(x) if f.name != "span"}
            changed: dict[str, Any] = {k: _changed(v, names) for k, v in inside.items()}
            return replace(x, **changed) if any(changed[k] is not inside[k] for k in inside) else x
        case _:
            return x
