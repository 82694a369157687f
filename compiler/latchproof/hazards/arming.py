"""Arming, switching on, power-up: H01 to H05."""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction

from latchproof.hazards import edits
from latchproof.hazards.causes import behind, obeys, only_stops, powers
from latchproof.hazards.flight import (
    IN_THE_AIR,
    OLD,
    engaged,
    giving_power,
    heights,
    in_the_air,
    on_readings,
    only_in_the_air,
)
from latchproof.hazards.model import Check, NotApplicable, NotNamed, Outcome, Remedy
from latchproof.hazards.promise import Names, claim, lasting, off, on, own, stale
from latchproof.hazards.remedies import forgets_old, lets_go_blind, only_while, reset_when, unused_name
from latchproof.hazards.site import Site, all_of, any_of, named, not_
from latchproof.hazards.switched import NO_SWITCH, ONLY_HANDS, acts_by_itself, arm_line, switched
from latchproof.hazards.vocabulary import fact, number
from latchproof.rules import expressions as e
from latchproof.rules.model import Before, Latch, Never, Role, Rule, RuleSet, Scope, Sensor, Sequence

AT_ONCE = Fraction(3, 10)
"""Seconds after the switch in which what happens counts as its doing. Common practice, no source."""
ANY_MEMORY = "whatever was remembered at power-up"
SILENT = "no rule but a motor's stop acts on the reading of a sensor"


def h01(site: Site) -> Iterator[Outcome]:
    """The height reads 0 in the pits, the guard means 30 m to be too low, and the switch starts the motor.

    Checked for each rule that can give a motor power: once the guard was switched on, the rule does not begin before
    the height has been fresh and more than 5 m (or `fact ground`) for 2 s. A rule that reads no height must not begin
    within 0.3 s of the switch.

    Remedy: a latch that the switch and a fresh height well above the release set, that the switch at off resets, and
    without which the rule does nothing.
    """
    rules = [x for x in site.guards if powers(site, x)]
    if not rules:
        yield NotApplicable("H01", "no rule gives a motor more power than the pilot does")
        return
    if site.arm is None:
        yield NotNamed("H01", NO_SWITCH, arm_line(site))
        return
    concerned = [x for x in rules if obeys(site, x, site.arm) or heights(site, x)]
    for x in concerned:
        begins = e.Edge("begins", giving_power(site, x), span=x.span)
        if evidence := in_the_air(site, x):
            seen, said = evidence
            form: Before | Never = Before(begins, lasting(seen, IN_THE_AIR), span=x.span)
            since = Scope("since", site.arm.signal, span=x.span)
            text = f"before ({x.name} gives power) comes ({said} for 2 s) since {on(site, site.arm)}"
            sentence = f"{x.name} gives the motor no power before the model has been seen in the air for 2 s"
        else:
            just_on = all_of(site.arm.signal, not_(lasting(site.arm.signal, AT_ONCE)))
            form, since = Never(all_of(e.Edge("begins", x.condition, span=x.span), just_on), span=x.span), None
            text = f"never {x.name} begins within 300 ms after ({on(site, site.arm)} begins)"
            sentence = f"switching the guard on does not by itself let {x.name} begin"
        made = claim(f"H01 {x.name}", sentence, text, form, scope=since)
        yield Check("H01", x.name, made, site.rules, only_in_the_air(site, x, site.arm))
    if not concerned:
        yield NotApplicable("H01", f"no rule that gives a motor power asks for {on(site, site.arm)}")


def h02(site: Site) -> Iterator[Outcome]:
    """The switch stands in the rule only. Behind it the latch comes on with the switch at off, on the ground or hours
    ago, and the moment the switch goes on the rule acts on that.

    Checked for each latch that helps to make a rule act, where the rule depends on the switch at all: with the switch
    at off the latch is off, in the same cycle.

    Remedy: `reset when` the switch is off, in the latch.
    """
    if site.arm is None:
        if acts_by_itself(site):
            yield NotNamed("H02", NO_SWITCH, arm_line(site))
        else:
            yield NotApplicable("H02", ONLY_HANDS)
        return
    latches = _helping(site, site.arm)
    if not latches:
        yield NotApplicable("H02", "no latch helps a rule to act that the switch turns on")
    for latch in latches:
        form = Never(named(latch.name, latch.span), span=latch.span)
        scope = Scope("while", not_(site.arm.signal), span=latch.span)
        text = f"never {latch.name} while {off(site, site.arm)}"
        made = claim(f"H02 {latch.name}", f"with the guard switched off {latch.name} is off", text, form, scope=scope)
        remedies = reset_when(site, latch, off(site, site.arm), on(site, site.arm))
        yield Check("H02", latch.name, made, site.rules, remedies)


