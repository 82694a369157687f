"""Flights as JSON text, for the next run, and back. They come from a file, so each must be one that can be flown.

Cycles that follow one another alike are written once, with their number. Numbers are exact, as strings.
"""

import json
from collections.abc import Iterable, Mapping
from fractions import Fraction
from itertools import groupby

from latchproof.machine.model import Input, Machine
from latchproof.machine.terms import Sort
from latchproof.prove.kept_text import exact_row, exact_values
from latchproof.run.interpreter import Interpreter, World, valid_inputs, valid_parameters, valid_start
from latchproof.run.program import Exact
from latchproof.strength.flights import Flight, completed

SCHEMA = "latchproof.flights/1"
MOST_FLIGHTS = 200
MOST_CYCLES = 20_000
"""Of all flights together; longer ones are looked for again."""


def written(flights: Iterable[Flight]) -> str:
    rows: list[dict[str, object]] = []
    left = MOST_CYCLES
    for f in flights:
        if len(f.world) > left or len(rows) == MOST_FLIGHTS:
            continue
        left -= len(f.world)
        runs = groupby(f.world, key=lambda w: (w.dt, w.inputs))
        cycles = [[str(dt), exact_row(inputs), len(list(same))] for (dt, inputs), same in runs]
        rows.append({"parameters": exact_row(f.parameters), "start": exact_row(f.start), "cycles": cycles})
    return json.dumps({"schema": SCHEMA, "flights": rows}, ensure_ascii=True)


def read(text: str) -> tuple[Flight, ...]:
    """Those of the flights that are written as they should be."""
    try:
        match json.loads(text):
            case {"schema": "latchproof.flights/1", "flights": list(rows)} if len(rows) <= MOST_FLIGHTS:
                return tuple(_flight(row) for row in rows)
    except (ValueError, RecursionError):
        pass
    return ()


def _flight(row: object) -> Flight:
    match row:
        case {"parameters": dict(parameters), "start": dict(start), "cycles": [*cycles]}:
            tuned = {name: Fraction(value) for name, value in exact_values(parameters).items()}
            world: list[World] = []
            for cycle in cycles:
                match cycle:
                    case [str(dt), dict(inputs), int(count)] if 0 < count <= MOST_CYCLES - len(world):
                        world += [World(Fraction(exact_values({"": dt})[""]), exact_values(inputs))] * count
                    case _:
                        raise ValueError("not a cycle")
            return Flight(tuned, exact_values(start), tuple(world))
    raise ValueError("not a flight")


def flyable(machine: Machine, f: Flight) -> bool:
    """Whether it has a value of the right kind, in its range, for all that the machine asks of the world. What breaks a
    fact ends it when it is flown."""
    inputs = (*machine.inputs, *machine.picks)
    world = completed(machine, f)
    sorts: dict[str, Sort] = {i.name: i.sort for i in inputs}
    tuned: dict[str, Sort] = {p.name: "number" for p in machine.parameters}
    free: dict[str, Sort] = {s.name: s.sort for s in machine.states if s.initial is None}
    fine = (
        bool(world)
        and _sorted(f.parameters, tuned)
        and _sorted(f.start, free)
        and all(_sorted(w.inputs, sorts) for w in f.world)
        and not any(valid_inputs(machine, w) for w in world)
        and not valid_parameters(machine, f.parameters)
        and not valid_start(machine, f.parameters, Interpreter(machine).start(f.parameters, f.start))
    )
    return fine and not any(_off_its_steps(i, w) for i in inputs if i.grid is not None for w in world)


def _off_its_steps(i: Input, w: World) -> bool:
    """A frame arrives with a reading that the sensor cannot show."""
    assert i.grid is not None
    if not w.inputs[i.name.replace("@reading", "@frame")]:
        return False
    return ((Fraction(w.inputs[i.name]) - Fraction(i.low or 0)) / i.grid).denominator != 1


def _sorted(values: Mapping[str, Exact], sorts: Mapping[str, Sort]) -> bool:
    """Of the right kind; what the machine does not know does no harm."""
    return all(isinstance(v, bool) == (sorts[name] == "bool") for name, v in values.items() if name in sorts)
