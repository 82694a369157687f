"""What tells that a model flies, and which latches and rules rest on a reading."""

from collections.abc import Iterator
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind, inside, only_stops, powers, read_by, read_in, thresholds
from latchproof.hazards.model import Remedy
from latchproof.hazards.promise import amount, figure, off, on, own, stale, words
from latchproof.hazards.remedies import STALE_AFTER, narrowed, unused_name
from latchproof.hazards.site import Site, acts, all_of, any_of
from latchproof.hazards.vocabulary import fact, number
from latchproof.rules import expressions as e
from latchproof.rules.model import Latch, Role, Rule, Sensor, Sequence, Starts
from latchproof.rules.units import LENGTH

GROUND = Fraction(5)
"""Metres that a sensor may show while the model stands on the ground or is held, unless the file has `fact ground`:
what the air pressure does in an hour and the height of a person. Common practice, no source."""
IN_THE_AIR = Fraction(2)
"""Seconds above that which tell that the model flies. Common practice, no source."""
OLD = Fraction(2)
"""Seconds without a frame after which a reading is old, where the file has no `stale after`. Common practice, no
source."""
STICK_CLOSED = "2 %"


def heights(site: Site, x: Rule | Sequence) -> tuple[Sensor, ...]:
    """Sensors of height (or any length) on which the rule rests."""
    return tuple(s for s in read_in(site, x.condition) if s.unit.dimension == LENGTH)


def engaged(x: Rule | Sequence, starts: Starts) -> e.Signal:
    """What the rule asks for. On a device that starts with anything a claim has timers of its own, which start empty:
    there a rule with a timer in its condition is told by what it does."""
    timed = any(isinstance(n, e.Timed | e.Edge | e.Band | e.PreviousSignal) for n in inside(x.condition))
    return acts(x) if timed and starts == "any" else x.condition


def giving_power(site: Site, x: Rule | Sequence) -> e.Signal:
    """The rule has a say on a motor to which it can give power."""
    return any_of(*(acts(x, name) for name in powers(site, x)))


def in_the_air(site: Site, x: Rule | Sequence) -> tuple[e.Signal, str] | None:
    """A fresh height above anything that is shown on the ground, and the words for it. None if it reads no height."""
    found = heights(site, x)
    if not found:
        return None
    ground = fact(site, "ground")
    above = amount(GROUND, "m", x.span) if ground is None else number(ground)
    said = figure(GROUND, "m") if ground is None else "ground"
    tests = tuple(
        all_of(not_stale(s, x), e.Comparison(e.Reading(s.name, span=x.span), ">", above, span=x.span)) for s in found
    )
    return any_of(*tests), " or ".join(f"{s.name} is fresh and {s.name} is above {said}" for s in found)


def not_stale(sensor: Sensor, at: e.Located) -> e.Signal:
    return e.Not(stale(sensor, OLD, at.span), span=at.span)


def only_in_the_air(site: Site, x: Rule | Sequence, arm: Role) -> tuple[Remedy, ...]:
    """A latch that is set by the switch and a fresh height well above all that counts, as a gate of the rule."""
    if not own(x.name):
        return ()
    name = unused_name(site, f"{x.name}_allowed")
    found = heights(site, x)
    if not found:
        return _stick_first(site, x, arm, name)
    sensor = found[0]
    seen = f"{sensor.name} is fresh and {_high(site, x, sensor)}"
    lines = _latch(name, f"({on_both(site, arm)} and {seen}) for 2 s", off(site, arm), f"{sensor.name} is stale")
    changes = [edits.statement(site, lines), narrowed(site, x, name)]
    if sensor.stale_after is None:
        changes.append(edits.clause(site, sensor, STALE_AFTER, where=f"sensor {sensor.name}"))
    return (Remedy(f"let {x.name} act only after the model was well above, with the switch on", tuple(changes)),)


def on_both(site: Site, arm: Role) -> str:
    text = on(site, arm)
    return f"({text})" if isinstance(arm.signal, e.AnyOf | e.Timed | e.Edge | e.AllOf) else text


def _high(site: Site, x: Rule | Sequence, sensor: Sensor) -> str:
    """Higher than where it lets go, or comes in."""
    found = [t for t in thresholds(site, behind(site, x.condition).tests) if t.sensor == sensor.name]
    best = next((t for t in found if t.side == "high" and not t.cause.helps), None)
    best = best or next((t for t in found if t.side == "low" and t.cause.helps), None)
    more = figure(GROUND, "m")
    if best is None:
        return f"{sensor.name} is above {figure(2 * GROUND, 'm')}"
    return f"{sensor.name} is above {words(site, best.at)} + {more}"


def _stick_first(site: Site, x: Rule | Sequence, arm: Role, name: str) -> tuple[Remedy, ...]:
    """Without a height: the throttle must have been seen closed since the switch."""
    sticks = [
        c.source.control
        for c in site.motors
        if isinstance(c.source, e.Controlled) and (c.name in powers(site, x) or c.source.control in powers(site, x))
    ]
    if not sticks:
        return ()
    closed = f"{sticks[0]} is at most {STICK_CLOSED}"
    lines = _latch(name, f"({on_both(site, arm)} and {closed}) for 2 s", off(site, arm))
    changes = (edits.statement(site, lines), narrowed(site, x, name))
    return (Remedy(f"let {x.name} act only after the stick was closed, with the switch on", changes),)


def _latch(name: str, sets: str, *resets: str) -> str:
    return "\n".join((f"latch {name} {{", f"  set when   {sets}", *(f"  reset when {r}" for r in resets), "}"))


def on_readings(site: Site) -> Iterator[tuple[Latch | Rule | Sequence, Sensor, tuple[e.Signal, ...]]]:
    """Latches that a reading helps to set, with those clauses, and rules that compare one themselves (no clauses), as
    far as they make something act. What only stops a motor is left out."""
    done: set[tuple[str, str]] = set()
    for x in site.guards:
        if only_stops(site, x):
            continue
        found = behind(site, x.condition)
        for sensor in read_in(site, x.condition):
            for latch in found.helping:
                setting = (c for c in found.setting(latch) if sensor.name in read_by(site, c.test))
                sets = tuple(dict.fromkeys(c.clause for c in setting))
                if sets and (latch.name, sensor.name) not in done:
                    done.add((latch.name, sensor.name))
                    yield latch, sensor, tuple(s for s in sets if s is not None)
            own_tests = [c for c in found.tests if c.latch is None and c.helps and sensor.name in read_by(site, c.test)]
            if own_tests and (x.name, sensor.name) not in done:
                done.add((x.name, sensor.name))
                yield x, sensor, ()
