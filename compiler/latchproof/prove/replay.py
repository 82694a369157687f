"""A found path made of ordinary cycles and run through the exact interpreter. Only what replays is ever shown."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from math import ceil, floor, inf
from time import monotonic

from latchproof.machine.cone import restrict
from latchproof.machine.model import Input, Machine, Property
from latchproof.machine.reads import names_in
from latchproof.machine.sensors import reading_error
from latchproof.prove.found import Found, Stretch
from latchproof.prove.verdicts import Moment, Trace
from latchproof.rules.model import Claim, Cycle
from latchproof.run.expressions import Reader
from latchproof.run.interpreter import Interpreter, Record, World, valid_inputs, valid_parameters, valid_start
from latchproof.run.judge import judge
from latchproof.run.program import Exact

MOST_CYCLES = 200_000
AFTERWARDS = 2
"""Cycles that the last inputs are kept on: a value that repeats another comes one cycle later than a hold makes
believe."""


@dataclass(frozen=True, slots=True)
class Replayed:
    """The trace, or why the path is none."""

    trace: Trace | None
    reason: str = ""


class LateError(Exception):
    """The time for a replay is over."""


def replay(machine: Machine, property_: Property, claim: Claim | None, found: Found, deadline: float = inf) -> Replayed:
    """Tries the ways of filling waits with frames in turn; the first that the interpreter confirms is the trace.

    A reading that travels during a wait is shown once, at its end, if that will do; else in every cycle. `deadline` is
    a time of the monotonic clock, after which no more cycles are run.
    """
    assert found.stretches is not None
    names = frozenset() if claim is None else names_in((claim.form, claim.scope))
    part = restrict(machine, property_, names)
    reason = ""
    for every_cycle in (False, True):
        try:
            made = _replay(part, property_, claim, found, deadline, every_cycle=every_cycle)
        except LateError:
            return Replayed(None, "the time for running it was over")
        if made.trace is not None:
            return made
        reason = reason or made.reason
    return Replayed(None, reason)


def _until(deadline: float, world: Iterable[World]) -> Iterator[World]:
    for one in world:
        if monotonic() > deadline:
            raise LateError
        yield one


def _replay(
    part: Machine, property_: Property, claim: Claim | None, found: Found, deadline: float, *, every_cycle: bool
) -> Replayed:
    assert found.stretches is not None
    parameters, interpreter = found.parameters or {}, Interpreter(part)
    power_up = interpreter.start(parameters, found.start or {})
    start = {s.name: power_up[s.name] for s in (*part.states, *part.watching) if s.initial is None}
    longest = part.rules.cycle.longest
    if sum(1 + ceil(s.wait / longest) for s in found.stretches) > MOST_CYCLES:
        return Replayed(None, f"the path takes more than {MOST_CYCLES} cycles")
    arriving = frozenset(c.why.removesuffix(" keeps arriving") for c in property_.arriving)
    pieces = list(_expand(part, found.stretches, start, arriving, deadline, every_cycle=every_cycle))
    pieces[-1] += [pieces[-1][-1]] * AFTERWARDS
    world = _unheard_at_first(part, tuple(chain.from_iterable(pieces)))
    wrong = valid_parameters(part, parameters)
    wrong += tuple(w for one in _until(deadline, world) for w in valid_inputs(part, one))
    wrong += valid_start(part, parameters, power_up)
    if wrong:
        return Replayed(None, f"not a valid input: {wrong[0]}")
    if any(_off_its_steps(part.inputs, one) for one in world):
        return Replayed(None, "a reading lies between two steps of its sensor")
    records = interpreter.run(_until(deadline, world), parameters, start)
    reached = next((k for k, r in enumerate(records) if property_.name in r.broken), None)
    if reached is not None:
        records, world = records[: reached + 1], world[: reached + 1]
    if broken := next((why for r in records for why in r.violated), None):
        return Replayed(None, f"it breaks a fact: {broken}")
    if broken := next((why for r in records for why in _unarrived(part, property_, r)), None):
        return Replayed(None, f"it breaks what the claim takes for granted: {broken}")
    if reached is None:
        return Replayed(None, "the interpreter does not reach the goal on it")
    since = reached
    if claim is not None:
        finding = judge(claim, Reader(part, records, parameters))
        if finding is None:
            return Replayed(None, "read directly, the claim holds on it")
        since = finding.since
        records, world = records[: finding.cycle + 1], world[: finding.cycle + 1]
    return Replayed(Trace(parameters, start, world, records, _moments(pieces, len(records)), since))


def _unheard_at_first(part: Machine, world: tuple[World, ...]) -> tuple[World, ...]:
    """What fills a path in lets no frame arrive earlier than the device does."""
    first = part.rules.device.no_frame_before
    if first is None:
        return world
    made, time = [], Fraction(0)
    for k, w in enumerate(world):
        time = time + w.dt if k else time
        silent = {name: False for name in w.inputs if name.endswith("@frame")} if time < first else {}
        made.append(World(w.dt, {**w.inputs, **silent}))
    return tuple(made)


def _off_its_steps(inputs: tuple[Input, ...], one: World) -> bool:
    """A frame arrives with a reading that the sensor cannot show."""
    return any(
        ((one.inputs[i.name] - i.low) / i.grid).denominator != 1
        for i in inputs
        if i.grid is not None and i.low is not None and one.inputs[f"{i.name.partition('@')[0]}@frame"]
    )


def _unarrived(part: Machine, property_: Property, r: Record) -> Iterator[str]:
    """Sensors that were to keep arriving and did not, in this cycle. One outside the claim's cone cannot matter."""
    for c in property_.arriving:
        sensor = next(s for s in part.rules.sensors if c.why.startswith(f"{s.name} "))
        assert sensor.frame_every is not None
        since = Fraction(r.after.get(f"{sensor.name}@since", 0))
        waits = (part.rules.device.no_frame_before or 0) + sensor.frame_every
        unheard = not r.after.get(f"{sensor.name}@heard_before", True) and r.time <= waits
        if not r.inputs.get(f"{sensor.name}@frame", True) and since > sensor.frame_every and not unheard:
            yield c.why


