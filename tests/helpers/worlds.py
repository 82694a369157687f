"""Random things a world may do to a machine: every input in its range, every fact kept, cycle after cycle."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random
from typing import Literal

from latchproof.machine.model import DT, Machine, State
from latchproof.machine.powerup import SINCE
from latchproof.machine.product import OTHER
from latchproof.machine.sensors import reading_error
from latchproof.machine.terms import Real, walk
from latchproof.rules.model import Sensor
from latchproof.run.interpreter import Interpreter, Record, World, valid_parameters
from latchproof.run.program import Exact, Program, prepare

Pace = Literal["shortest", "longest", "jittered"]
PACES: tuple[Pace, ...] = ("shortest", "longest", "jittered")
TRIES = 12
"""Ways of going on that are tried in a cycle before the run ends: assumptions may leave few."""


@dataclass(frozen=True, slots=True)
class Life:
    """One run: tunes, memory at power-up, what the world did, and what came of it."""

    parameters: dict[str, Fraction]
    start: dict[str, Exact]
    world: tuple[World, ...]
    records: tuple[Record, ...]


@dataclass(frozen=True, slots=True)
class Stepper:
    """The machine one cycle at a time, facts first: `facts` are those that every cycle must keep."""

    machine: Machine
    states: tuple[str, ...]
    nexts: Program
    facts: Program

    def allowed(self, values: Mapping[str, Exact]) -> bool:
        return all(self.facts.run(values))

    def after(self, values: Mapping[str, Exact]) -> dict[str, Exact]:
        return dict(zip(self.states, self.nexts.run(values), strict=True))


def stepper(machine: Machine, *, lawless: bool) -> Stepper:
    facts = [c.term for c in machine.constraints]
    facts += [] if lawless else [a.constraint.term for a in machine.assumed]
    states = (*machine.states, *machine.watching)
    return Stepper(machine, tuple(s.name for s in states), prepare(s.next for s in states), prepare(facts))


def constants(machine: Machine) -> tuple[Fraction, ...]:
    """Numbers that the rules speak of: where comparisons turn over."""
    roots = (
        [s.next for s in machine.states] + list(machine.definitions.values()) + [p.signal for p in machine.properties]
    )
    return tuple(sorted({t.value for t in walk(roots) if isinstance(t, Real)}))


def tunes(machine: Machine, rng: Random) -> dict[str, Fraction]:
    """Values of tunes and fact spans that meet every `require`; those of the file where chance finds none."""
    for _ in range(50):
        made = {p.name: _tune(rng, p.value, p.low, p.high, p.steps) for p in machine.parameters}
        if not valid_parameters(machine, made):
            return made
    return {p.name: p.value for p in machine.parameters}


def _tune(rng: Random, value: Fraction, low: Fraction, high: Fraction, steps: Sequence[Fraction]) -> Fraction:
    if steps:
        return rng.choice(steps)
    return rng.choice((value, low, high, low + (high - low) * Fraction(rng.randint(0, 20), 20)))


def live(
    machine: Machine,
    rng: Random,
    cycles: int,
    pace: Pace = "jittered",
    *,
    lawless: bool = False,
    arriving: Iterable[str] = (),
    fixed: Sequence[World] = (),
    parameters: Mapping[str, Fraction] | None = None,
    start: Mapping[str, Exact] | None = None,
) -> Life:
    """A run of at most `cycles` cycles; shorter where no way on is found that keeps every fact.

    `fixed` gives times and inputs that are settled; the rest is filled in, as calmly as can be. `arriving`
    names sensors that keep arriving. `lawless`: assumptions about the world may break.
    """
    made = _Maker(machine, rng, frozenset(arriving), lawless=lawless)
    tuned = dict(parameters) if parameters is not None else tunes(machine, rng)
    first = made.start() if start is None else dict(start)
    state = {**Interpreter(machine).start(tuned, first)}
    values: dict[str, Exact] = {p.name: tuned.get(p.name, p.value) for p in machine.parameters}
    world: list[World] = []
    for k in range(cycles):
        given = fixed[k] if k < len(fixed) else None
        dt = given.dt if given is not None else made.time(pace)
        inputs = made.inputs(values | state, dt, given.inputs if given is not None else {}, calm=bool(fixed))
        if inputs is None:
            break
        world.append(World(dt, inputs))
        state = made.step.after({**values, **state, **inputs, DT: dt})
    return Life(tuned, first, tuple(world), Interpreter(machine).run(world, tuned, first))


class _Maker:
    def __init__(self, machine: Machine, rng: Random, arriving: frozenset[str], *, lawless: bool) -> None:
        self.machine, self.rng, self.arriving = machine, rng, arriving
        self.step = stepper(machine, lawless=lawless)
        self.constants = constants(machine)
        self.sensors = {s.name: s for s in machine.rules.sensors}
        self.last: dict[str, Exact] = {}
        self.silent: dict[str, int] = {}
        self.busy = rng.choice((2, 5, 20))
        self.frames = rng.choice((1, 2, 4, 10))

    def start(self) -> dict[str, Exact]:
        """The cells that may start with anything."""
        cells = [s for s in (*self.machine.states, *self.machine.watching) if s.initial is None]
        made = {s.name: self._first(s) for s in cells}
        return {name: made.get(name.removeprefix(OTHER), value) for name, value in made.items()}

    def _first(self, s: State) -> Exact:
        if s.sort == "bool":
            return self.rng.random() < 0.5
        least, most = s.holds
        low = least if least is not None else min(Fraction(0), most or Fraction(0)) - 50
        high = most if most is not None else low + 50
        return Fraction(self.rng.randint(int(low), int(high))) if s.whole else self.number(low, high)

    def time(self, pace: Pace) -> Fraction:
        cycle = self.machine.rules.cycle
        match pace:
            case "shortest":
                return cycle.shortest
            case "longest":
                return cycle.longest
            case _:
                return cycle.shortest + (cycle.longest - cycle.shortest) * Fraction(self.rng.randint(0, 8), 8)

    def number(self, low: Fraction, high: Fraction) -> Fraction:
        inside = [c for c in self.constants if low <= c <= high]
        match self.rng.randrange(4):
            case 0 if inside:
                return self.rng.choice(inside)
            case 1 if inside:
                near = self.rng.choice(inside) + self.rng.choice((-1, 1)) * (high - low) / 200
                return min(max(near, low), high)
            case 2:
                return self.rng.choice((low, high, min(max(Fraction(0), low), high)))
            case _:
                return low + (high - low) * Fraction(self.rng.randint(0, 40), 40)

    def inputs(
        self, state: Mapping[str, Exact], dt: Fraction, given: Mapping[str, Exact], *, calm: bool
    ) -> dict[str, Exact] | None:
        """What the world does in a cycle, or None when no way is found that keeps every fact."""
        for attempt in range(TRIES):
            still = attempt == TRIES - 1 or (calm and attempt == 0)
            made = {**self._pilot(still=still), **given}
            for s in self.sensors.values():
                self._sensor(s, state, dt, made, given, still=still)
            if self.step.allowed({**state, **made, DT: dt}):
                self.last = dict(made)
                return made
        return None

    def _pilot(self, *, still: bool) -> dict[str, Exact]:
        rng, made = self.rng, {}
        for i in (*self.machine.inputs, *self.machine.picks):
            sensor, _, kind = i.name.partition("@")
            if sensor in self.sensors and kind in {"frame", "reading", "truth"}:
                continue
            if kind == "pick":
                made[i.name] = not still and rng.randrange(3) == 0
            elif i.name in self.last and (still or rng.randrange(self.busy)):
                made[i.name] = self.last[i.name]
            elif i.low is None or i.high is None:
                made[i.name] = not still and rng.random() < 0.5
            else:
                made[i.name] = min(max(Fraction(0), i.low), i.high) if still else self.number(i.low, i.high)
        return made

    def _sensor(
        self,
        s: Sensor,
        state: Mapping[str, Exact],
        dt: Fraction,
        made: dict[str, Exact],
        given: Mapping[str, Exact],
        *,
        still: bool,
    ) -> None:
        rng = self.rng
        frame, reading, truth = (f"{s.name}@{part}" for part in ("frame", "reading", "truth"))
        low, high = s.low, s.high
        if s.change is not None:
            was = Fraction(state[f"{s.name}@was"])
            slow, fast = max(was + s.change[0] * dt, s.low), min(was + s.change[1] * dt, s.high)
            wish = (
                was if still else rng.choice((slow, fast, was, slow + (fast - slow) * Fraction(rng.randint(0, 4), 4)))
            )
            true = Fraction(given.get(truth, min(max(wish, slow), fast)))
            made[truth] = true
            below, above = reading_error(s)
            low, high = max(low, true + below), min(high, true + above)
        arrives = self._arrives(s, Fraction(state[f"{s.name}@since"]) + dt, still=still)
        made[frame] = given.get(frame, arrives and not self._too_early(state, dt))
        last = Fraction(state[f"{s.name}@last"])
        wish = min(max(last, low), high) if still else self.number(low, high)
        made[reading] = given.get(reading, on_grid(wish, s, low, high) if made[frame] else last)

    def _too_early(self, state: Mapping[str, Exact], dt: Fraction) -> bool:
        """The device lets no frame through yet."""
        first = self.machine.rules.device.no_frame_before
        if first is None:
            return False
        return (Fraction(state[f"{SINCE}@elapsed"]) + dt if state[f"{SINCE}@ran"] else Fraction(0)) < first

    def _arrives(self, s: Sensor, gap: Fraction, *, still: bool) -> bool:
        if s.name in self.arriving and s.frame_every is not None and gap > s.frame_every:
            return True
        if self.silent.get(s.name, 0) > 0:
            self.silent[s.name] -= 1
            return False
        if self.rng.randrange(60) == 0:
            self.silent[s.name] = self.rng.randint(3, 60)
        return not still and self.rng.randrange(self.frames) == 0


def on_grid(value: Fraction, s: Sensor, low: Fraction, high: Fraction) -> Fraction:
    """The nearest value that the sensor can show, within bounds if one of its steps lies there."""
    if not s.step:
        return value
    near = s.low + round((value - s.low) / s.step) * s.step
    if near < low:
        near += s.step
    if near > high:
        near -= s.step
    return near
