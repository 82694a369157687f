"""What has changed since an earlier version of the rules, or of the transmitter's description, and which checks that
makes void: by computation, as far as there is one."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from typing import Literal

from latchproof.listing import plain
from latchproof.listing.model import Entry, Listing
from latchproof.readback.equal import Compared, Differ, Equal
from latchproof.readback.pinned import fixed, pinned
from latchproof.rules.expressions import Constant
from latchproof.rules.model import RuleSet

Key = tuple[object, ...]
Check = Literal["read-back", "bench test", "failsafe and range", "first flight", "the proofs", "officer's page"]
CHECKS: tuple[Check, ...] = (
    "the proofs", "read-back", "bench test", "failsafe and range", "first flight", "officer's page",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Version:
    """Rules as written, the same as they stand in the transmitter (numbers rounded, tunes at their values), and the
    listing of those."""

    rules: RuleSet
    entered: RuleSet
    listing: Listing


@dataclass(frozen=True, slots=True)
class Voided:
    check: Check
    why: tuple[str, ...]
    """Empty: it stands."""

    @property
    def void(self) -> bool:
        return bool(self.why)


@dataclass(frozen=True, slots=True)
class Since:
    """`same`: what came of comparing what the two do; None if they cannot be compared, because the world that they
    see is another one (`apart` says in what)."""

    same: Compared | None
    apart: tuple[str, ...]
    entries: tuple[str, ...]
    said: str
    voided: tuple[Voided, ...]


def retuned(old: RuleSet, new: RuleSet) -> RuleSet | None:
    """The old rules with the new numbers in their tunes; None if one of them lies outside the range that the old
    proofs cover, or if there is no such tune."""
    there = {t.name: t for t in old.tunes}
    values = {t.name: t.value for t in new.tunes}
    if there.keys() != values.keys():
        return None
    if any(not t.low <= values[t.name] <= t.high or (t.steps and values[t.name] not in t.steps) for t in old.tunes):
        return None
    return replace(old, tunes=tuple(replace(t, value=values[t.name]) for t in old.tunes))


def world_apart(old: RuleSet, new: RuleSet) -> tuple[str, ...]:
    """What is different in what the rules see: then there is nothing to compare them by."""
    names = {
        "the switches": "switches", "the buttons": "buttons", "the sticks and knobs": "controls",
        "the sensors": "sensors",
    }  # fmt: skip
    found = [said for said, name in names.items() if _seen(old, name) != _seen(new, name)]
    channels = [(c.name, c.unit) for c in old.channels], [(c.name, c.unit) for c in new.channels]
    if sorted(map(repr, channels[0])) != sorted(map(repr, channels[1])):
        found.append("the channels")
    if (old.cycle.shortest, old.cycle.longest) != (new.cycle.shortest, new.cycle.longest):
        found.append("the times of a pass")
    return tuple(found)


def _seen(rules: RuleSet, name: str) -> list[str]:
    """Without where the numbers come from."""
    bare = [replace(x, bases=()) if any(f.name == "bases" for f in fields(x)) else x for x in getattr(rules, name)]
    return sorted(map(repr, bare))


def at_its_numbers(rules: RuleSet) -> RuleSet:
    """The rules with every tune and fact as the number that it is, so that nothing is compared by its name."""
    rules = pinned(rules)
    numbers = {x.name: Constant(x.value, x.unit, span=x.span) for x in rules.tunes}
    numbers |= {x.name: Constant(x.low, x.unit, span=x.span) for x in rules.facts if x.low == x.high}
    logic = ("values", "samples", "signals", "latches", "counters", "rules", "sequences", "channels")
    made = replace(rules, **{name: fixed(getattr(rules, name), numbers) for name in logic})
    return replace(made, tunes=(), facts=(), requires=(), claims=(), assumptions=(), accepted=(), stages=())


def since(old: Version, new: Version, same: Compared | None, tuned: Compared | None = None) -> Since:
    """`tuned`: what came of comparing the old rules at the new numbers with the new ones, where `retuned` has any."""
    apart = world_apart(old.rules, new.rules)
    entries = tuple(_entries(old.listing, new.listing))
    acting = [text for kind, text in entries if kind in ("action", "channel", "sequence")]
    region = tuple(_region(old.rules, new.rules))
    behaves: tuple[str, ...] = ()
    match same:
        case None:
            said = f"They cannot be compared: {_and(apart)} are not the same."
            behaves = tuple(f"{x} changed" for x in apart)
        case Equal():
            said = ("Both are PROVED to do exactly the same, in every cycle, at the numbers in them, on a transmitter "
                    "whose entries read this pass.")  # fmt: skip
        case Differ(outputs=outputs) if isinstance(tuned, Equal):
            said = f"Only numbers moved, inside the ranges that are proved; they differ at {_what(outputs)}."
        case Differ(outputs=outputs):
            said = f"They do NOT do the same: there is a flight in which they differ at {_what(outputs)}."
            behaves = (f"what is done is different, at {_what(outputs)}",)
        case _:
            said = f"NOT DECIDED whether they do the same: {same.reason}."
            behaves = ("not decided whether the same is done",)
    texts = tuple(text for _, text in entries)
    changed = tuple(f"{len(acting)} of the entries that act changed" for _ in acting[:1])
    flight = (*behaves, *changed, *region)
    why: dict[Check, tuple[str, ...]] = {
        "the proofs": (*behaves, *region),
        "read-back": texts,
        "bench test": tuple(f"{len(texts)} {'entry' if len(texts) == 1 else 'entries'} changed" for _ in texts[:1])
        or behaves,
        "failsafe and range": tuple(_failsafe(old, new)),
        "first flight": flight,
        "officer's page": ("what it says is not so any more",) if flight or texts else (),
    }
    return Since(same, apart, texts, said, tuple(Voided(c, why[c]) for c in CHECKS))


def _what(outputs: tuple[str, ...]) -> str:
    """Channels by their names; announcements together, since they have names only inside the comparison."""
    seen = [plain.word(o) for o in outputs if "." not in o]
    return _and((*seen, *["what is heard"][: len(outputs) > len(seen)])) or "something"


def _and(several: tuple[str, ...]) -> str:
    return " and ".join(", ".join(several).rsplit(", ", 1))


# ---------- what is entered


def _entries(old: Listing, new: Listing) -> Iterator[tuple[str, str]]:
    """Entries that are new, gone or changed, with their section; that one is only numbered otherwise counts as well,
    since what reads it is then typed anew."""
    before, after = _by_name(old), _by_name(new)
    renamed = _by_place(before, after)
    for key, entry in after.items():
        was = before.get(renamed.get(key, key))
        if was is None:
            yield entry.section, f"entry {entry.number} is new ({entry.purpose})"
        elif changes := tuple(_fields(was, entry)):
            yield entry.section, f"entry {entry.number} ({entry.purpose}): {'; '.join(changes)}"
        elif was.purpose != entry.purpose:
            yield entry.section, f"entry {entry.number} is now for something else ({entry.purpose})"
    for key, entry in before.items():
        if key not in after and key not in renamed.values():
            yield entry.section, f"the old entry {entry.number} is gone ({entry.purpose})"


def _by_place(before: dict[Key, Entry], after: dict[Key, Entry]) -> dict[Key, Key]:
    """A purpose may tell a number that changed: an entry of the same kind, names and number is then the same one."""
    gone = {(e.section, e.kind, e.names, e.number): key for key, e in before.items() if key not in after}
    places = {key: (e.section, e.kind, e.names, e.number) for key, e in after.items() if key not in before}
    return {key: gone[place] for key, place in places.items() if place in gone}


def _by_name(x: Listing) -> dict[Key, Entry]:
    """What an entry is for tells it again; several of one purpose are told apart by their order."""
    found: dict[Key, Entry] = {}
    for e in x.entries:
        at = 0
        while (key := (e.section, e.purpose, at)) in found:
            at += 1
        found[key] = e
    return found


def _fields(was: Entry, now: Entry) -> Iterator[str]:
    old = {f.label: f.value for f in was.fields}
    new = {f.label: f.value for f in now.fields}
    if was.kind != now.kind:
        yield f"it was {was.kind}, now {now.kind}"
    if was.number != now.number:
        yield f"it was number {was.number}"
    for label in dict.fromkeys((*old, *new)):
        if old.get(label) != new.get(label):
            yield f'"{label}" was {old.get(label, "not there")}, now {new.get(label, "not there")}'


# ---------- what the proofs speak of


def _region(old: RuleSet, new: RuleSet) -> Iterator[str]:
    for t in new.tunes:
        was = next((x for x in old.tunes if x.name == t.name), None)
        if was is None or (was.low, was.high, was.steps) != (t.low, t.high, t.steps):
            yield f"the range of {plain.word(t.name)} changed"
    facts = {f.name: (f.low, f.high) for f in old.facts}
    for f in new.facts:
        if facts.get(f.name) != (f.low, f.high):
            yield f"the fact {plain.word(f.name)} changed"
    for s in new.sensors:
        was_ = next((x for x in old.sensors if x.name == s.name), None)
        if was_ is None or replace(was_, bases=()) != replace(s, bases=()):
            yield f"what is known of the sensor {plain.word(s.name)} changed"
    if replace(old.device, bases=()) != replace(new.device, bases=()):
        yield "how the transmitter works through its entries changed"
    if (old.cycle.shortest, old.cycle.longest) != (new.cycle.shortest, new.cycle.longest):
        yield "the time of a pass changed"
    for name, said in (("assumptions", "what is assumed of the world"), ("requires", "what the numbers must keep")):
        if getattr(old, name) != getattr(new, name):
            yield f"{said} changed"
    kept = {(c.form, c.scope, c.arriving) for c in new.claims}
    gone = [c.name for c in old.claims if (c.form, c.scope, c.arriving) not in kept]
    for name in gone:
        yield f"the promise {plain.word(name)} is gone or says something else"


def _failsafe(old: Version, new: Version) -> Iterator[str]:
    was = {c.name: c for c in old.rules.channels}
    for c in new.rules.channels:
        x = was.get(c.name)
        parts = ("number", "low", "high", "rests", "directions")
        if x is None or any(getattr(x, p) != getattr(c, p) for p in parts):
            yield f"the channel {plain.word(c.name)} is new or changed"
    for name in was.keys() - {c.name for c in new.rules.channels}:
        yield f"the channel {plain.word(name)} is gone"
