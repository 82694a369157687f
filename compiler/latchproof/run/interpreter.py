"""The exact interpreter: a machine and what the world does, cycle by cycle, in rational numbers. The reference for all
else."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from latchproof.machine.model import DT, Machine, State
from latchproof.run.program import Exact, Program, Running, prepare


@dataclass(frozen=True, slots=True)
class World:
    """One cycle's inputs: the seconds since the cycle before, and a value for every input variable of the machine."""

    dt: Fraction
    inputs: Mapping[str, Exact]


@dataclass(frozen=True, slots=True)
class Record:
    """One cycle as it ran: time at its start since power-up, inputs, and everything that had a value.

    `values` holds definitions by name; `after` the memory cells at its end; `violated` the facts that the inputs broke.
    """

    time: Fraction
    dt: Fraction
    inputs: Mapping[str, Exact]
    values: Mapping[str, Exact]
    after: Mapping[str, Exact]
    broken: tuple[str, ...]
    violated: tuple[str, ...]


@dataclass(frozen=True)
class Interpreter:
    """Runs a machine. `broken` in a record lists the properties whose signal is true in that cycle."""

    machine: Machine

    @cached_property
    def _program(self) -> tuple[Program, tuple[str, ...], tuple[str, ...]]:
        m = self.machine
        states = (*m.states, *m.watching)
        facts = (*m.constraints, *(a.constraint for a in m.assumed))
        roots = [s.next for s in states]
        roots += [m.definitions[name] for name in m.definitions]
        roots += [p.signal for p in m.properties]
        roots += [f.term for f in facts]
        return prepare(roots), tuple(s.name for s in states), tuple(f.why for f in facts)

    def start(self, parameters: Mapping[str, Fraction], free: Mapping[str, Exact]) -> dict[str, Exact]:
        """Memory at power-up; `free` gives the cells that may start with anything, else no and the value nearest to
        0."""
        m = self.machine
        values: dict[str, Exact] = {p.name: parameters.get(p.name, p.value) for p in m.parameters}
        states = (*m.states, *m.watching)
        known = prepare(s.initial for s in states if s.initial is not None).run(values)
        first = dict(zip((s.name for s in states if s.initial is not None), known, strict=True))
        others = {s.name: free.get(s.name, _nearest_to_nothing(s)) for s in states if s.initial is None}
        return {s.name: first[s.name] if s.name in first else others[s.name] for s in states}

    def run(
        self,
        world: Iterable[World],
        parameters: Mapping[str, Fraction] | None = None,
        free: Mapping[str, Exact] | None = None,
    ) -> tuple[Record, ...]:
        """Every cycle of the world in order.

        `parameters` are the tunes and fact spans (missing ones take their value as written).
        Raises KeyError where an input has no value.
        """
        m = self.machine
        program, names, whys = self._program
        tuned: dict[str, Exact] = {p.name: (parameters or {}).get(p.name, p.value) for p in m.parameters}
        state = self.start(parameters or {}, free or {})
        time = Fraction(0)
        records = []
        running = Running(program)
        for number, w in enumerate(world):
            time = time + w.dt if number else Fraction(0)
            results = running.step({**tuned, **state, **w.inputs, DT: w.dt})
            state = dict(zip(names, results, strict=False))
            at = len(names)
            values = dict(zip(m.definitions, results[at:], strict=False))
            at += len(m.definitions)
            broken = tuple(p.name for p, on in zip(m.properties, results[at:], strict=False) if on)
            at += len(m.properties)
            violated = tuple(why for why, holds in zip(whys, results[at:], strict=True) if not holds)
            records.append(Record(time, w.dt, w.inputs, values, state, broken, violated))
        return tuple(records)


def _nearest_to_nothing(s: State) -> Exact:
    if s.sort == "bool":
        return False
    least, most = s.holds
    value = Fraction(0) if least is None else max(Fraction(0), least)
    return value if most is None else min(value, most)


def valid_inputs(machine: Machine, w: World) -> tuple[str, ...]:
    """What is wrong with one cycle's inputs by themselves: cycle time or a number out of range."""
    cycle = machine.rules.cycle
    wrong = [] if cycle.shortest <= w.dt <= cycle.longest else [f"cycle time {w.dt} s"]
    for i in (*machine.inputs, *machine.picks):
        value = w.inputs.get(i.name)
        if value is None:
            wrong.append(f"{i.name} is missing")
        elif i.low is not None and i.high is not None and not i.low <= value <= i.high:
            wrong.append(f"{i.name} is outside its range")
    return tuple(wrong)


def valid_start(machine: Machine, parameters: Mapping[str, Fraction], state: Mapping[str, Exact]) -> tuple[str, ...]:
    """What is wrong with the memory at power-up: it cannot hold this."""
    values: dict[str, Exact] = {p.name: parameters.get(p.name, p.value) for p in machine.parameters}
    values |= state
    kept = prepare(c.term for c in machine.starts).run(values)
    return tuple(c.why for c, fine in zip(machine.starts, kept, strict=True) if not fine)


def valid_parameters(machine: Machine, parameters: Mapping[str, Fraction]) -> tuple[str, ...]:
    """What is wrong with a choice of tunes: outside a range, off its steps, or against a `require`."""
    wrong = []
    for p in machine.parameters:
        value = parameters.get(p.name, p.value)
        if not p.low <= value <= p.high or (p.steps and value not in p.steps):
            wrong.append(f"{p.name} is outside its range")
    values: dict[str, Exact] = {p.name: parameters.get(p.name, p.value) for p in machine.parameters}
    kept = prepare(r.term for r in machine.requires).run(values)
    wrong += [r.why for r, holds in zip(machine.requires, kept, strict=True) if not holds]
    return tuple(wrong)
