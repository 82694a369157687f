"""A step of the bench test played on a machine, by a person who is early or late, with readings that are off."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property
from typing import Literal

from latchproof.bench.can_do import (
    KNOB,
    Bring,
    Do,
    Hold,
    PowerCycle,
    Press,
    Setting,
    Step,
    Way,
    at_rest,
    in_place,
    moving,
    stripped,
    told,
)
from latchproof.bench.cycle import Cycle, Number, Values, at_power_up, cycle, unit_of
from latchproof.bench.hold import Memory, looked, run
from latchproof.machine.compile import compile_rules
from latchproof.machine.model import Machine
from latchproof.machine.terms import Term
from latchproof.rules.model import RuleSet

HALF = Fraction(1, 2)
LOOK = Fraction(1)
"""Seconds for which something must stand still to be read."""

MOST_KEPT = 20_000

OFF = 50
"""A stick or knob stands where it is meant to within its range divided by this."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a person does it: `early`: by how many seconds each wait is too long (or too short, if negative), in turns;
    `off`: whether readings are too low (-1), right or too high (1), in turns; `free`: what memory holds at power-up of
    which nobody knows."""

    name: str
    early: tuple[Fraction, ...]
    off: tuple[int, ...]
    free: Literal["least", "nothing", "most"] = "nothing"
    shortest: bool = False


EARLY = Manner("always half a second early", (-HALF,), (-1,), "least")
LATE = Manner("always half a second late", (HALF,), (1,), "most")
MIXED = Manner("early and late in turns", (HALF, -HALF), (0, 1, -1))
MANNERS = (EARLY, LATE, MIXED)

FINAL = (
    *MANNERS,
    Manner("as written", (Fraction(0),), (0,)),
    Manner("late and early in turns", (-HALF, HALF), (1, -1), "most"),
    Manner("now early, now late", (-HALF, -HALF, HALF, Fraction(0), HALF), (1, 1, -1, 0, -1), "least", True),
)
"""How the finished test is played: among them one with the shortest pass."""


@dataclass(frozen=True, slots=True)
class Sound:
    """What can be heard, whoever says it."""

    means: str
    text: str | None


@dataclass(frozen=True)
class Bench:
    """What there is at the bench and what is looked at. Taken from the rules as they should be."""

    rules: RuleSet
    ways: Mapping[str, Way]
    sounds: tuple[Sound, ...]
    machines: tuple[Machine, ...]

    @cached_property
    def inputs(self) -> tuple[str, ...]:
        knobs = tuple(s.name + KNOB for s in self.rules.sensors if self.ways[s.name].kind == "knob")
        return (*(i.name for i in self.machines[0].inputs), *knobs)

    @cached_property
    def unit(self) -> int | None:
        spans = [Fraction(1, 1000), self.rules.cycle.shortest, self.rules.cycle.longest]
        spans += [x / OFF for c in self.rules.controls for x in (c.low, c.high)]
        spans += [x for s in self.rules.sensors for x in (s.low, s.high, s.error, (s.step or Fraction(0)) / 2)]
        return unit_of(self.machines, spans)

    @cached_property
    def cycles(self) -> tuple[Cycle, ...]:
        return tuple(cycle(m, self.inputs, self._channels(m), self._heard(m), self.unit) for m in self.machines)

    def _channels(self, m: Machine) -> tuple[Term, ...]:
        return tuple(m.definitions[c.name] for c in self.rules.channels)

    def _heard(self, m: Machine) -> tuple[Term, ...]:
        heard: dict[Sound, list[Term]] = {s: [] for s in self.sounds}
        for name, a in told(m.rules):
            heard[Sound(a.means, a.text)].append(m.definitions[f"{name}.announced"])
        return tuple(m.terms.any(*terms) for terms in heard.values())

    @cached_property
    def rest(self) -> Setting:
        return at_rest(self.rules, self.ways)

    @cached_property
    def adjusted(self) -> frozenset[str]:
        """Inputs that somebody sets to a value, not always quite the same."""
        numbers = {i.name for i in self.machines[0].inputs if i.sort == "number"}
        return frozenset(numbers | {s.name + KNOB for s in self.rules.sensors})

    @cached_property
    def _times(self) -> dict[tuple[Fraction, bool], tuple[int, Number]]:
        return {}

    def passes(self, seconds: Fraction, shortest: bool) -> tuple[int, Number]:
        """How many passes that takes, and the length of one as machines count."""
        found = self._times.get((seconds, shortest))
        if found is None:
            tick = self.rules.cycle.shortest if shortest else self.rules.cycle.longest
            found = self._times[seconds, shortest] = max(1, int(seconds / tick)), self.cycles[0].amount(tick)
        return found

    @cached_property
    def _given(self) -> dict[tuple[int, int, str | None], tuple[Setting, Values]]:
        """By the identity of a setting, which is kept beside: to compare settings takes as long as to work one out."""
        return {}

    def values(self, s: Setting, off: int, pressed: str | None = None) -> Values:
        """What the machines get when everything stands like this."""
        found = self._given.get((id(s), off, pressed))
        if found is None:
            if len(self._given) > MOST_KEPT:
                self._given.clear()
            found = self._given[id(s), off, pressed] = s, self._worked_out(s, off, pressed)
        return found[1]

    def _worked_out(self, s: Setting, off: int, pressed: str | None) -> Values:
        amount = self.cycles[0].amount
        given: dict[str, Number] = {}
        for switch, at in s.switches:
            count = len(next(x for x in self.rules.switches if x.name == switch).positions)
            given |= {f"{switch}@{k}": k == at for k in range(1, count)}
        given |= {b.name: b.name == pressed for b in self.rules.buttons}
        for x, (_, held) in zip(self.rules.controls, s.controls, strict=True):
            aside = 0 if held in (x.low, x.high, 0) else off * (x.high - x.low) / OFF
            given[x.name] = amount(min(max(held + aside, x.low), x.high))
        for y, (_, read) in zip(self.rules.sensors, s.readings, strict=True):
            reading = amount(min(max(read + off * self.error(y.name), y.low), y.high))
            given[f"{y.name}@frame"], given[f"{y.name}@reading"] = s.frames, reading
            given[y.name + KNOB] = reading
        return tuple(given[name] for name in self.inputs)

    def error(self, sensor: str) -> Fraction:
        """How far what is read may be from what is meant."""
        s = next(x for x in self.rules.sensors if x.name == sensor)
        return s.error + (s.step or Fraction(0)) / 2


def bench(rules: RuleSet, others: tuple[RuleSet, ...], ways: Mapping[str, Way]) -> Bench:
    """The machines of the rules, first, and of all the others, as they stand at this bench."""
    bare = [stripped(r) for r in (rules, *others)]
    knobs = frozenset(name for name, way in ways.items() if way.kind == "knob")
    made = []
    for b in bare:
        m, problems = compile_rules(b)
        if m is None:
            raise ValueError(problems)
        made.append(in_place(m, knobs) if knobs else m)
    sounds = tuple(dict.fromkeys(Sound(a.means, a.text) for b in bare for _, a in told(b)))
    return Bench(rules, ways, sounds, tuple(made))


@dataclass(slots=True)
class Playing:
    """A machine in the middle of the test, played in one manner. `values`: the inputs as they are."""

    machine: int
    manner: Manner
    memory: Memory
    values: Values
    at: int = 0
    before: Values = ()
    """The channels at the end of the step before."""

    def copy(self) -> "Playing":
        m = self.memory
        return Playing(
            self.machine, self.manner, Memory(m.cells, m.outcomes, m.shown), self.values, self.at, self.before
        )


@dataclass(frozen=True, slots=True)
class Shown:
    """What one step showed: for each channel the least and most of the last second and what it had before; for each
    sound how often it began."""

    low: Values
    high: Values
    before: Values
    sounds: tuple[int, ...]


def started(b: Bench, machine: int, manner: Manner) -> Playing:
    """Just switched on, everything at rest, for a few seconds."""
    c = b.cycles[machine]
    p = Playing(machine, manner, Memory(at_power_up(b.machines[machine], c, manner.free)), b.values(b.rest, 0))
    _switch_on(b, c, p, b.rest, [0] * len(b.sounds))
    p.before = p.memory.shown[: c.numbers]
    return p


def _switch_on(b: Bench, c: Cycle, p: Playing, s: Setting, often: list[int]) -> None:
    """The time after power-up: at first no frames, where the transmitter lets none through."""
    first = b.rules.device.no_frame_before
    if first:
        silent = b.values(replace(s, frames=False), 0)
        _go(b, c, p, silent, silent, first, often)
    _go(b, c, p, p.values, p.values, Fraction(2), often)


def _go(b: Bench, c: Cycle, p: Playing, start: Values, end: Values, seconds: Fraction, often: list[int]) -> None:
    passes, tick = b.passes(seconds, p.manner.shortest)
    run(c, p.memory, start, end, passes, tick, often)


def play(b: Bench, p: Playing, step: Step, before: Setting, after: Setting) -> Shown:
    """One step; `p` goes on from there."""
    c = b.cycles[p.machine]
    often = [0] * len(b.sounds)
    late = p.manner.early[p.at % len(p.manner.early)]
    off = p.manner.off[p.at % len(p.manner.off)]
    p.at += 1
    if isinstance(step.do, PowerCycle):
        p.memory = Memory(at_power_up(b.machines[p.machine], c, p.manner.free))
        _switch_on(b, c, p, after, often)
    end = _aim(b, p, step.do, after, off)
    if isinstance(step.do, Press):
        pressed = b.values(after, off, step.do.button)
        _go(b, c, p, pressed, pressed, Fraction(1), often)
    elif (moves := moving(step.do, before, b.ways)) > 0:
        _go(b, c, p, p.values, end, moves, often)
    if step.seconds + late > LOOK:
        _go(b, c, p, end, end, step.seconds + late - LOOK, often)
    p.values = end
    passes, tick = b.passes(LOOK, p.manner.shortest)
    last = looked(c, p.memory, end, passes, tick, c.numbers)
    was, p.before = p.before, p.memory.shown[: c.numbers]
    heard = tuple(x + y for x, y in zip(often, last.often, strict=True))
    return Shown(tuple(last.low), tuple(last.high), was, heard)


def changes(b: Bench, p: Playing, do: Do, before: Setting, after: Setting, longest: Fraction) -> list[Fraction]:
    """When something happens in the machine after that was done, in seconds of waiting."""
    c, q = b.cycles[p.machine], p.copy()
    often, found = [0] * len(b.sounds), list[int]()
    if isinstance(do, PowerCycle):
        q.memory = Memory(at_power_up(b.machines[q.machine], c, q.manner.free))
        _switch_on(b, c, q, after, often)
    end = _aim(b, q, do, after, q.manner.off[q.at % len(q.manner.off)])
    if isinstance(do, Press):
        pressed = b.values(after, 0, do.button)
        _go(b, c, q, pressed, pressed, Fraction(1), often)
    elif (moves := moving(do, before, b.ways)) > 0:
        _go(b, c, q, q.values, end, moves, often)
    passes, tick = b.passes(longest, q.manner.shortest)
    run(c, q.memory, end, end, passes, tick, often, found)
    return [k * c.worth(tick) for k in found]


def _aim(b: Bench, p: Playing, do: Do, after: Setting, off: int) -> Values:
    """What the machine gets after the step: only what was touched stands anew, and is off anew."""
    wanted = b.values(after, off)
    match do:
        case Bring(name, _):
            touched: tuple[str, ...] = (f"{name}@reading", name + KNOB)
        case Hold(name, _):
            touched = (name,)
        case _:
            touched = ()
    return tuple(
        w if name in touched or name not in b.adjusted else had
        for name, w, had in zip(b.inputs, wanted, p.values, strict=True)
    )