def h03(site: Site) -> Iterator[Outcome]:
    """Until its first frame a sensor reads 0 or whatever it read last. The guard takes that for a height, and acts.

    Checked for each latch that such a reading can set, and each rule that compares one itself: off until the sensor
    was heard; with `fact settle`, until it was heard for so long. Rules that only stop a motor are left alone.

    Remedy: `reset when` the reading is stale: a sensor that was never heard is.
    """
    settle, names = fact(site, "settle"), Names("H03")
    for about, sensor, _ in on_readings(site):
        heard: e.Signal = e.SensorState(sensor.name, "heard", span=about.span)
        text = f"{sensor.name} is heard"
        if settle is not None:
            heard = e.Timed("for", heard, e.Duration(number(settle), span=settle.span), span=about.span)
            text = f"({text} for settle)"
        made = claim(
            names.next(about.name),
            f"{about.name} is off until {sensor.name} was heard" + (" for long enough" if settle else ""),
            f"never {about.name} while not {text}",
            Never(all_of(_on(about), not_(heard)), span=about.span),
        )
        if settle is None:
            remedies = _forgets(site, about, sensor)
        elif isinstance(about, Latch):
            remedies = reset_when(site, about, f"not {text}", text)
        else:
            remedies = only_while(site, about, text)
        yield Check("H03", about.name, made, site.rules, remedies)
    if names.unused:
        yield NotApplicable("H03", SILENT)


def h04(site: Site) -> Iterator[Outcome]:
    """Some transmitters remember at power-up which latches were on, or start with anything; or the switch was left
    on. The guard acts before anybody has touched a thing.

    Checked with everything that is remembered at any value (unless the device section says `starts reset`): no rule
    that the switch turns on begins before it was switched on; and none gives a motor power before the switch was seen
    at off, or the height was seen fresh and above 5 m (or `fact ground`) since power-up.

    Remedy: the switch in the rule itself, not only behind a delay; a reset by a signal that the device gives at
    power-up; or, if you have tried that it forgets, `device { starts reset }`.
    """
    if site.arm is None:
        if acts_by_itself(site):
            yield NotNamed("H04", NO_SWITCH, arm_line(site))
        else:
            yield NotApplicable("H04", ONLY_HANDS)
        return
    concerned = switched(site, site.arm)
    if not concerned:
        yield NotApplicable("H04", f"no rule but a motor's stop asks for {on(site, site.arm)}")
    rules, variant = _any_memory(site)
    for x in concerned:
        made = claim(
            f"H04 {x.name}",
            f"after power-up {x.name} does not begin before the guard was switched on",
            f"before ({x.name} acts) comes ({on(site, site.arm)})",
            Before(engaged(x, rules.device.starts), site.arm.signal, span=x.span),
        )
        yield Check("H04", x.name, made, rules, only_while(site, x, _gate(site.arm, site)), variant)
        if not powers(site, x):
            continue
        first, said = not_(site.arm.signal), off(site, site.arm)
        if evidence := in_the_air(site, x):
            first, said = any_of(first, evidence[0]), f"{said} or ({evidence[1]})"
        made = claim(
            f"H04 {x.name} 2",
            f"plugging in with the guard left on does not let {x.name} give the motor power",
            f"before ({x.name} gives power) comes ({said})",
            Before(giving_power(site, x), first, span=x.span),
        )
        yield Check("H04", x.name, made, rules, _forgetting(site, x), variant)


