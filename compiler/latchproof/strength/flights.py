"""Runs that are kept: what the world did in a trace, to be flown again with other rules."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from latchproof.machine.model import Input, Machine, Property
from latchproof.prove.verdicts import Trace, Verdict
from latchproof.rules.model import Can, StartsAtMost, StepOf
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, Record, World
from latchproof.run.judge import judge
from latchproof.run.program import Exact


@dataclass(frozen=True, slots=True)
class Flight:
    """`parameters`: tunes and fact spans; `start`: memory that may start with anything."""

    parameters: Mapping[str, Fraction]
    start: Mapping[str, Exact]
    world: tuple[World, ...]


def flight(trace: Trace) -> Flight:
    return Flight(trace.parameters, trace.start, trace.world)


def flights(verdicts: Iterable[Verdict]) -> tuple[Flight, ...]:
    return tuple(flight(v.trace) for v in verdicts if v.trace is not None)


def flown(machine: Machine, f: Flight) -> tuple[Record, ...]:
    """The run with these rules, up to the first cycle in which it goes against a fact. Inputs that the flight says
    nothing about stay at rest."""
    records = Interpreter(machine).run(completed(machine, f), f.parameters, f.start)
    stop = next((k for k, r in enumerate(records) if r.violated), len(records))
    return records[:stop]


def completed(machine: Machine, f: Flight) -> tuple[World, ...]:
    """What the world does, with a value for every input."""
    rest = {i.name: _rest(i) for i in (*machine.inputs, *machine.picks)}
    return tuple(World(w.dt, {name: w.inputs.get(name, still) for name, still in rest.items()}) for w in f.world)


def kept_arriving(machine: Machine, f: Flight) -> Flight:
    """The same with a frame of each sensor in every cycle: where there was none, one as near to the truth (or else to
    what was shown) as the sensor can show it."""
    world, now = [], dict(f.start)
    for w in f.world:
        inputs = dict(w.inputs)
        for i in machine.inputs:
            sensor, _, kind = i.name.partition("@")
            if kind != "reading" or i.low is None or i.high is None:
                continue
            if w.inputs.get(f"{sensor}@frame") and i.name in w.inputs:
                now[f"{sensor}@last"] = w.inputs[i.name]
                continue
            shown = now.get(f"{sensor}@last", _rest(i))
            near = Fraction(w.inputs.get(f"{sensor}@truth", shown))
            if i.grid:
                near = i.low + round((near - i.low) / i.grid) * i.grid
            inputs[i.name] = min(max(near, i.low), i.high)
            inputs[f"{sensor}@frame"] = True
        world.append(World(w.dt, inputs))
    return Flight(f.parameters, f.start, tuple(world))


def reached(machine: Machine, f: Flight) -> frozenset[str]:
    """Names of the machine's properties that the flight settles: a claim broken, or what can happen seen to happen."""
    records = flown(machine, f)
    if not records:
        return frozenset()
    claims = {c.name: c for c in machine.rules.claims}
    found = set()
    for p in machine.properties:
        claim, limit = claims.get(p.name), _arrived(machine, p, records)
        if claim is not None and isinstance(claim.form, StartsAtMost | StepOf):
            seen = limit and judge(claim, Reader(machine, records[:limit], f.parameters)) is not None
        else:
            seen = any(p.name in r.broken for r in records[:limit])
        if seen:
            found.add(p.name)
    return frozenset(found)


def is_can(machine: Machine, name: str) -> bool:
    return any(c.name == name and isinstance(c.form, Can) for c in machine.rules.claims)


def _arrived(machine: Machine, p: Property, records: tuple[Record, ...]) -> int:
    """How many cycles keep to what the claim takes for granted about frames."""
    names = {c.why.removesuffix(" keeps arriving") for c in p.arriving}
    count = len(records)
    for s in machine.rules.sensors:
        if s.name not in names or s.frame_every is None:
            continue
        for k, r in enumerate(records[:count]):
            late = Fraction(r.after.get(f"{s.name}@since", 0)) > s.frame_every
            if late and not r.inputs.get(f"{s.name}@frame", True):
                count = k
                break
    return count


def _rest(i: Input) -> Exact:
    if i.sort == "bool" or i.low is None or i.high is None:
        return False
    return min(max(Fraction(0), i.low), i.high)
