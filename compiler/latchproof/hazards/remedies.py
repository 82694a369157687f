"""Changes that several hazards propose: a reset added, a condition narrowed, a line of text for a file's own names."""

from collections.abc import Iterable, Mapping

from latchproof.hazards import edits
from latchproof.hazards.causes import Behind, behind, read_by, read_in
from latchproof.hazards.model import Edit, Remedy
from latchproof.hazards.promise import and_also, kind, own, words
from latchproof.hazards.site import Site
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, Rule, Sensor, Sequence

STALE_AFTER = "stale after 2 s"


def reset_when(site: Site, latch: Latch, out: str, allowed: str) -> tuple[Remedy, ...]:
    """The latch goes off while `out`; `allowed` is the opposite."""
    if not own(latch.name):
        return ()
    return (Remedy(f"reset {latch.name} when {out}", _resets(site, latch, out, allowed)),)


def _resets(site: Site, latch: Latch, out: str, allowed: str) -> tuple[Edit, ...]:
    where = f"latch {latch.name}"
    if out in (words(site, r) for r in latch.resets) and not latch.set_wins:
        return ()
    added = (edits.clause(site, latch, f"reset when {out}", where=where),)
    if not latch.set_wins:
        return added
    return (*(edits.instead(site, s, and_also(site, s, allowed), where=where) for s in latch.sets), *added)


def only_while(site: Site, x: Rule | Sequence, text: str) -> tuple[Remedy, ...]:
    """The rule acts only while something else is so as well."""
    if not own(x.name):
        return ()
    return (Remedy(f"let {x.name} act only while {text}", (narrowed(site, x, text),)),)


def narrowed(site: Site, x: Rule | Sequence, text: str) -> Edit:
    return edits.instead(site, x.condition, and_also(site, x.condition, text), where=f"{kind(x)} {x.name}")


def forgets_old(site: Site, latch: Latch, sensors: Iterable[Sensor]) -> tuple[Remedy, ...]:
    """A silent sensor resets the latch."""
    if not own(latch.name):
        return ()
    changes: list[Edit] = []
    for s in sensors:
        changes += _dated(site, s)
        changes += _resets(site, latch, f"{s.name} is stale", f"{s.name} is fresh")
    return (Remedy(f"reset {latch.name} when the reading is stale", tuple(changes)),)


def lets_go_blind(site: Site, x: Rule | Sequence) -> tuple[Remedy, ...]:
    """A silent sensor ends the rule, and resets the latches that it reads and that the reading sets."""
    if not own(x.name):
        return ()
    sensors, where = read_in(site, x.condition), f"{kind(x)} {x.name}"
    changes: list[Edit] = [edit for s in sensors for edit in _dated(site, s)]
    asked = x.condition
    while isinstance(asked, e.Timed) and asked.kind == "extended":
        asked = asked.operand  # nothing may go on after its reason has gone
    reset, covered = set_aside(site, asked, {s.name: (f"{s.name} is stale", f"{s.name} is fresh") for s in sensors})
    changes += reset
    text = words(site, asked)
    if missing := [s for s in sensors if s.name not in covered]:
        text = and_also(site, asked, " and ".join(f"{s.name} is fresh" for s in missing))
    if text != words(site, x.condition):
        changes.append(edits.instead(site, x.condition, text, where=where))
    return (Remedy(f"end {x.name} when the reading is stale", tuple(changes)),)


def set_aside(
    site: Site, condition: e.Signal, when: Mapping[str, tuple[str, str]]
) -> tuple[tuple[Edit, ...], frozenset[str]]:
    """Resets in the latches behind a condition that a sensor's reading sets, for each sensor `when` (and its opposite)
    to reset; and the sensors for which the condition is then false without another word."""
    found = behind(site, condition)
    changes: list[Edit] = []
    for latch in (a for a in found.helping if own(a.name)):
        for name in _set_by(site, found, latch):
            if name in when:
                changes += _resets(site, latch, *when[name])
    other = any(isinstance(n, e.Timed | e.AnyOf | e.ExactlyOne | e.Not) for n in inside_named(site, condition))
    direct = {n for c in found.tests if c.latch is None for n in read_by(site, c.test)}
    at_once = {n for a in found.at_once if own(a.name) for n in _set_by(site, found, a)}
    return tuple(changes), frozenset() if other else frozenset(at_once - direct)


def _set_by(site: Site, found: Behind, latch: Latch) -> tuple[str, ...]:
    return tuple(dict.fromkeys(n for c in found.setting(latch) for n in sorted(read_by(site, c.test))))


def _dated(site: Site, sensor: Sensor) -> tuple[Edit, ...]:
    """A time after which its reading is stale, for a sensor that has none."""
    if sensor.stale_after is not None:
        return ()
    return (edits.clause(site, sensor, STALE_AFTER, where=f"sensor {sensor.name}"),)


def inside_named(site: Site, signal: e.Signal) -> list[e.Signal]:
    """The signal, what it is made of, and what the signals are made of that it names; latches are not entered."""
    found: list[e.Signal] = []
    waiting: list[e.Signal] = [signal]
    while waiting:
        x = waiting.pop()
        found.append(x)
        match x:
            case e.Not(operand=o) | e.Timed(operand=o) | e.PreviousSignal(operand=o) | e.Edge(operand=o):
                waiting.append(o)
            case e.AllOf(operands=several) | e.AnyOf(operands=several) | e.ExactlyOne(operands=several):
                waiting.extend(several)
            case e.NamedSignal(name=name) if name not in {n.name for n in found[:-1] if isinstance(n, e.NamedSignal)}:
                waiting.extend(s.signal for s in site.rules.signals if s.name == name)
            case _:
                pass
    return found


def unused_name(site: Site, wanted: str) -> str:
    """A name that the file does not have yet, like the one that is wanted."""
    rules = site.rules
    taken = {
        x.name
        for group in (
            rules.facts, rules.tunes, rules.switches, rules.buttons, rules.controls, rules.sensors, rules.channels,
            rules.values, rules.samples, rules.signals, rules.latches, rules.counters, rules.rules, rules.sequences,
        )
        for x in group
    }  # fmt: skip
    base = wanted.replace(".", "_")
    return next(n for n in (base, *(f"{base}_{i}" for i in range(2, 1000))) if n not in taken)
