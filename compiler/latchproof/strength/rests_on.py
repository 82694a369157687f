"""What a proof rests on: the rules and facts without which its invariant no longer proves the claim.

One element after the other is let loose: a signal or latch that may be anything in every cycle, a channel that follows
anything, a fact that is not there. While the old invariant still passes its three checks, the element was not needed.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial

from latchproof.machine.compile import compile_rules
from latchproof.machine.cone import cone
from latchproof.machine.flat import FlatSystem, flatten
from latchproof.machine.model import Machine
from latchproof.prove.tasks import Recheck
from latchproof.prove.verdicts import Certificate, Verdict
from latchproof.prove.workers import Workers
from latchproof.rules import expressions as e
from latchproof.rules.model import (
    Action,
    Announce,
    Button,
    Channel,
    Control,
    Drive,
    Move,
    NamedSignalDefinition,
    RuleSet,
)
from latchproof.strength.alike import system_key

Loosened = Callable[[RuleSet], RuleSet]
ANYTHING = "anything "
"""Put before the name of what is let loose; no name in a rule file has a space."""


@dataclass(frozen=True, slots=True)
class Part:
    """One thing that may be let loose, by the name it has in the file."""

    name: str
    loosened: Loosened


def rests_on(machine: Machine, verdict: Verdict, workers: Workers, seconds: float) -> tuple[str, ...] | None:
    """Names as in the file, outputs first; none of them can be spared. None where the answer is no proof, or it cannot
    be told."""
    if verdict.certificate is None:
        return None
    rules = machine.rules
    flat = _question(rules, verdict.claim, verdict.certificate)
    if flat is None or not _holds(flat, verdict.certificate, workers, seconds):
        return None
    needed = []
    for part in _parts(rules):
        without = part.loosened(rules)
        loose = _question(without, verdict.claim, verdict.certificate)
        if loose is None:
            needed.append(part.name)
        elif system_key(loose) == system_key(flat) or _holds(loose, verdict.certificate, workers, seconds):
            rules, flat = without, loose
        else:
            needed.append(part.name)
    return tuple(needed)


def _question(rules: RuleSet, claim: str, certificate: Certificate) -> FlatSystem | None:
    machine, _ = compile_rules(rules)
    property_ = None if machine is None else next((p for p in machine.properties if p.name == claim), None)
    if machine is None or property_ is None:
        return None
    return flatten(cone(machine, property_, facts=certificate.facts))


def _holds(flat: FlatSystem, certificate: Certificate, workers: Workers, seconds: float) -> bool:
    return workers.run(Recheck(flat, certificate.invariant), seconds) is True


def _parts(rules: RuleSet) -> Iterator[Part]:
    """Outputs first: what only they need then falls away."""
    yield from (Part(r.name, partial(_rule, name=r.name)) for r in rules.rules)
    yield from (Part(s.name, partial(_sequence, name=s.name)) for s in rules.sequences)
    yield from (Part(x.name, partial(_latch, name=x.name)) for x in rules.latches)
    yield from (Part(s.name, partial(_signal, name=s.name)) for s in rules.signals)
    yield from (Part(f"assumption {a.name}", partial(_assumption, name=a.name)) for a in rules.assumptions)
    yield from (
        Part(f"how fast {s.name} changes", partial(_change, name=s.name)) for s in rules.sensors if s.change is not None
    )
    yield from (Part(f"require {r.text}", partial(_require, text=r.text)) for r in rules.requires)


def _free(rules: RuleSet, name: str, x: e.Located) -> tuple[RuleSet, e.Signal]:
    """A signal that may be anything in every cycle."""
    button = Button(ANYTHING + name, span=x.span)
    return replace(rules, buttons=(*rules.buttons, button)), e.Pressed(button.name, span=x.span)


def _signal(rules: RuleSet, name: str) -> RuleSet:
    found = next(s for s in rules.signals if s.name == name)
    rules, free = _free(rules, name, found)
    return replace(rules, signals=tuple(replace(s, signal=free) if s.name == name else s for s in rules.signals))


def _latch(rules: RuleSet, name: str) -> RuleSet:
    found = next(x for x in rules.latches if x.name == name)
    rules, free = _free(rules, name, found)
    signal = NamedSignalDefinition(name, free, span=found.span)
    latches = tuple(x for x in rules.latches if x.name != name)
    return replace(rules, latches=latches, signals=(*rules.signals, signal))


def _rule(rules: RuleSet, name: str) -> RuleSet:
    found = next(r for r in rules.rules if r.name == name)
    rules, free = _free(rules, name, found)
    rules, actions = _any_amounts(rules, name, found.actions)
    loose = replace(found, condition=free, actions=actions)
    return replace(rules, rules=tuple(loose if r.name == name else r for r in rules.rules))


def _sequence(rules: RuleSet, name: str) -> RuleSet:
    found = next(s for s in rules.sequences if s.name == name)
    rules, free = _free(rules, name, found)
    phases = []
    for p in found.phases:
        rules, actions = _any_amounts(rules, f"{name}.{p.name}", p.actions)
        phases.append(replace(p, actions=actions))
    loose = replace(found, condition=free, phases=tuple(phases))
    return replace(rules, sequences=tuple(loose if s.name == name else s for s in rules.sequences))


def _any_amounts(rules: RuleSet, name: str, actions: tuple[Action, ...]) -> tuple[RuleSet, tuple[Action, ...]]:
    """The same actions with amounts that may be anything in the range of what they act on, in every cycle."""
    loose: list[Action] = []
    several: tuple[Channel | Control, ...] = (*rules.channels, *rules.controls)
    owners = {c.name: c for c in several}
    for k, a in enumerate(actions):
        if isinstance(a, Announce):
            loose.append(a)
            continue
        owner = owners[a.channel]
        low = owner.low * 0 if isinstance(a, Move) else owner.low
        high = owner.high - owner.low if isinstance(a, Move) else owner.high
        control = Control("stick", f"{ANYTHING}{name} {k}", low, high, owner.unit, span=a.span)
        rules = replace(rules, controls=(*rules.controls, control))
        amount = e.Held(control.name, span=a.span)
        loose.append(replace(a, target=amount) if isinstance(a, Drive) else replace(a, amount=amount))
    return rules, tuple(loose)


def _change(rules: RuleSet, name: str) -> RuleSet:
    return replace(rules, sensors=tuple(replace(s, change=None) if s.name == name else s for s in rules.sensors))


def _assumption(rules: RuleSet, name: str) -> RuleSet:
    return replace(rules, assumptions=tuple(a for a in rules.assumptions if a.name != name))


def _require(rules: RuleSet, text: str) -> RuleSet:
    return replace(rules, requires=tuple(r for r in rules.requires if r.text != text))
