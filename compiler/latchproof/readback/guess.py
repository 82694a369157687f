"""Which cells of two machines hold the same, guessed from random runs. A guess is only ever something to be proved."""

import random
from fractions import Fraction

from latchproof.machine.model import DT, Input
from latchproof.machine.terms import Real, children, walk
from latchproof.readback.pair import Pair
from latchproof.run.interpreter import Interpreter
from latchproof.run.program import Exact, Running, prepare

RUNS, CYCLES = 3, 50
SEED = 20
"""The same guesses every time."""


def guesses(p: Pair) -> tuple[tuple[str, ...], ...]:
    m = p.machine
    states = m.states
    program = prepare([s.next for s in states])
    at = _numbers(p)
    chance = random.Random(SEED)
    shown: dict[str, list[Exact]] = {s.name: [] for s in states}
    for _ in range(RUNS):
        memory = Interpreter(m).start({}, {})
        running = Running(program)
        inputs: dict[str, Exact] = {i.name: _any(chance, i, at) for i in m.inputs}
        for cycle in range(CYCLES):
            for i in m.inputs:
                if chance.random() < (1 if cycle < 2 else 0.3):
                    inputs[i.name] = _any(chance, i, at)
            dt = chance.choice((m.rules.cycle.longest, m.rules.cycle.longest, Fraction(1, 2), Fraction(3)))
            tuned: dict[str, Exact] = {q.name: q.value for q in m.parameters}
            values = running.step({**tuned, **memory, **inputs, DT: dt})
            memory = {s.name: v for s, v in zip(states, values, strict=True)}
            for name, value in memory.items():
                shown[name].append(value)
    found: dict[tuple[Exact, ...], list[str]] = {}
    for s in states:
        found.setdefault((s.sort == "bool", *shown[s.name]), []).append(s.name)
    # What never did anything in the runs says nothing.
    return tuple(tuple(names) for key, names in found.items() if len(names) > 1 and len(set(key[1:])) > 1)


def _numbers(p: Pair) -> list[Fraction]:
    """The numbers that the rules compare with: inputs beside them make things happen."""
    found: set[Fraction] = set()
    for term in walk(s.next for s in p.machine.states):
        found |= {c.value for c in children(term) if isinstance(c, Real)}
    return sorted(found)[:200]


def _any(chance: random.Random, i: Input, at: list[Fraction]) -> Exact:
    if i.sort == "bool":
        return chance.random() < 0.5
    low, high = i.low or Fraction(0), i.high or Fraction(0)
    near = [n for n in at if low <= n <= high]
    if near and chance.random() < 0.7:
        return min(max(chance.choice(near) + chance.choice((-1, 0, 1)), low), high)
    return low + (high - low) * Fraction(chance.randrange(9), 8)
