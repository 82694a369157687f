"""What a verdict stands on: the facts of the world in the claim's cone, measured ones and assumed ones."""

from dataclasses import dataclass

from latchproof.machine.cone import System
from latchproof.machine.model import Machine, Property
from latchproof.machine.terms import variables
from latchproof.rules.model import Basis


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that a verdict rests on; `subject` is what it is about, `what` which of its facts."""

    subject: str
    what: str
    basis: Basis | None


def assumed_facts(machine: Machine, property_: Property, system: System) -> tuple[Fact, ...]:
    names = {s.name for s in system.states} | {i.name for i in system.inputs}
    rules = machine.rules
    facts = [Fact("cycle", "cycle", rules.cycle.basis)]
    facts += _of_the_device(machine, system)
    arriving = {c.why.removesuffix(" keeps arriving") for c in property_.arriving}
    whys = {c.why for c in system.constraints}
    for s in rules.sensors:
        if not any(n.partition("@")[0] == s.name for n in names if "@" in n):
            continue
        bases = dict(s.bases)
        used = ["reads", "stale_after", "keeps_value", "reads_value"]
        if f"change of {s.name}" in whys:
            used += ["changes", "error", "step", "lag"]
        if s.name in arriving:
            used.append("frame_every")
        facts += [Fact(s.name, what, bases[what]) for what in used if what in bases]
        if s.name in arriving and "frame_every" not in bases:
            facts.append(Fact(s.name, "frame_every", None))
    for f in rules.facts:
        if f.name in {p.name for p in system.parameters}:
            facts.append(Fact(f.name, "fact", f.basis))
    for a in rules.assumptions:
        if f"assumption {a.name}" in whys:
            facts.append(Fact(a.name, "assumption", a.basis))
    return tuple(facts)


def _of_the_device(machine: Machine, system: System) -> list[Fact]:
    """What the file says about the transmitter, as far as it has a say. That it may start with anything is no fact that
    a verdict could rest on."""
    device = machine.rules.device
    if device.span is None:
        return []
    bases = dict(device.bases)
    used = ["device_reads"] + (["starts"] if device.starts == "reset" else [])
    if device.pulse is not None and variables((machine.definitions[device.pulse.name],)) & {
        s.name for s in system.states
    }:
        used.append("gives")
    if any(c.why.startswith("first frame of ") for c in system.constraints):
        used.append("first_frame")
    return [Fact("device", what, bases.get(what)) for what in used]