def _moments(pieces: list[list[World]], cycles: int) -> tuple[Moment, ...]:
    moments, first = [], 0
    for piece in pieces:
        if first >= cycles:
            break
        moments.append(Moment(first, min(len(piece), cycles - first)))
        first += len(piece)
    return tuple(moments)


def _expand(
    part: Machine,
    stretches: tuple[Stretch, ...],
    start: Mapping[str, Exact],
    arriving: frozenset[str],
    deadline: float,
    *,
    every_cycle: bool,
) -> Iterator[list[World]]:
    now = _resting(part, start)
    inputs = (*part.inputs, *part.picks)
    errors = {s.name: reading_error(s) for s in part.rules.sensors if s.change is not None}
    for stretch in stretches:
        first = {**_idle(inputs, now, arriving), **stretch.inputs}
        piece = [World(stretch.dt, first)]
        now = _seen(now, first)
        if stretch.wait:
            last = {**_idle(inputs, now, arriving), **stretch.meanwhile}
            elapsed = Fraction(0)
            for dt in _cycles(part.rules.cycle, stretch.wait):
                if monotonic() > deadline:
                    raise LateError
                elapsed += dt
                between = _between(inputs, now, last, elapsed / stretch.wait, errors, every_cycle=every_cycle)
                piece.append(World(dt, between))
            now = _seen(now, last)
        yield piece


def _cycles(cycle: Cycle, wait: Fraction) -> list[Fraction]:
    """A wait in ordinary cycles: the longest, for round times, the last two sharing what is left; else equal ones."""
    count = ceil(wait / cycle.longest)
    if count < 2 or cycle.longest < 2 * cycle.shortest:
        return [wait / count] * count
    left = wait - (count - 2) * cycle.longest
    return [cycle.longest] * (count - 2) + [left / 2] * 2


def _resting(part: Machine, start: Mapping[str, Exact]) -> dict[str, Exact]:
    """Readings and truths at power-up, by input name."""
    now: dict[str, Exact] = {}
    for s in part.rules.sensors:
        zero = min(max(Fraction(0), s.low), s.high)
        now[f"{s.name}@reading"] = start.get(f"{s.name}@last", zero)
        now[f"{s.name}@truth"] = start.get(f"{s.name}@was", zero)
    return now


def _idle(inputs: tuple[Input, ...], now: Mapping[str, Exact], arriving: frozenset[str]) -> dict[str, Exact]:
    """A value for every input: as it was, else at rest. A sensor that keeps arriving does so with what it shows."""
    idle: dict[str, Exact] = {}
    for i in inputs:
        name, _, kind = i.name.partition("@")
        if kind in {"frame", "pick"}:
            idle[i.name] = kind == "frame" and name in arriving
        elif i.name in now:
            idle[i.name] = now[i.name]
        elif i.sort == "bool":
            idle[i.name] = False
        else:
            assert i.low is not None
            assert i.high is not None
            idle[i.name] = min(max(Fraction(0), i.low), i.high)
    return idle


def _seen(now: Mapping[str, Exact], inputs: Mapping[str, Exact]) -> dict[str, Exact]:
    """What stays in view after a cycle: all inputs, and a reading only where its frame arrived."""
    after = {**now, **inputs}
    for name in inputs:
        sensor, _, kind = name.partition("@")
        if kind == "reading" and not inputs.get(f"{sensor}@frame", False):
            after[name] = now[name]
    return after


def _between(
    inputs: tuple[Input, ...],
    now: Mapping[str, Exact],
    last: Mapping[str, Exact],
    way: Fraction,
    errors: Mapping[str, tuple[Fraction, Fraction]],
    *,
    every_cycle: bool,
) -> dict[str, Exact]:
    """The inputs at a fraction `way` of a wait: truths and readings travel in a straight line, readings on their grid
    and never further off the truth than the sensor may be (`errors`, below and above)."""
    here = dict(last)
    for i in inputs:
        sensor, _, kind = i.name.partition("@")
        if kind == "truth":
            here[i.name] = now[i.name] + (last[i.name] - now[i.name]) * way
        elif kind == "reading" and way != 1:
            moved = now[i.name] + (last[i.name] - now[i.name]) * way
            here[i.name] = _snapped(moved, i)
            if sensor in errors and f"{sensor}@truth" in last:
                truth = now[f"{sensor}@truth"] + (last[f"{sensor}@truth"] - now[f"{sensor}@truth"]) * way
                here[i.name] = _near_truth(Fraction(here[i.name]), truth, errors[sensor], i)
            if not every_cycle and last[i.name] != now[i.name]:
                here[f"{sensor}@frame"] = False
        elif kind == "pick":
            here[i.name] = False
    return here


def _near_truth(value: Fraction, truth: Fraction, error: tuple[Fraction, Fraction], i: Input) -> Fraction:
    """The value the sensor can show next to this one that is not further off the truth than it may be."""
    least, most = truth + error[0], truth + error[1]
    if i.grid and i.low is not None:
        least, most = i.low + ceil((least - i.low) / i.grid) * i.grid, i.low + floor((most - i.low) / i.grid) * i.grid
    return min(max(value, least), most)


def _snapped(value: Exact, i: Input) -> Exact:
    if not i.grid or i.low is None or i.high is None:
        return value
    snapped = i.low + round((value - i.low) / i.grid) * i.grid
    return min(max(snapped, i.low), i.high)