def h05(site: Site) -> Iterator[Outcome]:
    """The model has landed, the frames stopped at 61 m, and that number goes on arming the guard.

    Checked for each latch that a reading can set, and each rule that compares one itself: it does not come on in a
    cycle in which the reading is stale (`stale after`, else 2 s without a frame). A latch that only arms another one
    must also be off one cycle after the reading became stale.

    Remedy: `reset when` the reading is stale.
    """
    names = Names("H05")
    for about, sensor, sets in on_readings(site):
        old, remedies = stale(sensor, OLD, about.span), _forgets(site, about, sensor)
        others = isinstance(about, Latch) and len(sets) < len(about.sets)
        begins = e.Edge("begins", _on(about), span=about.span)
        made = claim(
            names.next(about.name),
            f"an old reading of {sensor.name} does not let {about.name} come on",
            f"never ({about.name} begins) and {sensor.name} is stale",
            Never(all_of(begins, *((any_of(*sets),) if others else ()), old), span=about.span),
        )
        yield Check("H05", about.name, made, site.rules, remedies)
        if isinstance(about, Latch) and _only_arms(site, about):
            made = claim(
                names.next(about.name),
                f"when {sensor.name} falls silent, {about.name} goes off",
                f"never {about.name} and {sensor.name} is stale and previous of ({sensor.name} is stale)",
                Never(all_of(_on(about), old, e.PreviousSignal(old, span=about.span)), span=about.span),
            )
            yield Check("H05", about.name, made, site.rules, remedies)
    if names.unused:
        yield NotApplicable("H05", SILENT)


# ---------- what they share


def _on(about: Latch | Rule | Sequence) -> e.Signal:
    return named(about.name, about.span) if isinstance(about, Latch) else about.condition


def _forgets(site: Site, about: Latch | Rule | Sequence, sensor: Sensor) -> tuple[Remedy, ...]:
    return forgets_old(site, about, [sensor]) if isinstance(about, Latch) else lets_go_blind(site, about)


def _helping(site: Site, arm: Role) -> tuple[Latch, ...]:
    """Latches that make a rule act by being on, of rules that the switch turns on."""
    return tuple(dict.fromkeys(latch for x in switched(site, arm) for latch in behind(site, x.condition).helping))


def _only_arms(site: Site, latch: Latch) -> bool:
    """No rule asks for the latch itself, only another latch does."""
    return not any(latch in behind(site, x.condition).at_once for x in site.guards if not only_stops(site, x))


def _gate(arm: Role, site: Site) -> str:
    text = on(site, arm)
    return f"({text})" if isinstance(arm.signal, e.AnyOf | e.Timed | e.Edge) else text


# ---------- power-up


def _any_memory(site: Site) -> tuple[RuleSet, str]:
    """The rules on a device that starts with anything, unless the file says how it starts."""
    device = site.rules.device
    if device.starts == "any" or _says_reset(site):
        return site.rules, ""
    return replace(site.rules, device=replace(device, starts="any")), ANY_MEMORY


def _says_reset(site: Site) -> bool:
    span = site.rules.device.span
    if span is None:
        return False
    text = re.sub(r"#[^\n]*", "", site.text(span))
    return re.search(r"\bstarts\s+reset\b", text) is not None


def _forgetting(site: Site, x: Rule | Sequence) -> tuple[Remedy, ...]:
    """The latches behind the rule are reset by a signal that the device gives; or the device is known to forget."""
    device = site.rules.device
    latches = [latch for latch in behind(site, x.condition).helping if own(latch.name)]
    pulse, changes = device.pulse.name if device.pulse else unused_name(site, "power_up"), []
    if device.pulse is None:
        gives = f"gives {pulse} for 200 ms"
        changes.append(
            edits.statement(site, f"device {{ {gives} }}")
            if device.span is None
            else edits.clause(site, e.Located(span=device.span), gives, where="device")
        )
    for latch in latches:
        changes += [c for r in reset_when(site, latch, pulse, f"not {pulse}") for c in r.edits]
    found = [Remedy("if your transmitter gives a signal at power-up, reset what it may remember", tuple(changes))]
    if device.starts != "any" and not _says_reset(site):
        line = 'starts reset  assumed "latched it, switched off and on again: it was off"'
        statement = (
            edits.statement(site, f"device {{ {line} }}")
            if device.span is None
            else edits.clause(site, e.Located(span=device.span), line, where="device")
        )
        found.append(Remedy("if you have tried that your transmitter remembers nothing, say so", (statement,)))
    return tuple(found)


CHECKS: Mapping[str, Callable[[Site], Iterator[Outcome]]] = {
    "H01": h01, "H02": h02, "H03": h03, "H04": h04, "H05": h05,
}  # fmt: skip
